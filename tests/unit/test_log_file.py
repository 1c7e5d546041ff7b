"""The log in the data folder: what it says, and what it never says."""

from __future__ import annotations

import logging
from pathlib import Path

import pytest

from trainer import log_file
from trainer.commands.cli import run
from trainer.errors import UsageError


def text_of(folder: Path) -> str:
    return (folder / log_file.FOLDER / log_file.NAME).read_text(encoding="utf-8")


def test_a_run_is_told_without_names(tmp_path: Path, capfd: pytest.CaptureFixture[str]) -> None:
    assert run(["--data-folder", str(tmp_path), "students", "add", "Robin Invented"]) == 0
    assert run(["--data-folder", str(tmp_path), "strokes", "--student", "Kim Invented"]) == 0
    assert run(["--data-folder", str(tmp_path), "practice", "--student", "Nobody Invented"]) == 2
    text = text_of(tmp_path)
    for word in ("command students", "command strokes", "command practice", "exit code 0", "exit code 2", "Python 3."):
        assert word in text
    assert "store/students.py:" in text  # where the wrong name was found out
    for secret in ("Robin", "Kim", "Nobody", "Invented", str(tmp_path), str(Path.home())):
        assert secret not in text


def test_no_folder_is_made_for_the_log(tmp_path: Path, capfd: pytest.CaptureFixture[str]) -> None:
    run(["--data-folder", str(tmp_path / "absent"), "--help"])
    run(["--data-folder", str(tmp_path / "absent"), "drills", "list"])
    assert not (tmp_path / "absent").exists()


def test_lines_wait_for_the_folder(tmp_path: Path) -> None:
    folder = tmp_path / "later"
    with log_file.logging_on("9.9") as log:
        log.data_folder = folder
        logging.getLogger("trainer.live").info("first")
        folder.mkdir()
        logging.getLogger("trainer.live").info("second")
    lines = text_of(folder).splitlines()
    assert [line.rpartition(": ")[2] for line in lines[1:]] == ["first", "second"]
    assert "putting-trainer 9.9" in lines[0]


def test_the_log_does_not_grow_without_end(tmp_path: Path) -> None:
    with log_file.logging_on("9.9") as log:
        log.data_folder = tmp_path
        for _ in range(12_000):
            logging.getLogger("trainer").info("x" * 60)
    files = sorted((tmp_path / log_file.FOLDER).iterdir())
    assert len(files) == 1 + log_file.KEPT_FILES
    assert all(file.stat().st_size <= log_file.MAX_BYTES for file in files)


def test_a_log_that_cannot_be_written_stops_nothing(tmp_path: Path) -> None:
    (tmp_path / log_file.FOLDER).write_text("a file in the folder's place")
    with log_file.logging_on("9.9") as log:
        log.data_folder = tmp_path
        logging.getLogger("trainer").info("lost")
    assert (tmp_path / log_file.FOLDER).read_text() == "a file in the folder's place"


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no device that is always full")
def test_a_full_disk_stops_nothing(tmp_path: Path, capfd: pytest.CaptureFixture[str]) -> None:
    (tmp_path / log_file.FOLDER).mkdir()
    (tmp_path / log_file.FOLDER / log_file.NAME).symlink_to("/dev/full")
    assert run(["--data-folder", str(tmp_path), "students", "list"]) == 0
    assert capfd.readouterr().err == ""


def test_an_error_is_told_by_its_class_and_places() -> None:
    records: list[logging.LogRecord] = []

    class Keeping(logging.Handler):
        def emit(self, record: logging.LogRecord) -> None:
            records.append(record)

    handler = Keeping()
    logging.getLogger("trainer").addHandler(handler)
    try:
        log_file.log_error(UsageError("no such thing", "Robin", "look again"))
    finally:
        logging.getLogger("trainer").removeHandler(handler)
    assert records[0].getMessage() == "UsageError at no place in this package"
