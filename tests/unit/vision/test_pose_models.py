"""The packaged pose models: whole, with their licence, and taken from the wheel as it is said."""

from __future__ import annotations

import hashlib
import re
import zipfile
from pathlib import Path

from tests.support.make_pose_models import LICENCE, TAKEN, take
from trainer.resources import data_path


def test_the_models_are_those_that_the_notice_names() -> None:
    notice = data_path("pose", "NOTICE").read_text(encoding="utf-8")
    named = {name: digest for digest, name in re.findall(r"^([0-9a-f]{64})  (\S+)$", notice, re.MULTILINE)}
    assert set(named) == set(TAKEN)
    for name, digest in named.items():
        assert hashlib.sha256(data_path("pose", name).read_bytes()).hexdigest() == digest


def test_the_licence_lies_beside_them() -> None:
    assert "Apache License" in data_path("pose", "LICENSE").read_text(encoding="utf-8")


def test_only_the_models_and_their_licence_are_taken_from_a_wheel(tmp_path: Path) -> None:
    with zipfile.ZipFile(tmp_path / "a.whl", "w") as wheel:
        for name, inside in TAKEN.items():
            wheel.writestr(inside, name)
        wheel.writestr(LICENCE, "own licence\n\n" + 75 * "=" + "\nFor other files\n")
    take(tmp_path / "a.whl", tmp_path / "out")
    found = {path.name: path.read_text() for path in (tmp_path / "out").iterdir()}
    assert found == {**{name: name for name in TAKEN}, "LICENSE": "own licence\n"}
