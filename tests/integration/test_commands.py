"""The commands' own work around a scripted pipeline: what they print, write and keep, also when things break."""

from __future__ import annotations

import json
from contextlib import contextmanager
from dataclasses import replace
from datetime import datetime
from pathlib import Path
from typing import Any, Iterator

import cv2
import jsonschema
import numpy as np
import pytest

from tests.unit.store.test_store import invented_record
from trainer.app import build
from trainer.app.analysis_json import SCHEMA
from trainer.app.context import load_context
from trainer.app.practice import stroke_recorder
from trainer.app.practice.practice import DEMO_PLAYER, demo_context, demo_request, run_practice
from trainer.coaching.verdict import Verdict
from trainer.commands import cli
from trainer.commands.practice import PracticeOptions, practise, this_machine
from trainer.domain.observation import Frame, Observation
from trainer.domain.phases import Phase
from trainer.domain.record import Events, LiveState, StrokeRecord
from trainer.domain.verdict import Cue, Fault
from trainer.errors import CameraError
from trainer.feedback.tones import SilentPlayer
from trainer.live.pipeline import Pipeline
from trainer.live.ports import Devices
from trainer.settings.load import load
from trainer.store.store import Store
from trainer.testing.fakes import FakeReporter, ListSource
from trainer.ui.drawing.window import NoWindow
from trainer.vision.sources.base import MonotonicClock, Source
from trainer.vision.sources.camera import Camera, Patience

FRAMES = 16
EVERY = 6  # frames from one scripted stroke to the next


class NoBody:
    def find(self, image_bgr: Any) -> None:
        return None

    def close(self) -> None:
        return


class ScriptedWatcher:
    body = NoBody()

    def find_body(self, frame: Frame) -> None:
        return None

    def look(self, frame: Frame, found: None) -> Observation:
        return Observation(frame.index, frame.time_s, reasons={"body": "scripted"})

    def close(self) -> None:
        return


class ScriptedTracker:
    """Closes an invented stroke at every sixth frame, and one more when the frames end."""

    def __init__(self) -> None:
        self._seen = 0

    def update(self, observation: Observation) -> LiveState:
        self._seen += 1
        closed = invented_record(self._seen) if self._seen % EVERY == 0 else None
        new = ("takeaway_s",) if self._seen % EVERY == 1 else ()
        return LiveState(observation.time_s, Phase.AWAY, Events(), new, closed=closed)

    def finish(self) -> StrokeRecord | None:
        return invented_record(99)


class ScriptedJudge:
    def update(self, moment: LiveState) -> Cue | None:
        return Cue("early_look", moment.time_s) if moment.new_events else None


@pytest.fixture(autouse=True)
def scripted(monkeypatch: pytest.MonkeyPatch) -> None:
    def pipeline(settings: Any, observer: Any, chooser: Any = None, strokes: int = 0, **_: Any) -> Pipeline:
        verdict = Verdict((Fault("early_look", 0.25, 0.5, "s", 0.0),), (), settings.limits)
        return Pipeline(observer, ScriptedTracker(), ScriptedJudge(), lambda record: verdict, strokes=strokes)

    monkeypatch.setattr(build, "observer", lambda settings, aside=False, body=None: ScriptedWatcher())
    monkeypatch.setattr(build, "pipeline", pipeline)


@pytest.fixture(scope="module")
def clip(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A real video file of moving noise, half a second long."""
    path = tmp_path_factory.mktemp("clip") / "noise.mp4"
    writer = cv2.VideoWriter(str(path), cv2.VideoWriter.fourcc(*"mp4v"), 30.0, (320, 240))
    random = np.random.default_rng(0)
    for _ in range(FRAMES):
        writer.write(random.integers(0, 255, (240, 320, 3), np.uint8))
    writer.release()
    return path


def failed(capsys: pytest.CaptureFixture[str], *arguments: str | Path, code: int = cli.USER_ERROR) -> tuple[str, str]:
    """(the one line on stderr, all of stdout) of a command that must fail."""
    got = cli.run([str(a) for a in arguments])
    out, err = capsys.readouterr()
    assert got == code, err
    assert err.count("\n") == 1, err
    assert "Traceback" not in err
    return err, out


# ---- analyse


def test_analyse_json_to_stdout(capsys: pytest.CaptureFixture[str], clip: Path) -> None:
    assert cli.run(["analyse", str(clip), "--json", "-", "--handedness", "left", "--view", "down-the-line"]) == 0
    captured = capsys.readouterr()
    assert captured.err == ""
    out = json.loads(captured.out)
    jsonschema.validate(out, SCHEMA)
    assert out["clip"] == {
        "name": "noise.mp4",
        "fps": 30.0,
        "frames": FRAMES,
        "width": 320,
        "height": 240,
        "view": "down-the-line",
        "handedness": "left",
    }
    assert [s["index"] for s in out["strokes"]] == [1, 2, 3]
    assert out["strokes"][0]["faults"][0]["name"] == "early_look"
    assert [c["name"] for c in out["strokes"][1]["cues"]] == ["early_look"]
    assert "body not seen in 100% of the frames" in out["warnings"]


def test_analyse_table_and_json_file(capsys: pytest.CaptureFixture[str], clip: Path, tmp_path: Path) -> None:
    target = tmp_path / "out.json"
    assert cli.run(["analyse", str(clip), str(clip), "--json", str(target)]) == 0
    out = capsys.readouterr().out
    assert out.count("noise.mp4: 3 strokes") == 2
    documents = [json.loads(line) for line in target.read_text().splitlines()]
    assert len(documents) == 2
    for document in documents:
        jsonschema.validate(document, SCHEMA)
    assert [p.name for p in tmp_path.iterdir()] == ["out.json"]


def test_a_bad_clip_does_not_cost_the_others(capsys: pytest.CaptureFixture[str], clip: Path, tmp_path: Path) -> None:
    bad = tmp_path / "bad.mp4"
    bad.write_text("no video at all\n" * 500)
    line, out = failed(capsys, "analyse", clip, bad, clip, "--json", "-")
    assert str(bad) in line
    assert "not a video" in line
    assert len(out.splitlines()) == 2


@pytest.mark.parametrize("content", [b"", b"just text\n" * 100, b"\x00\x00\x00\x18ftypmp42" + b"\x00" * 2000])
def test_what_is_no_video(capsys: pytest.CaptureFixture[str], tmp_path: Path, content: bytes) -> None:
    bad = tmp_path / "bad.mp4"
    bad.write_bytes(content)
    for command in (("analyse",), ("practice", "--no-window", "--clip"), ("bench",)):
        line, _ = failed(capsys, *command, bad)
        assert str(bad) in line


def test_no_stroke_says_what_is_missing(
    capsys: pytest.CaptureFixture[str], clip: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(ScriptedTracker, "update", lambda self, seen: LiveState(seen.time_s, Phase.AWAY, Events(), ()))
    monkeypatch.setattr(ScriptedTracker, "finish", lambda self: None)
    assert cli.run(["analyse", str(clip), "--handedness", "left"]) == 0
    assert "no stroke found: nobody is seen" in capsys.readouterr().out


def test_missing_clip(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    for command in (("analyse",), ("practice", "--no-window", "--clip"), ("bench",)):
        line, _ = failed(capsys, *command, tmp_path / "none.mp4")
        assert "none.mp4: no such file" in line


def test_a_clip_cut_short_is_judged_up_to_there(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    path = cut_short(tmp_path)
    line, out = failed(capsys, "analyse", path, "--json", "-")
    assert "cut short or damaged" in line
    report = json.loads(out)
    jsonschema.validate(report, SCHEMA)
    assert report["strokes"]
    assert any("cut short" in warning for warning in report["warnings"])


def cut_short(folder: Path) -> Path:
    """A file whose index promises more frames than it holds."""
    path = folder / "short.avi"
    writer = cv2.VideoWriter(str(path), cv2.VideoWriter.fourcc(*"MJPG"), 30.0, (320, 240))
    random = np.random.default_rng(1)
    for _ in range(60):
        writer.write(random.integers(0, 255, (240, 320, 3), np.uint8))
    writer.release()
    whole = path.read_bytes()
    path.write_bytes(whole[: len(whole) * 4 // 10])
    return path


def test_analyse_options_that_cannot_be(capsys: pytest.CaptureFixture[str], clip: Path, tmp_path: Path) -> None:
    line, _ = failed(capsys, "analyse", clip, clip, "--annotated", tmp_path / "o.mp4")
    assert "one video needs one clip" in line
    line, _ = failed(capsys, "analyse", clip, "--json", tmp_path / "no" / "out.json")
    assert "cannot be written" in line
    line, _ = failed(capsys, "analyse", clip, "--annotated", tmp_path / "no" / "out.mp4")
    assert "no such folder" in line
    assert not list(tmp_path.iterdir())


def test_annotated_video(capsys: pytest.CaptureFixture[str], clip: Path, tmp_path: Path) -> None:
    target = tmp_path / "seen.mp4"
    assert cli.run(["analyse", str(clip), "--annotated", str(target)]) == 0
    capture = cv2.VideoCapture(str(target))
    count = 0
    while capture.read()[0]:
        count += 1
    capture.release()
    assert count >= FRAMES


# ---- practice


def kept(folder: Path) -> list[int]:
    with Store(folder, "1") as store:
        return [line.number for line in reversed(store.recent(99))]


def test_practice_on_a_clip_keeps_every_stroke(
    capsys: pytest.CaptureFixture[str], clip: Path, own_data_folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", "160")
    assert cli.run(["practice", "--no-window", "--clip", str(clip)]) == 0
    captured = capsys.readouterr()
    assert captured.err == ""
    assert "stroke 1 (ball), held 0.7 s: early look" in captured.out
    log = (own_data_folder / "log" / "putting-trainer.log").read_text(encoding="utf-8")
    assert f": {FRAMES} frames" in log
    assert kept(own_data_folder) == [1, 2, 3]
    with Store(own_data_folder, "1") as store:
        stroke = store.stroke(2)
    assert (stroke.source, stroke.player) == ("noise.mp4", "player")
    assert stroke.cues[0].name == "early_look"
    assert stroke.settings == load()


def test_a_stroke_is_kept_before_it_is_told(clip: Path, own_data_folder: Path) -> None:
    seen: list[tuple[str, int]] = []

    class Reporter(FakeReporter):
        def report(self, line: str) -> None:
            if line.startswith("stroke "):
                with Store(own_data_folder, "1") as other:
                    seen.append((line.split(" (")[0], len(other.recent(99))))

    @contextmanager
    def devices(*_: object) -> Iterator[Devices]:
        yield Devices(NoWindow(), SilentPlayer(), Reporter())

    assert practise(None, PracticeOptions(clip=clip), replace(this_machine(NoWindow()), devices=devices)) == 0
    assert seen == [("stroke 1", 1), ("stroke 2", 2), ("stroke 3", 3)]


def test_camera_and_clip_at_once(capsys: pytest.CaptureFixture[str], clip: Path) -> None:
    line, _ = failed(capsys, "practice", "--camera", "0", "--clip", clip)
    assert "give one of them" in line


def test_missing_camera(capsys: pytest.CaptureFixture[str]) -> None:
    line, _ = failed(capsys, "practice", "--no-window", "--camera", "/dev/video97")
    assert "/dev/video97" in line
    line, _ = failed(capsys, "practice", "--no-window", "--camera", "the red one")
    assert "camera 'the red one'" in line


class HeldCapture:
    """Opens, as a camera does that another program holds, but gives no picture."""

    def isOpened(self) -> bool:
        return True

    def get(self, what: int) -> float:
        return 0.0

    def set(self, what: int, value: float) -> bool:
        return False

    def read(self) -> tuple[bool, None]:
        return False, None

    def release(self) -> None:
        return


def without_window(source: Source) -> None:
    """Practice on that source, as the command does it."""
    opens = replace(this_machine(NoWindow()), source=lambda settings, clip=None, paced=True, folder=None: source)
    practise(None, PracticeOptions(window=False), opens)


def test_busy_camera() -> None:
    camera = Camera(0, MonotonicClock(), opener=lambda address: HeldCapture(), patience=Patience(0.05))
    with pytest.raises(CameraError, match="another program may hold it"):
        without_window(camera)


def pictures(count: int) -> Iterator[Frame]:
    random = np.random.default_rng(2)
    for i in range(count):
        yield Frame(i, i / 30, random.integers(0, 255, (120, 160, 3), np.uint8))


def test_camera_lost_in_mid_stroke(capsys: pytest.CaptureFixture[str], own_data_folder: Path) -> None:
    lost = CameraError("has given no picture for 3 s", "camera 0", "check the cable")
    with pytest.raises(CameraError, match="check the cable"):
        without_window(ListSource(pictures(8), failure=lost))
    assert kept(own_data_folder) == [1, 2]  # the one that was over, and the one under way
    assert "stroke 2" in capsys.readouterr().out


def test_no_sound_device(capsys: pytest.CaptureFixture[str], clip: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("SDL_AUDIODRIVER", "none_such")
    monkeypatch.setenv("ALSA_CONFIG_PATH", "/dev/null")
    assert cli.run(["practice", "--no-window", "--clip", str(clip)]) == 0
    captured = capsys.readouterr()
    assert captured.err == ""
    assert captured.out.count("no sound") == 1


def test_a_named_sound_that_cannot_play(
    capsys: pytest.CaptureFixture[str], clip: Path, own_data_folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("SDL_AUDIODRIVER", "none_such")
    (own_data_folder / "settings.toml").write_text('[sound]\nbackend = "mixer"\n')
    line, _ = failed(capsys, "practice", "--no-window", "--clip", clip)
    assert "no sound device" in line


def test_no_display(capsys: pytest.CaptureFixture[str], clip: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("SDL_VIDEODRIVER", "none_such")
    assert cli.run(["practice", "--clip", str(clip)]) == 0
    captured = capsys.readouterr()
    assert captured.err == ""
    assert captured.out.count("no display") == 1
    assert "stroke 3" in captured.out


def test_record_that_cannot_be_opened(capsys: pytest.CaptureFixture[str], clip: Path, tmp_path: Path) -> None:
    place = tmp_path / "file"
    place.write_text("mine")
    line, out = failed(capsys, "--data-folder", place, "practice", "--no-window", "--clip", clip)
    assert "is a file, not a folder" in line
    assert out == ""


def test_full_disk_in_mid_practice(
    capsys: pytest.CaptureFixture[str], clip: Path, own_data_folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What was announced is on the record; what could not be kept is not announced."""
    save = stroke_recorder.StrokeRecorder.save

    def filling(self: stroke_recorder.StrokeRecorder, *stroke: Any) -> datetime:
        kept_at = save(self, *stroke)
        pages = self._store._db.execute("PRAGMA page_count").fetchone()[0]
        self._store._db.execute(f"PRAGMA max_page_count = {pages}")
        return kept_at

    monkeypatch.setattr(stroke_recorder.StrokeRecorder, "save", filling)
    line, out = failed(capsys, "practice", "--no-window", "--clip", clip)
    assert "the disk is full" in line
    assert "stroke 1 (ball)" in out
    assert "stroke 2 (ball)" not in out
    assert kept(own_data_folder) == [1]


# ---- demo, bench


def test_demo_is_its_own_player(capsys: pytest.CaptureFixture[str], clip: Path, own_data_folder: Path) -> None:
    (own_data_folder / "settings.toml").write_text('[player]\nhandedness = "left"\n[limits.recoil]\nlimit_cm = 9.0\n')
    request = replace(demo_request(window=False), clip=clip)
    assert run_practice(demo_context(load_context(None)), request, this_machine(NoWindow())).failure is None
    with Store(own_data_folder, "1") as store:
        stroke = store.stroke(1)
    assert stroke.player == DEMO_PLAYER
    assert stroke.settings.player.handedness == "right"
    assert stroke.settings.limits.recoil.value == 3.0


def test_bench_prints_both_and_the_ratio(capsys: pytest.CaptureFixture[str], clip: Path) -> None:
    assert cli.run(["bench", str(clip), "--rounds", "2"]) == 0
    out = capsys.readouterr().out
    assert f"{FRAMES} frames, each loop 2 times in turn" in out
    bare, everything, ratio = (float(line.split(":")[1].split()[0]) for line in out.splitlines()[1:4])
    assert "processor time a frame" in out.splitlines()[4]
    assert ratio == pytest.approx(everything / bare, rel=0.05)  # of rounded figures
