"""What is written for a user never takes the place of something else."""

from __future__ import annotations

import os
import sqlite3
import stat
import sys
import threading
from pathlib import Path

import numpy as np
import pytest

from tests.support.phone_clips import numbered
from trainer import log_file
from trainer.app.start import memory
from trainer.camera_setup import camera_memory
from trainer.errors import UsageError
from trainer.output import (
    CLIP,
    NUMBERS,
    OWN_FILES,
    OWN_FOLDERS,
    OWN_RECORD,
    PAGE,
    PICTURE,
    Kind,
    check_output,
    output,
    output_part,
    write_output,
)
from trainer.store import database, folder, sound_memory, students
from trainer.ui.export.encoder import Encoder
from trainer.vision.sources.clip import Clip
from trainer.vision.sources.phone import certificate

HTML = b"<!DOCTYPE html><p>old"
posix = pytest.mark.skipif(sys.platform == "win32", reason="no modes, links or devices like these")


def test_the_trainers_own_names_are_those_it_uses() -> None:
    used = {folder.SETTINGS_FILE, camera_memory.FILE, memory.FILE, sound_memory.FILE, certificate.FILE}
    assert set(OWN_FILES) == used
    assert (database.FILE_NAME, log_file.FOLDER in OWN_FOLDERS) == (OWN_RECORD, True)
    assert students.Students(Path("base")).folder.name in OWN_FOLDERS


@pytest.mark.parametrize(
    "own",
    [
        "strokes.sqlite",
        "strokes.sqlite-wal",
        "settings.toml",
        "cameras.json",
        "Start.json",
        "students/robin.toml",
        "students/files/abc/shot.mp4",
        "students/new.html",
        "drills/own.toml",
    ],
)
def test_nothing_that_belongs_to_the_data_folder_is_written_over(own: str, tmp_path: Path) -> None:
    for kind in (PAGE, CLIP, NUMBERS):
        with pytest.raises(UsageError, match="data folder"):
            check_output(tmp_path / own, kind, tmp_path)
    (tmp_path / "elsewhere").symlink_to(tmp_path / own)
    with pytest.raises(UsageError, match="data folder"):
        check_output(tmp_path / "elsewhere", NUMBERS, tmp_path)


def test_a_page_may_lie_in_the_data_folder_and_be_made_again(tmp_path: Path) -> None:
    path = tmp_path / "robin.html"
    for text in (HTML, b"<!doctype html>new"):
        write_output(path, text, PAGE, tmp_path)
    assert path.read_bytes() == b"<!doctype html>new"


@pytest.mark.parametrize(
    ("name", "content", "kind"),
    [
        ("shot.mp4", b"\0\0\0\x20ftypisom", PAGE),
        ("shot.mp4", b"", NUMBERS),
        ("shot.mp4", b"\x89PNG\r\n", CLIP),
        ("shot.mov", HTML, CLIP),
        ("robin.toml", b"", NUMBERS),
        ("page.html", b"my notes", PAGE),
        ("numbers", HTML, NUMBERS),
        ("still.png", b"%PDF-1.4", PICTURE),
    ],
)
def test_a_file_of_another_kind_is_refused(name: str, content: bytes, kind: Kind, tmp_path: Path) -> None:
    path = tmp_path / name
    path.write_bytes(content)
    with pytest.raises(UsageError, match=f"is no {kind.name} file"):
        write_output(path, b"new", kind)
    assert path.read_bytes() == content
    assert list(tmp_path.iterdir()) == [path]


def test_a_record_under_any_name_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "numbers.json"
    with sqlite3.connect(path) as db:
        db.execute("CREATE TABLE strokes (id)")
    db.close()
    with pytest.raises(UsageError, match="is no JSON file"):
        check_output(path, NUMBERS)


@pytest.mark.parametrize(
    ("name", "content", "kind"),
    [
        ("shot.MOV", b"", CLIP),
        ("page.htm", b"\n <HTML>", PAGE),
        ("numbers.json", b' {"a": 1}', NUMBERS),
        ("numbers", b"", NUMBERS),
        ("still.png", b"\x89PNG\r\n\x1a\n", PICTURE),
    ],
)
def test_a_file_of_the_same_kind_is_replaced(name: str, content: bytes, kind: Kind, tmp_path: Path) -> None:
    path = tmp_path / name
    path.write_bytes(content)
    write_output(path, b"new", kind)
    assert path.read_bytes() == b"new"


def test_a_clip_takes_the_place_of_one_that_the_trainer_made_and_of_no_other(tmp_path: Path) -> None:
    film = numbered(tmp_path / "putt.mp4", [0.0, 0.1, 0.2], (64, 48)).read_bytes()
    index_in_front = numbered(tmp_path / "front.mp4", [0.0, 0.1], (64, 48), tags={"make": "x"}).read_bytes()
    starts = (b"\0\0\0\x14ftypqt  ", b"\0\0\0\0moov", b"\0\0\0\x01mdat", b"\xff\xff\xff\xffftypisom")
    for name in ("putt.mp4", "putt.MOV", "putt"):
        for content in (film, index_in_front, *starts):
            (tmp_path / name).write_bytes(content)
            with pytest.raises(UsageError, match="was not made by the trainer"), output_part(tmp_path / name, CLIP):
                pass
            assert (tmp_path / name).read_bytes() == content
    own = tmp_path / "lines.mp4"
    for size in ((64, 48), (32, 24)):
        encoder = Encoder(own, size, 30.0)
        encoder.add(np.zeros((48, 64, 3), np.uint8), 0.0)
        encoder.close()
    with Clip(own) as clip:
        assert clip.size == (32, 24)


@posix
def test_links_are_followed_and_modes_are_those_of_a_plain_open(tmp_path: Path) -> None:
    before = os.umask(0o027)
    try:
        write_output(tmp_path / "new.html", HTML, PAGE)
        with output_part(tmp_path / "new.mp4", CLIP) as part:
            part.touch()
    finally:
        os.umask(before)
    assert {stat.S_IMODE((tmp_path / f"new.{e}").stat().st_mode) for e in ("html", "mp4")} == {0o640}
    page, link = tmp_path / "there" / "page.html", tmp_path / "link.html"
    page.parent.mkdir()
    page.write_bytes(HTML)
    page.chmod(0o664)
    link.symlink_to("there/page.html")
    write_output(link, b"<html>new", PAGE)
    assert link.is_symlink()
    assert (page.read_bytes(), stat.S_IMODE(page.stat().st_mode)) == (b"<html>new", 0o664)


@posix
def test_a_pipe_is_written_through_and_stays_one(tmp_path: Path) -> None:
    path, got = tmp_path / "pipe", []
    os.mkfifo(path)
    reader = threading.Thread(target=lambda: got.append(path.read_bytes()))
    reader.start()
    write_output(path, b"{}", NUMBERS)
    reader.join(10)
    assert (got, path.is_fifo()) == ([b"{}"], True)
    with pytest.raises(UsageError, match="is a device"), output_part(path, CLIP):
        pass


@posix
def test_a_device_stays_a_device() -> None:
    write_output(Path(os.devnull), b"{}", NUMBERS)
    assert Path(os.devnull).is_char_device()


@posix
def test_stdout_by_its_name_comes_after_what_was_printed(capfd: pytest.CaptureFixture[str]) -> None:
    sys.stdout.write("first\n")
    write_output(Path("/dev/stdout"), b"{}\n", NUMBERS)
    sys.stdout.write("last\n")
    assert capfd.readouterr().out.split() == ["first", "{}", "last"]


def test_a_folder_is_refused_and_a_failure_leaves_all_as_it_was(tmp_path: Path) -> None:
    with pytest.raises(UsageError, match="is a folder"):
        check_output(tmp_path, PAGE)
    path = tmp_path / "page.html"
    path.write_bytes(HTML)

    def half_written() -> None:
        with output(path, PAGE) as file:
            file.write(b"half")
            raise OSError(28, "No space left on device")

    with pytest.raises(UsageError, match=r"cannot be written \(No space"):
        half_written()
    assert path.read_bytes() == HTML
    assert list(tmp_path.iterdir()) == [path]
