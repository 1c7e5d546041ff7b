"""A page that is one picture, as a PDF file."""

from __future__ import annotations

import struct
from typing import Iterator

POINTS = 72.0  # an inch
SIGNATURE = b"\x89PNG\r\n\x1a\n"


def page_of(png: bytes, dpi: float) -> bytes:
    """png: 8 bits a colour, red, green and blue, not interlaced; its pixels go into the file as they are. The same picture
    gives the same file: no dates, no names of programs."""
    chunks = list(_chunks(png))
    width, height, *kind = struct.unpack(">IIBBBBB", chunks[0][1])
    assert kind == [8, 2, 0, 0, 0], "another kind of PNG"
    wide, high = (f"{side / dpi * POINTS:.2f}" for side in (width, height))
    pixels = b"".join(data for name, data in chunks if name == b"IDAT")
    drawing = f"q {wide} 0 0 {high} 0 0 cm /Page Do Q".encode()
    predicted = f"/Predictor 15 /Colors 3 /BitsPerComponent 8 /Columns {width}"  # rows are coded as in a PNG
    image = f"/Type /XObject /Subtype /Image /Width {width} /Height {height} /ColorSpace /DeviceRGB /BitsPerComponent 8"
    return _file(
        b"<< /Type /Catalog /Pages 2 0 R >>",
        b"<< /Type /Pages /Kids [3 0 R] /Count 1 >>",
        (
            f"<< /Type /Page /Parent 2 0 R /MediaBox [0 0 {wide} {high}] /Contents 4 0 R"
            " /Resources << /XObject << /Page 5 0 R >> >> >>"
        ).encode(),
        _stream("", drawing),
        _stream(f"{image} /Filter /FlateDecode /DecodeParms << {predicted} >> ", pixels),
    )


def _chunks(png: bytes) -> Iterator[tuple[bytes, bytes]]:
    at = len(SIGNATURE)
    while at < len(png):
        size, name = struct.unpack(">I4s", png[at : at + 8])
        yield name, png[at + 8 : at + 8 + size]
        at += 12 + size


def _stream(about: str, data: bytes) -> bytes:
    return f"<< {about}/Length {len(data)} >>\nstream\n".encode() + data + b"\nendstream"


def _file(*objects: bytes) -> bytes:
    """The objects, numbered from 1, the first of them the catalogue, and where each begins."""
    out, begins = b"%PDF-1.5\n", []
    for number, text in enumerate(objects, 1):
        begins.append(len(out))
        out += f"{number} 0 obj\n".encode() + text + b"\nendobj\n"
    table = "".join(f"{at:010d} 00000 n \n" for at in begins)
    end = f"trailer\n<< /Size {len(objects) + 1} /Root 1 0 R >>\nstartxref\n{len(out)}\n%%EOF\n"
    return out + f"xref\n0 {len(objects) + 1}\n0000000000 65535 f \n{table}{end}".encode()
