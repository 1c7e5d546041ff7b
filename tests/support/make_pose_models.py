"""Takes the pose models out of MediaPipe's wheel, with its licence; of the landmark model only the outputs that are used:

pip download --no-deps --only-binary :all: --python-version 3.11 mediapipe==0.10.21
python -m tests.support.make_pose_models mediapipe-0.10.21-*.whl trainer/_data/pose
"""

from __future__ import annotations

import sys
import zipfile
from pathlib import Path
from typing import Callable, Sequence

from tests.support.cut_model import cut

TAKEN = {
    "detector.tflite": "mediapipe/modules/pose_detection/pose_detection.tflite",
    "landmarks.tflite": "mediapipe/modules/pose_landmark/pose_landmark_full.tflite",
}
# Points, presence and heat: without the player's outline (two fifths of the model's time) and points in space.
OUTPUTS = {"landmarks.tflite": (0, 1, 3)}
LICENCE = "mediapipe-0.10.21.dist-info/LICENSE"
NEXT_LICENCE = b"=" * 40  # the wheel's file goes on with those of other parts, which are not taken


def take(wheel: Path, folder: Path, cut: Callable[[bytes, Sequence[int]], bytes] = cut) -> None:
    folder.mkdir(parents=True, exist_ok=True)
    with zipfile.ZipFile(wheel) as file:
        for name, inside in TAKEN.items():
            content = file.read(inside)
            (folder / name).write_bytes(cut(content, OUTPUTS[name]) if name in OUTPUTS else content)
        (folder / "LICENSE").write_bytes(file.read(LICENCE).split(NEXT_LICENCE)[0].rstrip() + b"\n")


if __name__ == "__main__":
    take(Path(sys.argv[1]), Path(sys.argv[2]))
