"""Takes the pose models out of MediaPipe's wheel, with its licence:

pip download --no-deps --only-binary :all: --python-version 3.11 mediapipe==0.10.21
python -m tests.support.make_pose_models mediapipe-0.10.21-*.whl trainer/_data/pose
"""

from __future__ import annotations

import sys
import zipfile
from pathlib import Path

TAKEN = {
    "detector.tflite": "mediapipe/modules/pose_detection/pose_detection.tflite",
    "landmarks.tflite": "mediapipe/modules/pose_landmark/pose_landmark_full.tflite",
}
LICENCE = "mediapipe-0.10.21.dist-info/LICENSE"
NEXT_LICENCE = b"=" * 40  # the wheel's file goes on with those of other parts, which are not taken


def take(wheel: Path, folder: Path) -> None:
    folder.mkdir(parents=True, exist_ok=True)
    with zipfile.ZipFile(wheel) as file:
        for name, inside in TAKEN.items():
            (folder / name).write_bytes(file.read(inside))
        (folder / "LICENSE").write_bytes(file.read(LICENCE).split(NEXT_LICENCE)[0].rstrip() + b"\n")


if __name__ == "__main__":
    take(Path(sys.argv[1]), Path(sys.argv[2]))
