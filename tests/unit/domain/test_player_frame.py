"""The player's frame: every view and hand there and back, and no module mirrors by itself."""

import math
import re
from pathlib import Path

import numpy as np
import pytest

import trainer
from trainer.domain.player_frame import Handedness, PlayerFrame, View, mirrored_x

WIDTH = 640
VIEWS: tuple[View, ...] = ("face-on", "down-the-line")
HANDS: tuple[Handedness, ...] = ("right", "left")
EVERY = [PlayerFrame(view, hand, WIDTH) for view in VIEWS for hand in HANDS]


@pytest.mark.parametrize("frame", EVERY, ids=lambda f: f"{f.view} {f.handedness}")
def test_there_and_back(frame: PlayerFrame) -> None:
    for place in ((123.0, 321.0), (0.0, 0.0), (WIDTH - 1.0, 479.0)):
        point = frame.to_player(*place, 0.7)
        assert frame.to_picture(point) == place
        assert point.confidence == 0.7
        assert frame.seen(point)
    columns = np.array([0.0, 12.5, WIDTH - 1.0])
    assert (frame.sideways(frame.sideways(columns)) == columns).all()


@pytest.mark.parametrize("frame", EVERY, ids=lambda f: f"{f.view} {f.handedness}")
def test_a_view_tells_nothing_of_the_way_it_looks(frame: PlayerFrame) -> None:
    point = frame.to_player(100.0, 200.0)
    assert math.isnan(point.across_px) == (frame.view == "face-on")
    assert math.isnan(point.along_px) == (frame.view == "down-the-line")
    assert point.up_px == -200.0
    other = PlayerFrame("down-the-line" if frame.face_on else "face-on", frame.handedness, WIDTH)
    assert not other.seen(point)


def test_along_grows_toward_the_target_and_across_toward_the_ball() -> None:
    """Face-on a right-hander's target is on the picture's right, down the line the ball; a left-hander's on its left."""
    for hand, sign in (("right", 1.0), ("left", -1.0)):
        a, b = (PlayerFrame("face-on", hand, WIDTH).to_player(x, 50.0).along_px for x in (10.0, 20.0))  # type: ignore[arg-type]
        assert (b - a) * sign == 10.0
        a, b = (PlayerFrame("down-the-line", hand, WIDTH).to_player(x, 50.0).across_px for x in (10.0, 20.0))  # type: ignore[arg-type]
        assert (b - a) * sign == 10.0


def test_the_mirrored_picture_of_the_other_hand_gives_the_same_point() -> None:
    """Pixel by pixel, as arrays are mirrored."""
    row = np.arange(WIDTH)
    for x in (0, 17, WIDTH - 1):
        turned = int(np.flatnonzero(row[::-1] == x)[0])
        assert mirrored_x(float(x), WIDTH) == turned
        for view in VIEWS:
            right, left = (PlayerFrame(view, hand, WIDTH) for hand in HANDS)
            one, other = right.to_player(x, 30.0), left.to_player(turned, 30.0)
            assert right.in_view(one) == left.in_view(other)


def test_sides_are_named_by_the_target() -> None:
    right, left = PlayerFrame(), PlayerFrame(handedness="left")
    assert (right.side_of("left"), right.side_of("right")) == ("lead", "trail")
    assert (left.side_of("left"), left.side_of("right")) == ("trail", "lead")
    assert right.named("left_knee") == left.named("right_knee") == "lead_knee"
    assert right.named("nose") == "nose"


MIRRORS = re.compile(
    r"((?<![.\w])(width|width_px|wide|columns)|shape\[1\]|size\[0\])( - 1)?"
    r" - (int\()?([a-z_]+\.)*(x|along|along_px|[a-z]+\[0\])(?!\w)"
    r"|\(-1, 1, 1\)"
)
ALLOWED = {"domain/player_frame.py"}


def test_no_other_module_mirrors_by_itself() -> None:
    for line in (
        "width - x", "width - 1 - int(centre[0])", "width_px - ball.x", "image.shape[1] - 1 - ellipse.x", "size[0] - place[0]",
        "p * (-1, 1, 1) + (width - 1, 0, 0)",
    ):  # fmt: skip
        assert MIRRORS.search(line), line  # what it does not see it cannot forbid
    top = Path(trainer.__file__).parent
    found = [
        f"{path.relative_to(top)}: {line.strip()}"
        for path in sorted(top.rglob("*.py"))
        if path.relative_to(top).as_posix() not in ALLOWED
        for line in path.read_text(encoding="utf-8").splitlines()
        if MIRRORS.search(line)
    ]
    assert not found, found
