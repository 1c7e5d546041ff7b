"""The packaged pose models: whole, with their licence, and taken from the wheel as it is said."""

from __future__ import annotations

import hashlib
import re
import zipfile
from pathlib import Path

import numpy as np

from tests.support.cut_model import cut
from tests.support.make_pose_models import LICENCE, TAKEN, take
from trainer.resources import data_path
from trainer.vision.body.landmarks import MARKS, PRESENCE
from trainer.vision.body.model import Model


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
    take(tmp_path / "a.whl", tmp_path / "out", lambda content, outputs: content + b" cut")
    found = {path.name: path.read_text() for path in (tmp_path / "out").iterdir()}
    assert found == {
        "detector.tflite": "detector.tflite",
        "landmarks.tflite": "landmarks.tflite cut",
        "LICENSE": "own licence\n",
    }


def test_a_model_that_is_cut_down_says_the_same_to_the_last_bit(tmp_path: Path) -> None:
    whole = Model("landmarks.tflite")
    smaller = tmp_path / "smaller.tflite"
    smaller.write_bytes(cut(data_path("pose", "landmarks.tflite").read_bytes(), (1, 0)))
    less = Model(str(smaller))
    picture = np.random.default_rng(3).random((whole.input_side_px, whole.input_side_px, 3), np.float32)
    assert all(map(np.array_equal, less.run(picture, (0, 1)), whole.run(picture, (PRESENCE, MARKS))))
    assert smaller.stat().st_size < data_path("pose", "landmarks.tflite").stat().st_size
