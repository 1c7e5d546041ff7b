"""A page as PDF: another program's rules for the file hold, and its picture is the one that was given."""

from __future__ import annotations

import re
import struct
import zlib

import cv2
import numpy as np

from trainer.ui.export.pdf import SIGNATURE, page_of


def chunk(name: bytes, data: bytes) -> bytes:
    return struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))


def test_a_page_is_the_picture_and_its_table_tells_where_everything_is() -> None:
    image = np.random.default_rng(1).integers(0, 256, (40, 30, 3), np.uint8)
    png = cv2.imencode(".png", image)[1].tobytes()
    pdf = page_of(png, 100.0)
    assert pdf == page_of(png, 100.0)
    assert pdf.startswith(b"%PDF-1.")
    assert b"/MediaBox [0 0 21.60 28.80]" in pdf  # 0.3 by 0.4 inches
    start = int(re.findall(rb"startxref\n(\d+)\n%%EOF\n$", pdf)[0])
    rows = pdf[start:].splitlines(keepends=True)
    assert rows[:2] == [b"xref\n", b"0 6\n"]
    places = [row for row in rows[2:] if re.fullmatch(rb"\d{10} \d{5} [nf] \n", row)]
    assert len(places) == 6
    for number, row in enumerate(places[1:], 1):
        assert pdf[int(row[:10]) :].startswith(b"%d 0 obj\n" % number)
    streams = re.findall(rb"/Length (\d+) >>\nstream\n(.*?)\nendstream", pdf, re.DOTALL)
    assert all(int(length) == len(data) for length, data in streams)
    head = struct.pack(">IIBBBBB", 30, 40, 8, 2, 0, 0, 0)
    again = SIGNATURE + chunk(b"IHDR", head) + chunk(b"IDAT", streams[-1][1]) + chunk(b"IEND", b"")
    assert (cv2.imdecode(np.frombuffer(again, np.uint8), cv2.IMREAD_COLOR) == image).all()
