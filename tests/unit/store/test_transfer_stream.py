"""Export files are read and written a stroke at a time; what is wrong with the last one takes all back."""

from __future__ import annotations

import io
import json
from pathlib import Path
from typing import Any

import pytest

from tests.unit.store.test_transfer import coach, contents, edit_json, on, rebuilt, refuses
from trainer.errors import TransferError
from trainer.store.transfer_file import open_archive
from trainer.store.transfer_json import JsonStream
from trainer.store.transfer_strokes import ReadyStroke, ready_strokes
from trainer.store.transfer_writing import ArchiveWriter

DOCUMENT = {"first": ["ä ⛳", 1.5e-3, [], {}, '\\"'], "second": [{"a": [None, True, -12]}, [0]], "third": []}


def taken(text: str, size: int) -> dict[str, list[Any]]:
    stream = JsonStream(io.BytesIO(text.encode()), "x.json", "x.zip", size)
    found = {key: [stream.value() for _ in stream.entries()] for key in stream.members()}
    stream.end()
    return found


@pytest.mark.parametrize("indent", [None, 2])
@pytest.mark.parametrize("ascii_only", [False, True])
def test_values_are_the_same_wherever_the_text_is_cut(indent: int | None, ascii_only: bool) -> None:
    text = json.dumps(DOCUMENT, indent=indent, ensure_ascii=ascii_only)
    for size in (1, 2, 3, 7, len(text.encode()) + 1):
        assert taken(text, size) == DOCUMENT


def test_a_number_is_not_cut_short() -> None:
    for size in (1, 2, 3):
        assert taken('{"a": [123456, 7]}', size) == {"a": [123456, 7]}


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ('{"a": [1], "a": [2]}', "a key stands twice"),
        ('{"a": [{"b": 1, "b": 2}]}', "a key stands twice"),
        ('{"a": [1 2]}', ", is missing"),
        ('{"a" [1]}', ": is missing"),
        ('{"a": [1]', ", is missing"),
        ('{"a": [1]} {', "something follows"),
        ('{"a": [NaN]}', "is no number"),
        ('{"a": ["\\ud800"]}', "surrogates"),
        ('{1: [1]}', "a key is no text"),
        ('[1]', "{ is missing"),
        ('{"a": [1, "b', "Unterminated"),
        ('{"a": [' + "[" * 100_000, "sound JSON"),
        ("", "{ is missing"),
    ],
)  # fmt: skip
def test_what_is_no_strict_json_is_refused(text: str, why: str) -> None:
    for size in (1, 1000):
        with pytest.raises(TransferError, match=r"x\.json is not sound JSON") as told:
            taken(text, size)
        assert why in told.value.what


@pytest.fixture
def exported(tmp_path: Path) -> Path:
    coach(tmp_path / "coach", 4)
    out = tmp_path / "robin.zip"
    assert on(tmp_path / "coach", "students", "export", "Robin", "--out", str(out)) == 0
    return out


def test_a_stroke_comes_before_the_next_one_is_read(exported: Path, tmp_path: Path) -> None:
    parts = contents(exported)
    strokes = json.loads(parts["sessions.json"])["sessions"][0]["strokes"]
    bad = tmp_path / "bad.zip"
    bad.write_bytes(rebuilt({**parts, f"signals/{strokes[-1]['uid']}.npz": b"nonsense"}))
    with open_archive(bad) as archive:
        found = ready_strokes(archive)
        first = [next(found) for _ in range(1 + len(strokes))]  # the settings and the session come first
        with pytest.raises(TransferError, match="are damaged"):
            next(found)
    assert [one.value.uid for one in first if isinstance(one, ReadyStroke)] == [s["uid"] for s in strokes[:-1]]


def test_a_wrong_last_stroke_takes_all_back(exported: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    parts = contents(exported)
    folder = tmp_path / "player"
    assert on(folder, "students", "add", "Kim") == 0
    for change in ({"kept_at": "soon"}, {"settings": 9}, {"more": 1}):
        wrong = edit_json(parts, "sessions.json", lambda v: v["sessions"][0]["strokes"][-1].update(change))  # noqa: B023
        refuses(folder, rebuilt(wrong), tmp_path, capsys)
    late = {**json.loads(parts["sessions.json"]), "settings": []}
    wrong = {**parts, "sessions.json": json.dumps({"sessions": late["sessions"], "settings": []}).encode()}
    assert "not as it should be (sessions)" in refuses(folder, rebuilt(wrong), tmp_path, capsys)
    assert on(folder, "students", "list") == 0
    assert "Robin" not in capsys.readouterr().out
    assert on(folder, "students", "import", str(exported)) == 0


def test_more_than_a_file_can_hold_is_said() -> None:
    with ArchiveWriter(io.BytesIO()) as out, pytest.raises(TransferError, match="more than an export file can hold"):
        out.add_chunks("limits.json", (b" " * (1 << 20) for _ in range(5)))
