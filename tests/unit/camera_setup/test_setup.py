"""Setting up: each line's state and words, signs, tones, the end by itself, what is remembered, and the command."""

from __future__ import annotations

import itertools
import json
from dataclasses import replace
from datetime import datetime, timezone
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from tests.support.made_address import Still, picture, points, truths
from trainer.camera_setup.camera_memory import FILE, differs, recall, remember
from trainer.camera_setup.findings import Finding
from trainer.camera_setup.setup_findings import NAMES, SetupFacts, setup_findings
from trainer.camera_setup.setup_observer import WELL_S, SetupObserver, SetupOptions, SetupStep, edge_width_px
from trainer.coaching.posture.hint import Hint
from trainer.coaching.posture.view_detection import DetectedView
from trainer.commands.cli import run
from trainer.domain.observation import Frame
from trainer.domain.perspective import CameraView
from trainer.feedback.cues import ALL_SET, STEP_DONE
from trainer.testing.fakes import FakeReporter
from trainer.ui.camera_setup.setup_view import SetupView, next_sign
from trainer.vision.camera_geometry.tilt import TiltSeen

FACE_ON = DetectedView("face-on", 1.0, "right", 1.0, None)
WELL = SetupFacts(
    hints=(), distance_cm=280.0, height_cm=55.0, roll_deg=0.5, azimuth_deg=2.0, tilt_confidence=0.9, azimuth_confidence=0.9,
    detected=FACE_ON, head_sure=0.95, room_cm=(80.0, 90.0), brightness=120.0, edge_px=4.0, fps=30.0, ball=True, putter="tape",
    scale="5.0 mm a pixel by the ball",
)  # fmt: skip
NOW = datetime(2026, 3, 1, 10, 11, 12, tzinfo=timezone.utc)


def line(facts: SetupFacts, name: str) -> Finding:
    return next(found for found in setup_findings(facts) if found.name == name)


# --- lines


def test_all_well_is_all_ok_and_nothing_to_do() -> None:
    found = setup_findings(WELL)
    assert [one.name for one in found] == list(NAMES)
    assert all(one.state == "ok" and not one.todo for one in found), found


def test_nothing_seen_yet_is_no_ok() -> None:
    assert all(one.state in ("problem", "waiting") for one in setup_findings(SetupFacts()))


def test_from_a_wrong_view_nothing_is_advised_but_the_view() -> None:
    """Whatever distance, height and scale seem to be from there."""
    far = {
        "distance_cm": 480.0,
        "height_cm": 200.0,
        "scale_note": "104 % taller than told",
        "scales_apart": 1.04,
    }
    facts = replace(WELL, given_view="down-the-line", **far)  # type: ignore[arg-type]
    found = setup_findings(facts)
    assert [one.name for one in found if one.state == "problem"] == ["view"]
    assert not any(one.todo for one in found if one.name != "view")
    assert next_sign(found, done=False).word == "This looks face-on, not down-the-line"
    assert not any(number in one.words for one in found for number in ("4.8", "200", "104"))


def test_of_a_doubtful_scale_no_number_is_said() -> None:
    facts = replace(WELL, distance_cm=470.0, scale_note="the player is 104 % taller than told", scales_apart=1.04)
    found = {one.name: one for one in setup_findings(facts)}
    assert found["distance"].words == found["height"].words == "not sure, for the scale is in doubt"
    assert (
        found["scale"].words
        == "ball and player's height do not agree; is that the ball, and is player.height_cm right?"
    )


@pytest.mark.parametrize(
    ("name", "change", "state", "said"),
    [
        (
            "body",
            {"hints": (Hint("feet out of view", "move the camera back or aim it again"),)},
            "problem",
            "move the camera back",
        ),
        ("body", {"room_cm": (45.0, 90.0)}, "warning", "left of the feet"),
        ("body", {"room_cm": (90.0, 20.0)}, "problem", "right of the feet"),
        ("distance", {"distance_cm": 180.0}, "warning", "move it back 0.5 m"),
        ("distance", {"distance_cm": 120.0}, "problem", "move it back 1 m"),
        ("distance", {"distance_cm": 500.0}, "problem", "nearer by 1.5 m"),
        ("height", {"height_cm": 100.0}, "warning", "lower it: knee height"),
        ("height", {"height_cm": 160.0}, "problem", "lower it: knee height"),
        ("height", {"height_cm": 8.0}, "problem", "raise it"),
        ("level", {"roll_deg": 4.0}, "warning", "lean right by 4"),
        ("level", {"roll_deg": -12.0}, "problem", "lean left by 12"),
        ("level", {"azimuth_deg": 9.0}, "warning", "9° off the line"),
        ("level", {"tilt_confidence": 0.1}, "warning", "nothing straight"),
        ("view", {"given_view": "down-the-line"}, "problem", "set `--view face-on`"),
        ("view", {"detected": replace(FACE_ON, view_confidence=0.2)}, "problem", "between"),
        ("hand", {"given_handedness": "left"}, "problem", "looks right-handed, not left"),
        ("hand", {"detected": replace(FACE_ON, handedness_confidence=0.1)}, "warning", "not sure"),
        ("light", {"brightness": 40.0}, "warning", "put light"),
        ("light", {"brightness": 20.0}, "problem", "put light"),
        ("light", {"brightness": 230.0}, "warning", "no window"),
        ("light", {"white_share": 0.4}, "warning", "no window"),
        ("head", {"head_sure": 0.6, "head_hard": "plain"}, "warning", "take the hat off"),
        ("head", {"head_sure": 0.6, "head_hard": "faint"}, "warning", "light on the face"),
        ("head", {"head_sure": 0.6}, "warning", "tie hair back"),
        ("head", {"head_sure": None}, "waiting", "stand still"),
        ("sharp", {"edge_px": 7.0}, "warning", "wipe the lens"),
        ("sharp", {"edge_px": 10.0}, "problem", "wipe the lens"),
        ("rate", {"fps": 20.0}, "warning", "more light"),
        ("rate", {"fps": 8.0}, "problem", "more light"),
        ("ball", {"ball": False}, "problem", "lay a ball down"),
        ("putter", {"putter": None}, "problem", "tape around the shaft"),
        ("scale", {"scale": None}, "waiting", "needs the ball"),
        ("scale", {"scale_note": "by the ball the player is 9% taller than the height given"}, "warning", "9% taller"),
    ],
)
def test_each_fault_has_its_state_and_says_what_to_do(name: str, change: dict[str, Any], state: str, said: str) -> None:
    found = line(replace(WELL, **change), name)
    assert found.state == state
    assert said in f"{found.found}; {found.todo}"
    others = [one for one in setup_findings(replace(WELL, **change)) if one.state != "ok" and one.name != name]
    if not {"hints", "given_view"} & set(change):
        assert not others, others


def test_chest_height_is_fine_down_the_line() -> None:
    down = replace(WELL, detected=replace(FACE_ON, view="down-the-line", facing="left"), height_cm=110.0)
    assert line(down, "height").state == "ok"
    assert "you face left" in line(down, "view").found


# --- signs


def test_the_sign_is_the_first_thing_to_mend_in_words() -> None:
    found = setup_findings(replace(WELL, height_cm=160.0, ball=False))
    sign = next_sign(found, False)
    assert sign.word == "Lower it: knee height, 40 to 70 cm"
    assert sign.kind == "fault"
    assert next_sign(setup_findings(WELL), False).kind == "good"
    assert next_sign(setup_findings(WELL), True).word == "All set"
    better = next_sign(setup_findings(replace(WELL, height_cm=100.0)), False)
    assert better.kind == "good"
    assert "knee height" in better.detail
    assert next_sign(setup_findings(replace(WELL, scale=None)), False).kind == "plain"


@pytest.mark.parametrize("theme", ["dark", "light"])
@pytest.mark.parametrize("size", [(1280, 720), (640, 480), (1920, 1080)])
def test_the_screen_fits_and_its_letters_are_large(theme: str, size: tuple[int, int]) -> None:
    import pygame

    from trainer.feedback.signs import THEMES

    surface = pygame.Surface(size)
    view = SetupStep(picture("s03"), tuple(setup_findings(WELL)), 1.0, True)
    SetupView(theme).draw(surface, view)
    pixels = pygame.surfarray.array3d(surface).swapaxes(0, 1).astype(int)
    strip = pixels[round(size[1] * 0.75) : round(size[1] * 0.94), round(size[1] * 0.24) : round(size[1] * 0.60)]
    text = np.abs(strip - np.array(THEMES[theme].text)).sum(axis=2) < 40
    rows = np.flatnonzero(text.any(axis=1))
    assert rows.max() - rows.min() >= size[1] / 12
    SetupView(theme).draw(surface, SetupStep(None, tuple(setup_findings(SetupFacts()))))


# --- watching


def watched(name: str, seconds: float, found: dict[str, Any] | None = None, **options: Any) -> list[SetupStep]:
    image = picture(name)
    watch = SetupObserver(Still(points(name) if found is None else found, image), SetupOptions(**options))
    return [watch.step(Frame(k, k / 30, image)) for k in range(round(seconds * 30))]


def test_it_ends_by_itself_when_all_was_well_for_two_seconds() -> None:
    steps = watched("s03", 4.5)
    done = [k for k, step in enumerate(steps) if step.done]
    assert done
    well = next(k for k, step in enumerate(steps) if step.share > 0)
    assert (done[0] - well) / 30 == pytest.approx(WELL_S, abs=0.1)
    assert steps[done[0]].sound == ALL_SET
    ticks = [k for k, step in enumerate(steps) if step.sound == STEP_DONE]
    assert 1 <= len(ticks) <= 5
    assert all(b - a >= 14 for a, b in itertools.pairwise(ticks))


@pytest.mark.parametrize("name", ["s03", "s05", "s11", "s02", "s04", "s08"])
def test_distance_and_height_of_the_camera_are_about_right(name: str) -> None:
    facts = watched(name, 0.6, height_cm=truths()[name]["setup"]["height_cm"])[-1].facts
    eye = np.array(truths()[name]["camera"]["eye_m"]) * 100
    assert facts.distance_cm is not None
    assert facts.height_cm is not None
    true = abs(eye[1]) if facts.view == "face-on" else abs(eye[0])
    assert facts.distance_cm == pytest.approx(true, rel=0.15)
    assert facts.height_cm == pytest.approx(eye[2], abs=15)


def test_it_does_not_end_while_something_is_bad() -> None:
    steps = watched("s03", 3.5, view="down-the-line")
    assert not any(step.done for step in steps)
    assert next(one for one in steps[-1].findings if one.name == "view").state == "problem"


def test_nobody_there_is_said_first() -> None:
    image = picture("s03")
    watch = SetupObserver(Still(None, image))
    step = watch.step(Frame(0, 0.0, image))
    assert step.findings[0].found == "nobody seen"
    assert next_sign(step.findings, False).word == "Stand in the picture, whole body in view"


def test_a_flicker_of_one_frame_does_not_change_a_line() -> None:
    image = picture("s03")

    class Flickers(Still):
        count = 0

        def find(self, image_bgr: Any) -> Any:
            Flickers.count += 1
            return None if Flickers.count == 40 else points("s03")

    watch = SetupObserver(Flickers(None, image))
    states = [watch.step(Frame(k, k / 30, image)).findings[0].state for k in range(60)]
    assert set(states[20:]) == {"ok"}


def test_blur_widens_the_sharpest_edges_whatever_the_noise() -> None:
    import cv2

    random = np.random.default_rng(5)
    for name in ("s03", "s05", "s02"):
        grey = cv2.cvtColor(picture(name), cv2.COLOR_BGR2GRAY)[100:440, 200:450]
        blurred = np.clip(cv2.GaussianBlur(grey, (0, 0), 3.5) + random.normal(0, 3, grey.shape), 0, 255).astype(
            np.uint8
        )
        assert edge_width_px(grey) < 6.0
        assert edge_width_px(blurred) > 8.0


def test_a_camera_set_level_by_hand_is_believed_on_bare_ground() -> None:
    image = np.full_like(picture("s02"), 128)
    x, y = (round(v) for v in truths()["s02"]["ball_px"])
    image[y - 12 : y + 12, x - 12 : x + 12] = picture("s02")[y - 12 : y + 12, x - 12 : x + 12]

    def level_line(**options: Any) -> tuple[Finding, SetupObserver]:
        watch = SetupObserver(Still(points("s02"), image), SetupOptions(height_cm=170.0, **options))
        steps = [watch.step(Frame(k, k / 30, image)) for k in range(40)]
        return next(one for one in steps[-1].findings if one.name == "level"), watch

    without, _ = level_line()
    assert without.state == "warning"
    assert "--level" in without.todo
    told, watch = level_line(level=True)
    assert told.state == "ok"
    assert watch.stand is not None
    assert watch.stand.confidence == 1.0
    assert watch.stand.camera.roll_deg == 0.0
    assert watch.stand.camera.view == "down-the-line"


# --- remembered


STAND = TiltSeen(CameraView(560.0, (320.0, 240.0), "face-on", 1.0, -3.0, 2.0), 0.8, 0.7, 100.0)


def test_a_camera_is_remembered_beside_others(tmp_path: Path) -> None:
    assert recall(tmp_path, "0") is None
    first = remember(tmp_path, "0", WELL, STAND, NOW)
    other = remember(tmp_path, "1", replace(WELL, distance_cm=330.0), STAND, NOW)
    assert recall(tmp_path, "0") == first
    assert recall(tmp_path, "1") == other
    assert first is not None
    assert first.stand.camera == STAND.camera
    assert differs(first, first) == ""
    assert other is not None
    assert "2.8 m away" in differs(first, other)
    assert remember(tmp_path, "2", SetupFacts(), STAND, NOW) is None


@pytest.mark.parametrize("text", ["", "[]", '{"0": 3}', '{"0": {"view": "face-on"}}', '{"0": {"size": [1]}}', "\x00"])
def test_a_damaged_memory_is_no_memory(tmp_path: Path, text: str) -> None:
    (tmp_path / FILE).write_text(text, encoding="utf-8")
    assert recall(tmp_path, "0") is None
    assert remember(tmp_path, "0", WELL, STAND, NOW) == recall(tmp_path, "0")


# --- the command


def test_a_clip_goes_through_to_the_end(clips: Path, own_data_folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["setup", "--clip", str(clips / "T01_good.mp4"), "--no-window"]) == 0
    text = capsys.readouterr().out
    assert "all set: face-on" in text
    assert "Putter:" in text
    assert "its turn can be read" in text
    kept = json.loads((own_data_folder / FILE).read_text(encoding="utf-8"))
    assert kept["clip T01_good.mp4"]["view"] == "face-on"
    truth = json.loads((clips / "T01_good.json").read_text(encoding="utf-8"))["camera"]
    assert kept["clip T01_good.mp4"]["height_cm"] == pytest.approx(100 * truth["eye_m"][2], abs=15)


def test_what_is_left_to_mend_is_said_and_is_exit_code_2(clips: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["setup", "--clip", str(clips / "T08_dtl_good.mp4"), "--view", "face-on", "--no-window"]) == 2
    out = capsys.readouterr().out
    assert "not all is well yet: fix View: this looks down-the-line, not face-on" in out


def test_practice_takes_the_view_that_the_camera_was_set_up_for(
    own_data_folder: Path,
) -> None:
    from trainer.app.camera_setup import as_set_up, remembered
    from trainer.app.context import load_context

    reporter = FakeReporter()
    assert as_set_up(load_context(None), reporter).settings.camera.view == "face-on"
    down = replace(WELL, detected=replace(FACE_ON, view="down-the-line"))
    remember(own_data_folder, "0", down, STAND, NOW)
    assert as_set_up(load_context(None), reporter).settings.camera.view == "down-the-line"
    assert "was set up down-the-line" in reporter.lines[0]
    other = load_context(None, camera__source=1)
    assert remembered(other) is None
    assert as_set_up(other, reporter) == other


def test_two_sources_are_refused(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["setup", "--camera", "0", "--clip", "a.mp4"]) == 2
    assert "give one of them" in capsys.readouterr().err


@pytest.mark.parametrize(
    "wrong", [{"view": "sideways"}, {"distance_cm": "far"}, {"size": [640, 480, 3]}, {"pitch_deg": None}]
)
def test_a_camera_noted_wrongly_is_not_remembered(tmp_path: Path, wrong: dict[str, object]) -> None:
    remember(tmp_path, "0", WELL, STAND, NOW)
    kept = json.loads((tmp_path / FILE).read_text(encoding="utf-8"))
    assert recall(tmp_path, "0") is not None
    (tmp_path / FILE).write_text(json.dumps({"0": {**kept["0"], **wrong}}), encoding="utf-8")
    assert recall(tmp_path, "0") is None
