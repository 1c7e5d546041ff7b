"""Files replaced in one step: the old one or the new one, and nothing else left behind."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

from trainer.errors import StoreError
from trainer.files import replacing
from trainer.store.folder import write_atomically


def test_a_block_that_ends_well_replaces_the_file(tmp_path: Path) -> None:
    path = tmp_path / "clip.mp4"
    path.write_bytes(b"old")
    with replacing(path) as part:
        assert part.suffix == ".mp4"  # writers of videos go by the ending
        part.write_bytes(b"new")
        assert path.read_bytes() == b"old"
    assert path.read_bytes() == b"new"
    assert list(tmp_path.iterdir()) == [path]


@pytest.mark.parametrize("failure", [OSError(28, "No space left on device"), KeyboardInterrupt(), ValueError("broken")])
def test_a_block_that_fails_leaves_all_as_it_was(tmp_path: Path, failure: BaseException) -> None:
    path = tmp_path / "record.json"
    path.write_bytes(b"old")

    def half_written() -> None:
        with replacing(path) as part:
            part.write_bytes(b"ne")
            raise failure

    with pytest.raises(type(failure)):
        half_written()
    assert path.read_bytes() == b"old"
    assert list(tmp_path.iterdir()) == [path]


def test_a_block_that_writes_nothing_is_an_error(tmp_path: Path) -> None:
    path = tmp_path / "clip.mp4"
    path.write_bytes(b"old")
    with pytest.raises(FileNotFoundError), replacing(path):
        pass
    assert path.read_bytes() == b"old"


def test_data_takes_the_files_place_in_a_folder_made_if_need_be(tmp_path: Path) -> None:
    path = tmp_path / "students" / "robin.toml"
    write_atomically(path, b"old")
    write_atomically(path, b"new")
    assert path.read_bytes() == b"new"
    assert list(path.parent.iterdir()) == [path]
    if sys.platform != "win32":
        assert path.stat().st_mode & 0o077 == 0  # what is known of a student is for its owner only


def test_what_cannot_be_replaced_is_told_and_nothing_is_left(tmp_path: Path) -> None:
    path = tmp_path / "robin.toml"
    (path / "a folder of that name").mkdir(parents=True)
    with pytest.raises(StoreError, match=r"cannot be written .*make room"):
        write_atomically(path, b"new")
    assert list(tmp_path.iterdir()) == [path]
    below = tmp_path / "file"
    below.write_bytes(b"")
    with pytest.raises(StoreError, match="cannot be written"):
        write_atomically(below / "robin.toml", b"new")
