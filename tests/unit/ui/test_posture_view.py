"""Posture shown: lines that follow gravity, the tone, words, kept postures, two side by side, and the command."""

from __future__ import annotations

import json
import math
from datetime import datetime, timezone
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from tests.support.made_address import DOWN_THE_LINE, SIZE, Stand, Still, address, picture, points, side_places, truths
from trainer.coaching.posture.address_measures import setup
from trainer.coaching.posture.compare import changes
from trainer.coaching.posture.figure import figure
from trainer.coaching.posture.hint import Hint
from trainer.coaching.posture.ranges import DEFAULTS, Check, Ranges
from trainer.coaching.posture.words import WORDS, advice, number, reading
from trainer.commands.cli import run
from trainer.domain.observation import Frame
from trainer.domain.record import Measure
from trainer.errors import StoreError, UsageError
from trainer.feedback.cues import THERE
from trainer.feedback.signs import OKABE_ITO, THEMES, Sign
from trainer.live.frame_loop import run_frame_loop
from trainer.live.ports import Devices
from trainer.posture.analysis import Given, look
from trainer.posture.guidance import ComparedPosture, PostureState, change_cells, main_sign, state_of
from trainer.posture.live_posture import THERE_S, PostureLive
from trainer.posture.overlay import onto
from trainer.posture.snapshots import Snapshots, address_of, plain
from trainer.store.video import folder_of
from trainer.testing.fakes import FakeDisplay, FakeReporter, FakeTonePlayer, ListSource
from trainer.ui.posture.compare_view import CompareState, CompareView
from trainer.ui.posture.posture_view import PostureView

NOW = datetime(2026, 3, 1, 10, 11, 12, tzinfo=timezone.utc)


@cache
def seen_of(name: str) -> Any:
    image = picture(name)
    tall = truths()[name]["setup"]["height_cm"]
    found = look(Still(points(name), image), image, Given(height_cm=tall), find_ball=True)
    assert found.seen is not None
    return found.seen


# --- lines


@pytest.mark.parametrize("roll_deg", [0.0, 6.0, -8.0])
def test_plumb_lines_are_drawn_along_gravity_as_the_camera_sees_it(roll_deg: float) -> None:
    stand = Stand(DOWN_THE_LINE.eye, roll_deg, 0.0, 0.0)
    seen = address("down-the-line", stand, side_places(along_cm=-3.0))
    drawn = {d.name: d for d in figure(seen)}
    for name in ("hands_plumb_cm", "spine_tilt_deg", "eye_line_cm"):
        plumb = next(line for line in drawn[name].lines if line.kind == "plumb")
        (x0, y0), (x1, y1) = sorted((plumb.a, plumb.b), key=lambda p: p[1])
        # + roll: upright things lean to the right at their top.
        assert math.degrees(math.atan2(x0 - x1, y1 - y0)) == pytest.approx(roll_deg, abs=1.0)


def test_every_measure_of_either_view_has_words_a_number_and_lines() -> None:
    for name, view in (("s02", "down-the-line"), ("s03", "face-on")):
        seen = seen_of(name)
        assert seen.view == view
        assert set(DEFAULTS[seen.view]) <= set(WORDS)
        drawn = {d.name for d in figure(seen)}
        # The elbow's plumb is the hands' plumb line, ball widths the ball position's line.
        assert set(DEFAULTS[seen.view]) - drawn == {"elbow_plumb_cm"} if view == "down-the-line" else {"ball_widths"}


def test_without_a_ball_lines_that_need_it_are_left_out() -> None:
    from dataclasses import replace

    seen = replace(seen_of("s02"), ball=None)
    assert "eye_line_cm" not in {d.name for d in figure(seen)}
    front = replace(seen_of("s03"), ball=None)
    assert {d.name for d in figure(front)} == {"shoulder_level_deg", "eyes_level_deg"}


# --- words


def test_numbers_say_which_side() -> None:
    assert number("eye_line_cm", 4.24, "cm") == "4.2 cm short of it"
    assert number("eye_line_cm", -1.0, "cm") == "1.0 cm beyond it"
    assert number("spine_tilt_deg", 31.2, "deg") == "31°"
    assert number("shoulder_level_deg", -0.3, "deg") == "0°"
    assert number("ball_position", 0.584, "") == "0.58"
    assert reading("eye_line_cm", Measure(None, "cm", 0.0, "no ball seen")) == "no ball seen"


def one(name: str, value: float | None, low: float = 0.0, high: float = 10.0, fault: bool = False) -> Check:
    inside = None if value is None else low <= value <= high
    return Check(name, Measure(value, "cm", 0.9), low, high, inside, fault)


def test_the_sign_names_the_first_thing_that_is_surely_outside() -> None:
    well, out, edge = one("hips_back_cm", 5.0), one("eye_line_cm", 30.0, fault=True), one("hands_plumb_cm", 10.5)
    assert (state_of(well), state_of(out), state_of(edge)) == ("good", "fault", "plain")
    sign = main_sign([well, edge, out], ())
    assert (sign.word, sign.kind) == ("Eyes short of the ball", "fault")
    assert sign.detail == "come nearer"
    assert main_sign([well, edge], ()).kind == "plain"
    assert main_sign([well], ()) == Sign("All in range", "every measure in its range", "good")
    assert "not judged: eyes and ball" in main_sign([well, one("eye_line_cm", None)], ()).detail
    assert str(advice(one("eye_line_cm", -5.0))).startswith("Eyes beyond the ball")


def test_a_hint_stands_alone() -> None:
    sign = main_sign((), (Hint("feet out of view", "move the camera back or aim it again"),))
    assert sign == Sign("Feet out of view", "move the camera back or aim it again", "plain")


# --- the screen


@pytest.fixture
def surface() -> Any:
    import pygame

    return pygame.Surface((1280, 720))


def counted(surface: Any, colour: tuple[int, int, int]) -> int:
    import pygame

    pixels = pygame.surfarray.array3d(surface).astype(int)
    return int((np.abs(pixels - np.array(colour)).sum(axis=2) < 12).sum())


@pytest.mark.parametrize("theme", ["dark", "light"])
@pytest.mark.parametrize("name", ["s02", "s03", "s11", "s06"])
def test_the_screen_draws_either_view_either_hand(surface: Any, theme: str, name: str) -> None:
    seen = seen_of(name)
    checks = setup(seen)
    PostureView(theme).draw(surface, PostureState(picture(name), seen, checks, main_sign(checks, ())))
    for kind, colour in (("good", THEMES[theme].good), ("fault", THEMES[theme].fault)):
        assert colour in OKABE_ITO.values()
        wanted = any(state_of(c) == kind for c in checks)
        assert (counted(surface, colour) > 200) == wanted, kind


def painted(surface: Any) -> float:
    """Share of the places that are not the ground's colour."""
    import pygame

    pixels = pygame.surfarray.array3d(surface)
    return float((pixels != pixels[0, 0]).any(axis=2).mean())


@pytest.mark.parametrize("size", [(640, 480), (1920, 1080), (300, 900)])
def test_the_screen_fits_any_window(size: tuple[int, int]) -> None:
    import pygame

    seen = seen_of("s02")
    checks = setup(seen)
    surface = pygame.Surface(size)
    PostureView().draw(
        surface, PostureState(picture("s02"), seen, checks, main_sign(checks, seen.notes), 0.5, ("Robin",))
    )
    full = pygame.image.tobytes(surface, "RGB")
    assert painted(surface) > 0.2
    PostureView().draw(surface, PostureState(None, None, (), main_sign((), ())))
    assert painted(surface) > 0.0
    assert pygame.image.tobytes(surface, "RGB") != full  # nobody is in it


def test_lines_of_a_left_hander_lie_on_the_left_hander(surface: Any) -> None:
    """The picture alone and the picture with lines differ where the player stands, not in its mirror."""
    import pygame

    name = "s02"  # a left-hander down the line, right of the middle
    assert truths()[name]["handedness"] == "left"
    seen, board = seen_of(name), PostureView()
    view = PostureState(picture(name), seen, setup(seen), Sign("", "", "plain"))
    box = board.picture(surface, pygame.Rect(0, 0, 640, 480), view, THEMES["dark"], share=1.0)
    assert box.size == (640, 480)
    after = pygame.surfarray.array3d(surface)[:640, :480].astype(int)
    plain_picture = picture(name)[:, :, ::-1].swapaxes(0, 1).astype(int)
    changed = np.argwhere(np.abs(after - plain_picture).sum(axis=2) > 60)
    hip = points(name)["right_hip"]
    assert np.median(np.abs(changed[:, 0] - hip[0])) < 90


# --- live


def live(name: str, frames: int, fps: float = 30.0, **options: Any) -> tuple[list[Any], PostureLive]:
    image = picture(name)
    tall = truths()[name]["setup"]["height_cm"]
    finder = PostureLive(Still(points(name), image), Given(height_cm=tall), **options)
    return [finder.step(Frame(k, k / fps, image)) for k in range(frames)], finder


def wide(view: str) -> Any:
    return Ranges.model_validate(
        {table: {name: {"low": r.lowest, "high": r.highest} for name, r in ranges} for table, ranges in DEFAULTS}
    )


def test_there_comes_once_and_after_one_second_inside() -> None:
    steps, _ = live("s02", 75, ranges=wide("down-the-line"))
    first_inside = next(k for k, s in enumerate(steps) if s.state.checks)
    reached = [k for k, s in enumerate(steps) if s.there]
    assert len(reached) == 1
    assert (reached[0] - first_inside) / 30 == pytest.approx(THERE_S, abs=0.1)
    assert steps[reached[0]].state.sign.word == "There"
    assert steps[reached[0] - 1].state.sign.word == "Hold it"
    assert 0.0 < steps[reached[0] - 5].state.share < 1.0


def test_outside_there_is_no_tone_and_the_word_says_why() -> None:
    steps, _ = live("s02", 60)
    assert not any(s.there for s in steps)
    assert steps[-1].state.sign.kind == "fault"


def test_the_reference_stands_beside_the_numbers(surface: Any) -> None:
    asked: list[str] = []

    def reference(view: Any) -> dict[str, Measure]:
        asked.append(view)
        return {"spine_tilt_deg": Measure(36.0, "deg", 0.9)}

    steps, _ = live("s02", 20, reference=reference)
    assert asked == ["down-the-line"]
    last = steps[-1].state
    assert last.reference == {"spine_tilt_deg": Measure(36.0, "deg", 0.9)}
    import pygame

    PostureView().draw(surface, last)
    drawn = pygame.surfarray.array3d(surface).copy()
    from dataclasses import replace

    PostureView().draw(surface, replace(last, reference=None))
    assert (drawn != pygame.surfarray.array3d(surface)).any()


def test_live_from_a_clip_keeps_a_posture_when_it_is_there(
    clips: Path, own_data_folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    clip = str(clips / "T08_dtl_good.mp4")
    assert run(["students", "add", "Robin", "player.height_cm=175"]) == 0
    assert run(["posture", "--student", "Robin", "--clip", clip, "--live", "--save", "--no-window"]) == 0
    text = capsys.readouterr().out
    assert "There" in text
    assert "kept as" in text
    assert len(list(folder_of(own_data_folder, "x").parent.glob("*/posture/*.json"))) >= 1


def test_moving_hands_give_no_numbers() -> None:
    image = picture("s02")

    class Moving(Still):
        count = 0

        def find(self, image_bgr: Any) -> Any:
            Moving.count += 1
            found = {n: p.copy() for n, p in points("s02").items()}
            for side in ("left", "right"):
                found[f"{side}_wrist"][0] += 4 * math.sin(Moving.count / 2)
            return found

    finder = PostureLive(Moving(None, image))
    steps = [finder.step(Frame(k, k / 30, image)) for k in range(30)]
    assert all(s.state.seen is None for s in steps)
    assert steps[-1].state.sign.word == "Hold still"


@pytest.mark.slow
def test_a_second_person_gives_a_hint_live() -> None:
    from trainer.camera_setup.setup_observer import SetupObserver
    from trainer.vision.body.pose import PoseBody

    pair = np.ascontiguousarray(np.concatenate([picture("s03")[:, 170:490], picture("s17")[:, 170:490]], axis=1))
    body = PoseBody()
    try:
        finder = PostureLive(body)
        steps = [finder.step(Frame(k, k / 30, pair)) for k in range(14)]
        assert all(step.state.seen is None for step in steps)
        assert steps[-1].state.sign.word == "Two people in the picture"
        watch = SetupObserver(body)
        assert "two people" in watch.step(Frame(0, 0.0, pair)).findings[0].found
    finally:
        body.close()


def test_a_player_who_steps_out_loses_the_count() -> None:
    image = picture("s02")

    class Comes(Still):
        there = True

        def find(self, image_bgr: Any) -> Any:
            return points("s02") if Comes.there else None

    finder = PostureLive(Comes(None, image), ranges=wide("down-the-line"))
    told = []
    for k in range(150):
        Comes.there = not 60 <= k < 70
        told.append(finder.step(Frame(k, k / 30, image)).there)
    assert [k for k, there in enumerate(told) if there][1] >= 70 + 30
    assert sum(told) == 2


def test_the_loop_sounds_the_tone_and_ends_with_the_source() -> None:
    image = picture("s02")
    finder = PostureLive(Still(points("s02"), image), ranges=wide("down-the-line"))

    def step(frame: Frame) -> tuple[object, str | None]:
        result = finder.step(frame)
        return result.state, THERE if result.there else None

    tones, display = FakeTonePlayer(lambda: 0.0), FakeDisplay(lambda: 0.0)
    source = ListSource([Frame(k, k / 30, image) for k in range(60)])
    assert run_frame_loop(source, step, Devices(display, tones, FakeReporter())) is False
    assert [name for _, name in tones.played] == [THERE]
    assert len(display.shown) == 60
    quit_at_once = FakeDisplay(lambda: 0.0, keys=["quit"])
    devices = Devices(quit_at_once, tones, FakeReporter())
    assert run_frame_loop(ListSource([Frame(0, 0.0, image)]), step, devices) is False
    assert not quit_at_once.shown


def test_a_remembered_stand_serves_where_nothing_straight_is_in_the_picture() -> None:
    """The player before a bare wall: without the memory no plumb line can be trusted, with it they can."""
    from trainer.vision.camera_geometry.tilt import TiltSeen

    known = seen_of("s02")
    stand = TiltSeen(known.camera, 0.9, 0.9, 0.0)
    image = np.full_like(picture("s02"), 128)
    x, y = (round(v) for v in truths()["s02"]["ball_px"])
    image[y - 12 : y + 12, x - 12 : x + 12] = picture("s02")[y - 12 : y + 12, x - 12 : x + 12]

    def numbers(**options: Any) -> dict[str, float]:
        finder = PostureLive(
            Still(points("s02"), image), Given(height_cm=truths()["s02"]["setup"]["height_cm"]), **options
        )
        steps = [finder.step(Frame(k, k / 30, image)) for k in range(20)]
        return {c.name: c.measure.confidence for c in steps[-1].state.checks}

    assert numbers()["spine_tilt_deg"] < 0.35
    assert numbers(stand=stand)["spine_tilt_deg"] > 0.7


# --- kept


def test_what_is_kept_gives_the_same_numbers_again(tmp_path: Path) -> None:
    seen = seen_of("s02")
    assert address_of(json.loads(json.dumps(plain(seen)))) == seen
    kept = Snapshots(tmp_path).save(seen, picture("s02"), NOW, "before")
    again = Snapshots(tmp_path).all()[0]
    assert again == kept
    assert again.label == "before"
    assert {n: m.value for n, m in again.measures.items()} == {n: m.value for n, m in kept.measures.items()}
    assert np.abs(again.image().astype(int) - picture("s02")).mean() < 3


def test_kept_postures_are_found_by_word_and_name(tmp_path: Path) -> None:
    from datetime import timedelta

    kept = Snapshots(tmp_path)
    with pytest.raises(UsageError, match="keep one first"):
        kept.find("last")
    a = kept.save(seen_of("s02"), picture("s02"), NOW, "before")
    b = kept.save(seen_of("s04"), picture("s04"), NOW + timedelta(days=1), "after")
    c = kept.save(seen_of("s04"), picture("s04"), NOW + timedelta(days=1))
    assert c.name.endswith("-2")
    assert kept.find("first").name == a.name
    assert kept.find("last").name == c.name
    assert kept.find("after").name == b.name
    assert kept.find("20260301").name == a.name
    with pytest.raises(UsageError, match="2 kept postures"):
        kept.find("20260302")
    with pytest.raises(UsageError, match="no reference"):
        kept.find("reference")
    kept.set_reference(b)
    assert kept.find("reference").name == b.name
    assert kept.reference("face-on") is None


def test_damaged_files_are_said_and_skipped(tmp_path: Path) -> None:
    kept = Snapshots(tmp_path)
    good = kept.save(seen_of("s02"), picture("s02"), NOW)
    for name, text in (("a", "{"), ("b", '{"schema": 1}'), ("c", '{"schema": 9, "taken_at": ""}')):
        (kept.folder / f"{name}.json").write_text(text, encoding="utf-8")
        with pytest.raises(StoreError):
            kept.read(kept.folder / f"{name}.json")
    assert [s.name for s in kept.all()] == [good.name]
    (kept.folder / f"{good.name}.jpg").write_bytes(b"no picture")
    with pytest.raises(StoreError, match="no picture"):
        good.image()


# --- two side by side


@pytest.mark.parametrize("stand", [Stand((-350.0, -10.0, 90.0), 5.0, 2.0), Stand((-240.0, -30.0, 120.0), -4.0, 8.0)])
def test_ball_and_feet_are_laid_over_each_other(stand: Stand) -> None:
    """The same player from another distance with another tilt comes back to the same place and size."""
    before = address("down-the-line", DOWN_THE_LINE, side_places(along_cm=-3.0))
    after = address("down-the-line", stand, side_places(along_cm=-3.0))
    back = onto(after, before)

    def apart(name: str, moved: np.ndarray = back) -> float:
        a, b = after.points[name], before.points[name]
        return float(np.linalg.norm(moved @ np.array([a.x, a.y, 1.0]) - [b.x, b.y]))

    assert max(apart(f"trail_{part}") for part in ("heel", "toe", "ankle")) < 12
    # Another camera height sees the body a little otherwise.
    assert max(apart(name) for name in after.points) < 20
    assert max(apart(name, np.eye(2, 3)) for name in after.points) > 35


def test_a_wider_stance_stays_wider() -> None:
    narrow, wide_stance = seen_of("s03"), seen_of("s17")
    back = onto(wide_stance, narrow)
    feet = [
        back @ np.array([wide_stance.points[n].x, wide_stance.points[n].y, 1.0]) for n in ("lead_ankle", "trail_ankle")
    ]
    here = [np.array([narrow.points[n].x, narrow.points[n].y]) for n in ("lead_ankle", "trail_ankle")]
    ratio = np.linalg.norm(feet[0] - feet[1]) / np.linalg.norm(here[0] - here[1])
    true = truths()["s17"]["setup"]["stance_cm"] / truths()["s03"]["setup"]["stance_cm"]
    assert true > 1.25
    assert ratio == pytest.approx(true, rel=0.2)  # two cameras, two stances measured


def test_without_a_ruler_ball_and_feet_tell_turn_and_size() -> None:
    from dataclasses import replace

    seen = replace(seen_of("s03"), ball=None)
    turn, scale, shift = math.radians(5.0), 1.2, np.array([40.0, -25.0])
    matrix = scale * np.array([[math.cos(turn), -math.sin(turn)], [math.sin(turn), math.cos(turn)]])
    moved = {n: m._replace(**dict(zip("xy", matrix @ [m.x, m.y] + shift, strict=True))) for n, m in seen.points.items()}
    back = onto(replace(seen, points=moved), seen)
    for name in ("lead_toe", "trail_heel", "nose"):
        found = back @ np.array([moved[name].x, moved[name].y, 1.0])
        np.testing.assert_allclose(found, [seen.points[name].x, seen.points[name].y], atol=1e-6)
    nothing = replace(seen, points={}, ball=None)
    np.testing.assert_allclose(onto(nothing, seen), np.eye(2, 3))


def test_a_left_and_a_right_hander_can_be_compared() -> None:
    import pygame

    a, b = seen_of("s02"), seen_of("s04")
    assert {a.handedness, b.handedness} == {"left", "right"}
    table = changes(_measures(a), _measures(b), "down-the-line")
    sides = [ComparedPosture(n, picture(n), s, setup(s)) for n, s in (("s02", a), ("s04", b))]
    surface = pygame.Surface((1440, 960))
    CompareView().draw(surface, CompareState(sides[0], sides[1], table))
    assert len({change_cells(c)[5] for c in table}) > 1


def _measures(seen: Any) -> dict[str, Measure]:
    from trainer.coaching.posture.address_measures import measure

    return measure(seen)


# --- the command


def test_a_photo_gives_numbers_lines_and_json(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    from tests.support.made_address import STILLS

    out, numbers = tmp_path / "lines.png", tmp_path / "numbers.json"
    arguments = [
        "posture",
        "--image",
        str(STILLS / "s04.jpg"),
        "--out",
        str(out),
        "--json",
        str(numbers),
        "--no-window",
    ]
    assert run(arguments) == 0
    text = capsys.readouterr().out
    assert "down-the-line, right-handed" in text
    assert "Eyes and ball" in text
    assert out.read_bytes().startswith(b"\x89PNG")
    found = json.loads(numbers.read_text(encoding="utf-8"))
    truth = truths()["s04"]["setup"]
    assert found["view"] == "down-the-line"
    assert found["handedness"] == "right"
    assert abs(found["setup"]["spine_tilt_deg"]["value"] - truth["spine_tilt_deg"]) < 4
    assert "eye_line_cm" in found["faults"]


def test_keeping_choosing_comparing_and_erasing(
    tmp_path: Path, own_data_folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    from tests.support.made_address import STILLS

    assert run(["students", "add", "Robin", "player.handedness=right"]) == 0
    for name, label in (("s04", "before"), ("s08", "after")):
        command = ["posture", "--student", "Robin", "--image", str(STILLS / f"{name}.jpg"), "--save", "--label", label]
        assert run(command) == 0
    assert run(["posture", "--student", "Robin", "--reference", "after"]) == 0
    assert run(["posture", "--student", "Robin", "--list"]) == 0
    side = tmp_path / "side.png"
    capsys.readouterr()
    assert run(["posture", "--student", "Robin", "--compare", "before", "after"]) == 0
    table = capsys.readouterr().out
    assert "least that counts" in table
    assert not list(Path.cwd().glob("posture-*.png"))  # a picture is written where one is asked for
    assert run(["posture", "--student", "Robin", "--compare", "before", "after", "--out", str(side)]) == 0
    assert capsys.readouterr().out.startswith(table)
    assert side.read_bytes().startswith(b"\x89PNG")
    assert run(["posture", "--student", "Robin", "--image", str(STILLS / "s04.jpg")]) == 0
    assert "reference" in capsys.readouterr().out
    folders = list(folder_of(own_data_folder, "x").parent.glob("*/posture/*"))
    assert len(folders) == 5
    assert run(["students", "erase", "Robin", "--yes"]) == 0
    assert not list(folder_of(own_data_folder, "x").parent.glob("*/posture/*"))


def test_a_reference_may_set_the_ranges(own_data_folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    from tests.support.made_address import STILLS
    from trainer.app.context import load_context as settings_of

    photo = str(STILLS / "s04.jpg")
    assert run(["students", "add", "Robin"]) == 0
    assert run(["posture", "--student", "Robin", "--image", photo, "--save", "--label", "best"]) == 0
    assert run(["posture", "--student", "Robin", "--reference", "best", "--ranges"]) == 0
    found = settings_of(None, "Robin").settings.posture["down-the-line"]["eye_line_cm"]
    capsys.readouterr()
    assert run(["posture", "--student", "Robin", "--image", photo, "--json", "-"]) == 0
    again = json.loads(capsys.readouterr().out)
    measured = again["setup"]["eye_line_cm"]["value"]  # how true that is, tests/integration/test_posture_stills.py says
    assert (found.low + found.high) / 2 == pytest.approx(measured, abs=0.1)
    assert found.high - found.low == pytest.approx(2 * 2.772, abs=0.2)
    assert again["faults"] == []
    assert all(check["inside"] for check in again["setup"].values())


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["--ranges"], "--ranges"),
        (["--image", "a.jpg", "--clip", "b.mp4"], "more than one picture"),
        (["--image", "no-such.jpg"], "no-such.jpg"),
        (["--clip", "no-such.mp4"], "no such file"),
        (["--at", "3"], "--at"),
        (["--live"], "--live"),
        (["--list"], "--student"),
        (["--image", "README.md"], "no picture"),
    ],
)
def test_wrong_use_is_said_in_one_line(
    arguments: list[str], said: str, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    from tests.support.paths import ROOT

    monkeypatch.chdir(ROOT)
    assert run(["posture", *arguments, "--no-window"]) == 2
    error = capsys.readouterr().err.strip()
    assert said in error
    assert "\n" not in error


def test_a_picture_without_a_player_gives_a_hint_and_no_numbers(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    import cv2

    file = tmp_path / "empty.png"
    cv2.imwrite(str(file), np.full((SIZE[1], SIZE[0], 3), 90, np.uint8))
    assert run(["posture", "--image", str(file), "--json", "-"]) == 2
    found = json.loads(capsys.readouterr().out)
    assert found["setup"] == {}
    assert len(found["hints"]) == 1
    assert "nobody seen" in found["hints"][0]


def test_the_told_hand_is_held_against_what_is_seen() -> None:
    image = picture("s02")
    found = look(Still(points("s02"), image), image, Given("down-the-line", "right"))
    assert any("looks left-handed" in str(hint) for hint in found.hints)
