"""The pose stage against MediaPipe 0.10.21 itself, point by point, over whole clips: the table of trainer/vision/body/STUDY.md.

    PYTHON-WITH-MEDIAPIPE -m tests.bench.pose_points record OUT CLIP...     # Python 3.10 to 3.12, mediapipe==0.10.21
    python -m tests.bench.pose_points compare OUT CLIP...

``record`` writes its points, and once more those of a first frame changed by one grey level in every 64th pixel: how far apart
two runs of MediaPipe are that a player could not tell apart. ``compare`` prints both distances.
"""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Callable, Iterator

import cv2
import numpy as np

from trainer.vision.body.pose import POSE_POINTS, PoseBody
from trainer.vision.body.region import Picture, Places

Find = Callable[[Picture], Places | None]  # BGR to (points, 3)


def pictures(clip: Path, changed: bool = False) -> Iterator[Picture]:
    capture = cv2.VideoCapture(str(clip))
    while True:
        ok, image = capture.read()
        if not ok:
            return
        if changed:
            image[::8, ::8] = np.minimum(image[::8, ::8], 254) + 1
            changed = False
        yield image


def points_of(find: Find, images: Iterator[Picture]) -> Places:
    """(frames, points, 3): x px, y px, visibility; NaN where nobody is seen."""
    nobody = np.full((len(POSE_POINTS), 3), np.nan)
    return np.array([nobody if (points := find(image)) is None else points for image in images])


def mediapipe() -> Find:
    from mediapipe.python.solutions import pose

    model = pose.Pose(model_complexity=1, smooth_landmarks=False)

    def find(image: Picture) -> Places | None:
        height, width = image.shape[:2]
        marks = model.process(cv2.cvtColor(image, cv2.COLOR_BGR2RGB)).pose_landmarks
        if marks is None:
            return None
        wanted = [marks.landmark[place] for place in POSE_POINTS.values()]
        return np.array([[mark.x * width, mark.y * height, mark.visibility] for mark in wanted])

    return find


def ours() -> Find:
    body = PoseBody()

    def find(image: Picture) -> Places | None:
        points = body.find(image)
        return None if points is None else np.array([points[name] for name in POSE_POINTS])

    return find


def apart(a: Places, b: Places) -> str:
    px = np.hypot(a[..., 0] - b[..., 0], a[..., 1] - b[..., 1])
    return f"{np.sqrt(np.nanmean(px**2)):.2f} | {np.nanmedian(px):.2f} | {np.nanpercentile(px, 95):.2f} | {np.nanmax(px):.1f}"


def main(task: str, out: Path, clips: list[Path]) -> None:
    out.mkdir(parents=True, exist_ok=True)
    for clip in clips:
        file = out / f"{clip.stem}.npz"
        if task == "record":
            plain, changed = (points_of(mediapipe(), pictures(clip, changed)) for changed in (False, True))
            np.savez_compressed(file, points=plain, changed=changed)
        else:
            with np.load(file) as recorded:
                points = points_of(ours(), pictures(clip))
                print(
                    f"| {clip.stem} | {apart(points, recorded['points'])} | {apart(recorded['changed'], recorded['points'])} |"
                )


if __name__ == "__main__":
    main(sys.argv[1], Path(sys.argv[2]), [Path(name) for name in sys.argv[3:]])
