"""Drills: the bundled ones, the strict reading of any, and a drill under way."""

from __future__ import annotations

import inspect
from itertools import pairwise
from pathlib import Path
from typing import Mapping, Sequence

import numpy as np
import pytest

from trainer.coaching import drill_words as words
from trainer.coaching import drills
from trainer.coaching.verdict import Verdict
from trainer.domain.record import SIGNAL_NAMES, Events, Kind, Measure, Signals
from trainer.domain.verdict import FAULT_NAMES, Fault
from trainer.errors import SettingsError
from trainer.resources import data_path
from trainer.settings.document import drill_keys
from trainer.settings.drill_file import GOALS, Drill, drill_of, known_drills, load_drill
from trainer.settings.limits import Limits
from trainer.settings.load import read_file
from trainer.stroke import measures as measures_module
from trainer.stroke.hands_past_leg import hands_past_leg

BUNDLED = data_path("config", "drills")
IDS = sorted(known_drills([BUNDLED]))
HEAD = "[drill]\nname = 'N'\ninstruction = 'I'\n"


def made(folder: Path, text: str, drill_id: str = "mine") -> Drill:
    path = folder / f"{drill_id}.toml"
    path.write_text(text, encoding="utf-8")
    return load_drill(drill_id, [folder])


def fault_of(folder: Path, text: str) -> str:
    with pytest.raises(SettingsError) as caught:
        made(folder, text)
    assert "\n" not in str(caught.value)
    return str(caught.value)


def seen(**values: float) -> dict[str, Measure]:
    out = {name: Measure(value, "x", 0.9) for name, value in values.items()}
    out.setdefault("head_turn_deg", Measure(1.0, "deg", 0.9))
    return out


def fault(name: str) -> Fault:
    return Fault(name, 1.0, 20.0, "deg", 12.0)


def after(
    run: drills.Run,
    kind: Kind,
    measures: Mapping[str, Measure],
    faults: Sequence[Fault],
    rolled_m: float | None = None,
) -> drills.Run:
    """All that could be faulted was surely seen."""
    return drills.after(run, kind, measures, Verdict(tuple(faults)), rolled_m)


def test_all_the_wanted_drills_are_there() -> None:
    assert set(IDS) == {
        "hold-then-look",
        "hands-carry-on",
        "hands-through",
        "rehearsal-then-ball",
        "unhurried-backstroke",
        "still-head",
        "posture-hold",
        "ladder",
        "distance-ladder",
        "silent-test",
    }


@pytest.mark.parametrize("drill_id", IDS)
def test_bundled_drills_load_and_lead_on(drill_id: str) -> None:
    drill = load_drill(drill_id, [BUNDLED])
    assert drill.head.next in (*IDS, "")
    assert drill.head.instruction.count("\n") == 0
    if drill_id != "silent-test":  # every block ends with a short test in silence
        assert drill.block.silent_strokes >= 4


def test_every_goal_is_a_measure_that_strokes_have() -> None:
    source = inspect.getsource(measures_module)
    assert all(f'"{name}"' in source for name in GOALS)


def test_the_page_of_keys_is_up_to_date() -> None:
    assert (BUNDLED / "README.md").read_text(encoding="utf-8") == drill_keys()


def test_all_faults_at_once_with_lines_and_nearest_keys(tmp_path: Path) -> None:
    line = fault_of(
        tmp_path,
        "[drill]\nname = 'N'\ninstrucion = 'I'\n[block]\nstrokes = 0\n[pass]\ngood = 9\nof = 8\n[goals.hold_sec]\n"
        "at_least = 1\n[ladder]\nback_cm = [12, 500]\n",
    )
    for part in (
        "6 faults: ",
        "mine.toml: line 3: drill.instrucion: unknown key, did you mean drill.instruction?",
        "drill.instruction: is missing; a text of 1 to 120 letters",
        "line 5: block.strokes: must be a whole number from 1 to 200 strokes, not 0",
        "line 7: pass.good: 9 of the last 8 cannot be",
        "line 9: goals.hold_sec: unknown key, did you mean goals.hold_s?",
        "line 12: ladder.back_cm: every length must be from 3 to 120 cm",
    ):
        assert part in line, line


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        ("", "drill: is missing"),
        (HEAD + "[goals.hold_s]\nat_least = 3\nat_most = 2", "3 is above at_most 2"),
        (HEAD + "measures = ['speed']", "no measure 'speed'"),
        (HEAD + "[feedback]\nschedule = 'now'", 'must be one of "every"'),
        (HEAD + "[pass]\nfaults = ['yips']", "must be a list of faults"),
        (HEAD + "[limits.sway]\nlimit_cm = 99", "must be a number from 0.5 to 20 cm"),
        ("[drill]\nname = 'N'\ninstruction = 'a\\nb'", "must be a text of 1 to 120 letters"),
        (
            HEAD + "measures = ['hold_s', 'sway_cm', 'lift_cm', 'back_cm', 'hold_s', 'recoil_cm', 'sway_cm']",
            "at most 6, not 7",
        ),
        (HEAD + "[ladder]\nback_cm = [12, 2, 130]", "every length must be from 3 to 120 cm, not 2"),
        (HEAD + "[ladder]\ndistances_m = [0.2]", "every distance must be from 0.5 to 25 m, not 0.2"),
        (HEAD + "[ladder]\ndistances_m = [2, 2.0]", "each distance once"),
        (HEAD + "[ladder]\ndistances_m = [2]", "ladder.order: one distance cannot be at random"),
        (
            HEAD + "[ladder]\ndistances_m = [2, 3]\nback_cm = [20]",
            "line 5: ladder.distances_m: lengths and distances at once",
        ),
        ("drill_id = 'x'\n" + HEAD, "line 1: drill_id: unknown key"),
    ],
)
def test_senseless_drills_are_refused(tmp_path: Path, text: str, wanted: str) -> None:
    text = text.replace("'a\\nb'", '"a\\nb"')
    assert wanted in fault_of(tmp_path, text)


def test_a_good_stroke_may_have_to_be_without_any_fault(tmp_path: Path) -> None:
    every = ", ".join(f"'{name}'" for name in FAULT_NAMES)
    assert made(tmp_path, HEAD + f"[pass]\nfaults = [{every}]\n").rule.faults == list(FAULT_NAMES)


def test_an_id_is_looked_up_and_never_a_path(tmp_path: Path) -> None:
    inside = tmp_path / "drills"
    inside.mkdir()
    (tmp_path / "secret.toml").write_text(HEAD, encoding="utf-8")
    (inside / "mine.toml").write_text(HEAD, encoding="utf-8")
    for name in ("../secret", str(tmp_path / "secret"), "CON", "x" * 300, ""):
        with pytest.raises(SettingsError, match="no drill"):
            load_drill(name, [inside])
    with pytest.raises(SettingsError, match="did you mean mine"):
        load_drill("mien", [inside])


def test_a_coachs_drill_takes_the_place_of_the_bundled_one(tmp_path: Path) -> None:
    (tmp_path / "ladder.toml").write_text(HEAD, encoding="utf-8")
    assert load_drill("ladder", [BUNDLED, tmp_path]).head.name == "N"
    assert load_drill("still-head", [BUNDLED, tmp_path]).head.name == "Still head"


def test_a_drills_limits_hold_over_the_students(tmp_path: Path) -> None:
    drill = made(tmp_path, HEAD + "[limits.short_hold]\nlimit_s = 2.5\n[limits.sway]\non = false\n")
    limits = drill.limits(Limits())
    assert (limits.short_hold.value, limits.short_hold.on) == (2.5, True)
    assert (limits.sway.on, limits.sway.value) == (False, 3.0)
    assert limits.lift == Limits().lift


def test_eight_of_the_last_ten_then_the_silent_test() -> None:
    run = drills.Run(load_drill("hold-then-look", [BUNDLED]))
    for i in range(20):
        assert (run.stage, run.number, run.wanted) == ("block", i + 1, "ball")
        run = after(run, "ball", seen(), [fault("early_look")] if i < 12 else [])
        assert run.passed == (i == 19)
    for _ in range(5):
        assert run.stage == "silent"
        run = after(run, "ball", seen(), [])
    assert run.stage == "done"
    assert run.follows == "hands-carry-on"
    block, silent = run.scores()
    assert block is not None
    assert silent is not None
    assert (block.good, block.total, silent.good, silent.total) == (8, 20, 5, 5)
    assert after(run, "ball", seen(), []) is run


def test_not_passed_means_again() -> None:
    run = drills.Run(load_drill("hold-then-look", [BUNDLED]))
    for _ in range(25):
        run = after(run, "ball", seen(), [fault("short_hold")])
    assert not run.passed
    assert run.follows == "hold-then-look"
    assert all(mark.why == ("short hold",) for mark in run.marks)


def test_what_was_not_seen_counts_neither_way() -> None:
    run = drills.Run(load_drill("hands-past-the-leg", [BUNDLED]))
    run = after(run, "ball", seen(), [])
    run = after(run, "ball", {"hands_carry_cm": Measure(4.0, "cm", 0.1)}, [])
    run = after(run, "ball", seen(hands_carry_cm=-3.0), [])
    run = after(run, "ball", seen(hands_carry_cm=4.0), [])
    run = after(run, "rehearsal", seen(hands_carry_cm=4.0), [])
    assert [mark.good for mark in run.marks] == [None, None, False, True]
    assert run.marks[2].why == ("hands carry -3.0, at least -1",)
    hold = drills.Run(load_drill("hold-then-look", [BUNDLED]))
    unseen = drills.after(hold, "ball", {}, Verdict((), ("early_look", "recoil")))
    assert unseen.marks[0] == drills.Mark(None, ("early look not sure",))  # of its own faults
    near = drills.after(hold, "ball", {}, Verdict(too_close=True))
    assert near.marks[0] == drills.Mark(None, ("look too close to call",))
    assert near.scores() == (None, None)  # neither in the numerator nor in the denominator
    hands = drills.Run(load_drill("quiet-hands", [BUNDLED]))
    assert drills.after(hands, "ball", {}, Verdict(too_close=True)).marks[0].good is True  # that drill asks for no look


def test_rehearsal_then_ball_pairs_and_compares_lengths() -> None:
    run = drills.Run(load_drill("rehearsal-then-ball", [BUNDLED]))
    run = after(run, "ball", seen(back_cm=20), [])
    assert run.marks == ()
    assert run.wanted == "rehearsal"
    run = after(run, "rehearsal", seen(back_cm=20), [])
    assert run.wanted == "ball"
    run = after(run, "ball", seen(back_cm=23), [])
    assert run.marks[0].why == ("15% longer than the rehearsal",)
    run = after(after(run, "rehearsal", seen(back_cm=20), []), "ball", seen(back_cm=21), [])
    assert run.marks[1].good is True


def distance_drill(tmp_path: Path, more: str = "") -> Drill:
    text = (
        HEAD
        + f"[block]\nstrokes = 12\nsilent_strokes = 3\n[ladder]\ndistances_m = [2, 4, 6]\n{more}\n[pass]\nfaults = []\n"
    )
    (tmp_path / "far.toml").write_text(text, encoding="utf-8")
    return load_drill("far", [tmp_path])


@pytest.mark.parametrize("seed", range(8))
def test_a_distance_drill_asks_for_marks_at_random_none_twice_running(tmp_path: Path, seed: int) -> None:
    run = drills.Run(distance_drill(tmp_path), seed=seed)
    asked = []
    while run.stage != "done":
        assert run.target_m is not None
        asked.append(run.target_m)
        run = after(run, "ball", {}, [], rolled_m=run.target_m)
    assert run.target_m is None
    assert sorted(asked[:12]) == [2.0] * 4 + [4.0] * 4 + [6.0] * 4
    assert all(a != b for part in (asked[:12], asked[12:]) for a, b in pairwise(part))
    assert run.passed


def test_a_distance_drill_in_blocks(tmp_path: Path) -> None:
    run = drills.Run(distance_drill(tmp_path, 'order = "blocked"'))
    asked = []
    while run.stage == "block":
        asked.append(run.target_m)
        run = after(run, "ball", {}, [], rolled_m=1.0)
    assert asked == [2.0] * 4 + [4.0] * 4 + [6.0] * 4


def test_a_putt_is_good_inside_its_window_and_untold_where_no_distance_is_known(tmp_path: Path) -> None:
    run = drills.Run(distance_drill(tmp_path, 'order = "blocked"'))
    for rolled, good, word in (
        (2.2, True, ""),
        (2.5, False, "long: 2.5 m"),
        (1.5, False, "short"),
        (None, None, "not known"),
    ):
        mark = after(run, "ball", {}, [], rolled_m=rolled).marks[-1]
        assert mark.good is good
        assert word in " ".join(mark.why)


@pytest.mark.parametrize(
    ("ladder", "word"),
    [
        ("distances_m = [2, 40]", "from 0.5 to 25 m"),
        ("distances_m = [2, 2]", "each distance once"),
        ("distances_m = [2]", "at random"),
        ("distances_m = [2, 4]\nback_cm = [20, 30]", "at once"),
        ('distances_m = [2, 4]\norder = "up"', "random"),
    ],
)
def test_senseless_distances_are_refused_in_words(tmp_path: Path, ladder: str, word: str) -> None:
    (tmp_path / "far.toml").write_text(HEAD + f"[ladder]\n{ladder}\n", encoding="utf-8")
    with pytest.raises(SettingsError, match=word):
        load_drill("far", [tmp_path])


def test_a_drill_is_told_in_a_few_lines(tmp_path: Path) -> None:
    run = drills.Run(load_drill("hold-then-look", [BUNDLED]))
    assert words.stroke_line(run) == "Stroke 1 of 20"
    assert words.tally_line(run, 0) == "8 good of 10 pass it"
    assert words.next_line(run, "Quiet hands") == "then 5 strokes in silence"
    for i in range(20):
        run = after(run, "ball", seen(hold_s=1.4), [fault("short_hold")] if i in (3, 4, 5, 6) else [])
        if i == 6:
            assert words.tally_line(run, 7) == "3 of the last 7 good; 8 of 10 pass it"
            assert words.tally_line(run, 3) == "3 of the last 3 good; 8 of 10 pass it"  # later ones were not told
    assert words.stroke_line(run) == "Silent test: stroke 1 of 5"
    assert words.tally_line(run, 20) == "measured, no feedback"
    assert words.block_words(run) == ("Block: 16 of 20 good", "now 5 strokes in silence")
    for i in range(5):
        run = after(run, "ball", seen(hold_s=1.4), [fault("short_hold")] if i == 0 else [])
    assert words.stroke_line(run) == "Passed"
    assert words.tally_line(run, 25) == "block 16 of 20 good, in silence 4 of 5"
    assert words.next_line(run, "Quiet hands") == "next: Quiet hands"


def test_a_silent_drill_says_so_and_tells_nothing_on_the_way() -> None:
    run = drills.Run(load_drill("silent-test", [BUNDLED]))
    assert words.silent(run)
    assert words.stroke_line(run).startswith("Silent test: stroke 1 of ")
    run = after(run, "ball", seen(hold_s=1.4), [])
    assert words.tally_line(run, 1) == "measured, no feedback"
    while run.stage != "done":
        run = after(run, "ball", seen(hold_s=1.4), [])
    assert "good" in words.tally_line(run, 0)


def test_the_ladder_asks_for_one_length_after_another() -> None:
    run = drills.Run(load_drill("ladder", [BUNDLED]))
    wanted = []
    for _ in range(9):
        assert run.length_cm is not None
        wanted.append(run.length_cm)
        run = after(run, "ball", seen(back_cm=run.length_cm + 1), [])
    assert wanted == [12, 18, 24, 30, 36, 30, 24, 18, 12]
    assert all(mark.good for mark in run.marks)
    run = after(run, "ball", seen(back_cm=30), [])
    assert run.marks[-1].good is False


def test_hands_past_the_leg_is_measured_at_the_finish() -> None:
    n = 60
    columns = {name: np.full(n, np.nan) for name in SIGNAL_NAMES}
    time_s = np.arange(n) / 30
    columns["hands_along_px"] = np.linspace(100, 159, n)
    columns["hands_conf"] = np.ones(n)
    columns["lead_ankle_along_px"] = np.full(n, 130.0)
    columns["body_cm_per_px"] = np.full(n, 0.5)
    events = Events(finish_s=50 / 30)
    found = hands_past_leg(Signals(time_s, np.arange(n), columns), events)
    assert found.value == pytest.approx(10.0)
    assert found.confidence == pytest.approx(1.0)
    columns["hands_along_px"] = np.full(n, np.nan)
    unseen = hands_past_leg(Signals(time_s, np.arange(n), columns), events)
    assert unseen.value is None
    assert unseen.reason


def test_a_file_without_the_drills_folder_is_read_the_same(tmp_path: Path) -> None:
    path = tmp_path / "x.toml"
    path.write_text(HEAD, encoding="utf-8")
    assert drill_of(read_file(path), "x").rule.good == 8
