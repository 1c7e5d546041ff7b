"""Files from outside that mean mischief, or met it: a good result, or one line and exit code 2, soon and in little memory."""

from __future__ import annotations

import atexit
import json
import random
import resource
import shutil
import sqlite3
import tempfile
import time
from contextlib import closing, suppress
from dataclasses import replace
from datetime import datetime, timezone
from functools import cache
from pathlib import Path
from typing import Callable, Iterator, Sequence

import cv2
import numpy as np

from tests.bench.campaign.checks import caught, spoken
from tests.bench.campaign.forked import Child, warm
from tests.bench.campaign.mutate import ODD, SPOILS, bytes_of, clip_of, json_of, text_of
from tests.bench.campaign.practising import QuickStage
from tests.support.paths import DATA
from tests.support.practice_stage import FPS, Watches, stroke
from trainer.app.devices import open_source
from trainer.app.practice.practice import Machine
from trainer.camera_setup.camera_memory import differs, recall, recall_sound, remember, remember_sound
from trainer.camera_setup.setup_findings import SetupFacts
from trainer.commands.cli import _guarded
from trainer.commands.practice import PracticeOptions, practise
from trainer.domain.observation import Frame, Observation
from trainer.resources import data_path
from trainer.store.database import FILE_NAME
from trainer.stroke.click_delay import Delay, expected

FILES, COMMANDS, LONGEST_S, MOST_BYTES = 50, 2, 10.0, 500e6
EACH = f"{FILES} files"
BEGINS, DEAR_SHARE = "begins ", 0.05  # of the files that are read by the one dear command
Command = tuple[str, ...] | Callable[[Path], int]
Kind = Callable[[random.Random, Path], Sequence[Command]]
RELEASE = DATA / "release_0_1"
READERS = (
    ("strokes",),
    ("students", "list"),
    ("students", "show", "Robin"),
    ("progress", "--student", "Robin"),
    ("limits", "--student", "Robin", "--no-window"),
    ("limits", "--student", "Robin", "--history"),
    ("distance", "putts", "--student", "Robin"),
    ("report", "--student", "Robin", "--out", "report.html"),
    ("review", "--student", "Robin", "--numbers"),
    ("review", "--student", "Robin", "--still", "impact", "--out", "still.png"),
    ("students", "export", "Robin", "--out", "again.zip"),
    ("drills", "list"),
    ("posture", "--student", "Robin", "--list"),
)


def one_round(seed: int, folder: Path, files: int = FILES) -> list[str]:
    """Files of one kind, one after the other in one process, each in a fresh data folder."""
    kind = KINDS[seed % len(KINDS)]
    warm()
    child = Child(lambda: _try_files(random.Random(seed), kind, folder, files))
    gone = child.wait(files * LONGEST_S)
    if not gone:
        child.kill()
    at, *found = _told(child.out)
    if not gone:
        found.append(f"{at}: did not end")
    elif child.code != 0:
        found.append(f"{at}: died with {child.code}: {child.err[-300:]}")
    child.close()
    return found


def _told(out: str) -> list[str]:
    """The last file and command begun, then what was found."""
    lines = out.splitlines()
    begun = [line[len(BEGINS) :] for line in lines if line.startswith(BEGINS)]
    return [begun[-1] if begun else "nothing", *(line for line in lines if not line.startswith(BEGINS))]


def _try_files(rng: random.Random, kind: Kind, folder: Path, files: int) -> int:
    size = int(Path("/proc/self/statm").read_text().split()[0]) * resource.getpagesize()
    resource.setrlimit(resource.RLIMIT_AS, (size + 4 * int(MOST_BYTES),) * 2)  # the machine is not harmed
    for k in range(files):
        data = folder / f"{k}"
        shutil.copytree(RELEASE / "data", data)
        first, *others = kind(rng, data)
        more = [command for command in others if "report" not in command or rng.random() < DEAR_SHARE]
        for command in [first, *rng.sample(more, min(COMMANDS, len(more)))]:
            said = f"{kind.__name__[1:]} {k}: {' '.join(command[:2]) if isinstance(command, tuple) else 'practice'}"
            print(f"{BEGINS}{said}", flush=True)
            for fault in _tried(data, command):
                print(f"{said}: {fault}", flush=True)
        shutil.rmtree(data)
    return 0


def _tried(data: Path, command: Command) -> Iterator[str]:
    """What is wrong with how one command ended."""
    Path("/proc/self/clear_refs").write_text("5")  # the greatest size is counted from here
    before, begun = _most_bytes(), time.process_time()  # what else runs on the machine does not count
    code, _, err = caught(lambda: command(data)) if callable(command) else spoken("--data-folder", str(data), *(
        word if "." not in word or word.startswith("/") else str(data / word) for word in command))  # fmt: skip
    lines = [line for line in err.splitlines() if "damaged and left out" not in line]
    if code not in (0, 2) or "fault of this program" in err:
        yield f"exit code {code}: {err.strip()[-400:]!r}"
    elif code == 2 and not callable(command) and command[:2] == ("students", "import") and len(lines) != 1:
        yield f"{len(lines)} lines: {lines[:3]}"
    if (took := time.process_time() - begun) > LONGEST_S:
        yield f"took {took:.0f} s"
    if (grown := _most_bytes() - before) > MOST_BYTES:
        yield f"took {grown / 1e6:.0f} MB"


def _most_bytes() -> int:
    """The greatest size of this process since it was last set back."""
    (line,) = (line for line in Path("/proc/self/status").read_text().splitlines() if line.startswith("VmHWM"))
    return 1024 * int(line.split()[1])


def _spoil(path: Path, rng: random.Random) -> None:
    path.write_bytes(SPOILS[path.suffix[1:]](path.read_bytes(), rng))


def _export(rng: random.Random, data: Path) -> Sequence[Command]:
    """Taken in where nobody is, then read in every way."""
    shutil.rmtree(data)
    data.mkdir()
    bad = data / "bad.zip"
    good = rng.choice(["robin-with-strokes.handover.zip", "robin.handover.zip"])
    bad.write_bytes(SPOILS["zip"]((RELEASE / good).read_bytes(), rng))
    return (("students", "import", "bad.zip"), *READERS)


def _export_of_this_version(rng: random.Random, data: Path) -> Sequence[Command]:
    """The same of an export made now, with postures and all that there is by now, over the student who is there."""
    code, _, _ = spoken("--data-folder", str(data), "students", "export", "Robin", "--out", str(data / "bad.zip"))
    assert code == 0
    _spoil(data / "bad.zip", rng)
    if rng.random() < 0.7:
        (data / FILE_NAME).unlink()
        shutil.rmtree(data / "students")
    return (("students", "import", "bad.zip"), *READERS)


def _database_bytes(rng: random.Random, data: Path) -> Sequence[Command]:
    _spoil(data / FILE_NAME, rng)
    return READERS


def _database_cells(rng: random.Random, data: Path) -> Sequence[Command]:
    """Cells of a sound database that hold what they cannot."""
    assert spoken("--data-folder", str(data), "strokes")[0] == 0  # brought up to date
    with closing(sqlite3.connect(data / FILE_NAME)) as db:
        db.execute("PRAGMA foreign_keys = OFF")
        tables = [n for (n,) in db.execute("SELECT name FROM sqlite_master WHERE type = 'table'")]
        for _ in range(rng.randint(1, 3)):
            table = rng.choice(tables)
            column = rng.choice([row[1] for row in db.execute(f"PRAGMA table_info({table})")])
            value = rng.choice(
                [v for v in ODD if isinstance(v, (str, float, bool, bytes)) and v != "\ud800"] + [b"\0\xff"]
            )
            key = WITHOUT_ROWID.get(table, "rowid")
            some = f"SELECT {key} FROM {table} ORDER BY random() LIMIT {rng.choice([1, 1, 3])}"
            with suppress(sqlite3.IntegrityError):
                db.execute(f"UPDATE {table} SET {column} = ? WHERE {key} IN ({some})", (value,))
        db.commit()
    return READERS


WITHOUT_ROWID = {
    **dict.fromkeys(("events", "measures", "faults", "cues"), "stroke_id"),
    "distance_players": "player",
    "limit_changes": "uid",
    "reasons_shown": "student",
    "homework": "uid",
    "lessons": "uid",
    "lesson_tries": "uid",
    "outcomes": "stroke",
    "removed_strokes": "stroke",
    "student_ids": "id",
}


def _texts(rng: random.Random, data: Path) -> Sequence[Command]:
    """Settings, a student, a drill, what is remembered of cameras, a posture."""
    paths = [p for p in data.rglob("*") if p.suffix in (".toml", ".json", ".jpg")]
    for path in rng.sample(paths, rng.choice([1, 1, 2])):
        _spoil(path, rng)
    more = (
        ("students", "set", "Robin", "sway.limit_cm=2.2"),
        ("drills", "show", "quiet-finish"),
        ("posture", "--student", "Robin", "--compare", "first", "last"),
        ("students", "erase", "Robin", "--yes"),
    )
    return (*READERS, *more)


@cache
def _tiny_clips() -> dict[str, bytes]:
    """Sound ones, of each kind that can be written here."""
    out = {}
    with tempfile.TemporaryDirectory() as folder:
        for ending, code in (("mp4", "mp4v"), ("avi", "MJPG")):
            path = Path(folder) / f"clip.{ending}"
            writer = cv2.VideoWriter(str(path), cv2.VideoWriter.fourcc(*code), FPS, (96, 64))
            noise = np.random.default_rng(1)
            for _ in range(12):
                writer.write(noise.integers(0, 256, (64, 96, 3), dtype=np.uint8))
            writer.release()
            out[ending] = path.read_bytes()
    return out


class _Stands(Watches):
    """A player at address whatever the picture."""

    def look(self, frame: Frame, found: object) -> Observation:
        return replace(self._seen[0], index=frame.index, time_s=frame.time_s)


def _clips(rng: random.Random, data: Path) -> Sequence[Command]:
    """Practice on a clip, decoder and loop the real ones, and now and then the whole of it."""
    ending, sound = rng.choice(list(_tiny_clips().items()))
    bad = data / f"bad.{ending}"
    bad.write_bytes(clip_of(sound, rng))

    def practice(base: Path) -> int:
        machine = Machine(
            QuickStage(()).open_devices,
            lambda settings, clip=None, paced=True, folder=None: open_source(settings, clip, False, folder),
            lambda settings: _Stands(stroke()),
            cautions_s=0.0,
        )
        return _guarded(lambda: practise(base, PracticeOptions(clip=bad, window=False), machine))

    whole = [("analyse", bad.name), ("review", bad.name, "--numbers")] if rng.random() < 0.04 else []
    return (practice, *whole)


def _pictures(rng: random.Random, data: Path) -> Sequence[Command]:
    image = cv2.imread(str(DATA / "stills" / "s01.jpg"))
    ending = rng.choice(["jpg", "png", "bmp", "tiff", "webp"])
    bad = data / f"bad.{ending}"
    bad.write_bytes(bytes_of(cv2.imencode(f".{ending}", image)[1].tobytes(), rng))
    return (("posture", "--image", bad.name, "--student", "Robin", *rng.choice([(), ("--save", "--label", "x")])),)


@cache
def _with_postures() -> Path:
    """A data folder with two postures kept. It stays until the process ends."""
    data = Path(tempfile.mkdtemp(prefix="postures-")) / "data"
    atexit.register(shutil.rmtree, data.parent, True)
    shutil.copytree(RELEASE / "data", data)
    for name in ("s01", "s03"):
        posture = ("posture", "--image", str(DATA / "stills" / f"{name}.jpg"), "--student", "Robin", "--save")
        code, _, err = spoken("--data-folder", str(data), *posture)
        assert code == 0, err
    return data


def _postures(rng: random.Random, data: Path) -> Sequence[Command]:
    """Kept postures: their numbers, their pictures."""
    shutil.rmtree(data)
    shutil.copytree(_with_postures(), data)
    kept = [path for path in (data / "students" / "files").rglob("*") if path.suffix in (".json", ".jpg")]
    for path in rng.sample(kept, rng.choice([1, 1, 2])):
        _spoil(path, rng)
    robin = ("--student", "Robin")
    return (
        ("posture", *robin, "--list"),
        ("posture", *robin, "--compare", "first", "last", "--out", "pair.png"),
        ("posture", *robin, "--reference", "last", "--ranges"),
        ("students", "export", "Robin", "--out", "again.zip"),
        ("report", *robin, "--out", "report.html"),
        ("students", "erase", "Robin", "--yes"),
    )


def _settings(rng: random.Random, data: Path) -> Sequence[Command]:
    (data / "settings.toml").write_bytes(text_of(data_path("config", "defaults.toml").read_bytes(), rng))
    return (("students", "show", "Robin"), *READERS)


def _drills(rng: random.Random, data: Path) -> Sequence[Command]:
    """A bundled drill as an own one."""
    sound = rng.choice(sorted(data_path("config", "drills").glob("*.toml")))
    (data / "drills" / "spoilt.toml").write_bytes(text_of(sound.read_bytes(), rng))
    more = [("drills", "show", name) for name in ("spoilt", "quiet-finish")]
    return (("drills", "list"), *more, ("homework", "show", "--student", "Robin"), *READERS)


def _names(rng: random.Random, data: Path) -> Sequence[Command]:
    """Words on the command line."""
    name = "".join(rng.choice(LETTERS) for _ in range(rng.choice([1, 2, 8, 300])))
    return (
        ("students", "add", name),
        ("students", "show", name),
        ("students", "rename", "Robin", name),
        ("students", "export", "Robin", "--out", f"{data}/{name}"),
        ("students", "set", "Robin", f"student.notes={name}"),
        ("students", "set", "Robin", f"{name}=1"),
        ("strokes", "--player", name),
        ("progress", "--student", name),
        ("drills", "show", name),
        ("review", "--student", "Robin", "--numbers", "--stroke", name),
        ("posture", "--student", "Robin", "--compare", name, "last"),
        ("distance", "unit", name, "--student", "Robin"),
        ("report", "--student", name, "--out", f"{data}/r{name}"),
    )


LETTERS = ("a", "R", " ", ".", "..", "/", "\\", "[", "]", "[/]", "=", "-", "--", "é", "e\u0301", "\u202e", "\ud800", "💣",
           "\n", "\x1b[2J", "%s", "{0}", "'", '"', "*", "?", "9" * 40, "CON", "\u200b", "ß", "\t", "\x7f", "~")  # fmt: skip


def _cameras(rng: random.Random, data: Path) -> Sequence[Command]:
    """How a camera stood, read as setting up and posture read it."""
    path = data / "cameras.json"
    kept = json.loads(path.read_text())
    (values,) = kept.values()
    kept["camera 0"] = values
    kept["sound of 0 by m"] = {"at": "now", "delays": [[-0.06, 0.001, 0.003, 30], [-0.061, 0.001, 0.003, 12]]}
    path.write_bytes(json_of(json.dumps(kept).encode(), rng))

    def look(base: Path) -> int:
        return _guarded(lambda: _recalled(base))

    return (look, ("posture", "--student", "Robin", "--list"))


def _recalled(base: Path) -> int:
    expected(recall_sound(base, "0", "m"))
    remember_sound(base, "0", "m", Delay(-0.06, 0.001, 0.003, 30), datetime.now(timezone.utc))
    for camera in ("camera 0", "clip T01_good.mp4", "x"):
        if (known := recall(base, camera)) is not None:
            differs(known, known)
            facts = SetupFacts(distance_cm=known.distance_cm, height_cm=known.height_cm)
            remember(base, camera, facts, known.stand, datetime.now(timezone.utc))
    return 0


KINDS: tuple[Kind, ...] = (
    _export, _export_of_this_version, _database_bytes, _database_cells, _texts,
    _clips, _pictures, _postures, _settings, _drills, _names, _cameras,
)  # fmt: skip
