"""Drills: the bundled ones, the strict reading of any, and a drill under way."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date, timedelta
from itertools import pairwise
from pathlib import Path
from typing import Mapping, Sequence

import numpy as np
import pytest

from trainer.coaching import drill_words as words
from trainer.coaching import drills
from trainer.coaching.pass_rule import DayTest, SilentTest, passed_for_good
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
        "one-ball",
        "count-back",
        "start-again",
        "choose-and-guess",
        "choose-up-and-down",
    }


@pytest.mark.parametrize("drill_id", IDS)
def test_bundled_drills_load_and_lead_on(drill_id: str) -> None:
    drill = load_drill(drill_id, [BUNDLED])
    assert drill.head.next in (*IDS, "")
    assert drill.head.instruction.count("\n") == 0
    silent = drill.feedback.schedule == "silent"
    if drill_id != "start-again" and not drill.ladder.guess:  # a consequence is told, and so is a guess
        assert silent or drill.block.silent_strokes >= 4


def test_every_goal_is_a_measure_that_strokes_have() -> None:
    source = "".join(path.read_text(encoding="utf-8") for path in Path(measures_module.__file__).parent.glob("*.py"))
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
        "line 7: pass.good: 9 of 8 cannot be",
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


DAY = date(2026, 1, 5)


def one_run(run: drills.Run, block: Sequence[bool], silent: Sequence[bool | None]) -> drills.Run:
    """good or not, stroke by stroke; None: the look was too close to call."""
    for good in (*block, *silent):
        run = drills.after(
            run, "ball", seen(), Verdict(() if good in (True, None) else (fault("early_look"),), too_close=good is None)
        )
    return run


def next_day(run: drills.Run, days: int = 1) -> drills.Run:
    return drills.Run(run.drill, earlier=run.days, today=run.today + timedelta(days=days))


def hold_then_look() -> drills.Run:
    return drills.Run(load_drill("hold-then-look", [BUNDLED]), today=DAY)


def test_good_while_told_passes_nothing_in_silence() -> None:
    run = one_run(hold_then_look(), [True] * 20, [True] * 11 + [False] * 3)
    assert run.stage == "done"
    assert run.passed_today is False
    assert run.follows == "hold-then-look"
    block, silent = run.scores()
    assert block is not None
    assert silent is not None
    assert (block.good, block.total, silent.good, silent.total) == (20, 20, 11, 14)
    assert drills.after(run, "ball", seen(), Verdict()) is run


def test_passed_in_silence_on_two_test_days_running() -> None:
    bad_block = [False] * 20
    run = one_run(hold_then_look(), bad_block, [True] * 12 + [False] * 2)
    assert (run.passed_today, run.passed, run.follows) == (True, False, "hands-carry-on")
    assert words.verdict_words(run) == "Passed today in silence"
    assert words.standing_line(run) == "pass it again on another day: then it is passed for good"
    again = next_day(run, 3)
    assert (again.passed_today, again.passed) == (None, False)
    assert words.standing_line(again) == "passed 5 Jan; 12 good of 14 in silence again today pass it for good"
    failed = one_run(again, bad_block, [False] * 14)
    third = one_run(next_day(failed), bad_block, [True] * 14)
    assert (third.passed_today, third.passed) == (True, False)  # the test between was failed
    fourth = one_run(next_day(third), bad_block, [True] * 14)
    assert fourth.passed
    assert words.verdict_words(fourth) == "Passed for good"
    later = one_run(next_day(fourth), bad_block, [False] * 14)
    assert later.passed  # what was passed stays
    assert words.standing_line(later) == "passed for good 10 Jan"


def test_a_test_day_that_came_to_no_end_stands_for_nothing() -> None:
    test = SilentTest(14, 12)
    passed, failed, left_off = DayTest(DAY, 12, 14), DayTest(DAY, 2, 14), DayTest(DAY, 3, 4)
    last = replace(passed, day=DAY + timedelta(days=5))
    assert passed_for_good((passed, left_off, last), test) == last.day
    assert passed_for_good((passed, failed, last), test) is None
    assert passed_for_good((left_off, last), test) is None


def test_the_first_test_of_a_day_counts() -> None:
    run = one_run(hold_then_look(), [True] * 20, [False] * 14)
    again = one_run(next_day(run, 0), [True] * 20, [True] * 14)
    assert again.passed_today is False
    assert words.standing_line(again) == "12 good of 14 in silence pass it; the first test of a day counts"
    ended = one_run(hold_then_look(), [True] * 20, [False, False])  # and left off
    on = one_run(next_day(ended, 0), [True] * 20, [True] * 11 + [False] + [True] * 2)
    assert on.passed_today is False  # its strokes were the day's first ones
    assert one_run(next_day(ended), [True] * 20, [True] * 14).passed_today is True


def test_what_cannot_be_judged_is_made_again_and_stands_beside() -> None:
    run = one_run(hold_then_look(), [True] * 20, [None] * 3 + [True] * 13)
    assert (run.stage, run.number, run.passed_today) == ("silent", 14, None)
    run = one_run(run, [], [True])
    assert (run.stage, run.passed_today, run.unjudged()) == ("done", True, (0, 3))
    assert words.done_line(run) == "block 20 of 20 good, in silence 14 of 14 good (3 not judged)"
    blind = one_run(hold_then_look(), [True] * 20, [None] * 21)
    assert (blind.stage, blind.passed_today) == ("done", None)
    assert words.verdict_words(blind) == "Not judged: too few seen"


def test_a_drill_without_a_silent_test_goes_on_and_is_not_passed(tmp_path: Path) -> None:
    drill = made(tmp_path, HEAD + "next = 'ladder'\n[block]\nstrokes = 2\nsilent_strokes = 0\n")
    run = one_run(drills.Run(drill), [True] * 2, [])
    assert (run.stage, run.passed, run.follows) == ("done", False, "ladder")
    assert words.stroke_line(run) == "Over"
    assert words.standing_line(run) == "it has no silent test, so nothing passes it"


@pytest.mark.parametrize("drill_id", IDS)
def test_no_instruction_asks_to_wait_for_what_some_strokes_of_the_drill_do_not_have(drill_id: str) -> None:
    """Sounds, signs and marks come on some strokes only, and on none of the silent test."""
    drill = load_drill(drill_id, [BUNDLED])
    asked = drill.head.instruction.lower()
    assert not re.search(r"(?<!where )\bthe (chime|tone|bell|beep|mark|bar|sign)\b", asked), asked


def test_an_old_file_s_five_silent_strokes_are_as_many_as_its_goal_takes(tmp_path: Path) -> None:
    drill = made(tmp_path, HEAD + "[block]\nsilent_strokes = 5\n[pass]\ngood = 6\nof = 8\n")
    test = drills.test_of(drill)
    assert test is not None
    assert (test.good, test.strokes) == (12, 15)


def test_what_was_not_seen_counts_neither_way() -> None:
    run = drills.Run(load_drill("hands-past-the-leg", [BUNDLED]))
    run = after(run, "ball", seen(), [])
    run = after(run, "ball", {"hands_carry_cm": Measure(4.0, "cm", 0.1)}, [])
    run = after(run, "ball", seen(hands_carry_cm=-3.0), [])
    run = after(run, "ball", seen(hands_carry_cm=4.0), [])
    run = after(run, "rehearsal", seen(hands_carry_cm=4.0), [])
    assert [mark.good for mark in run.marks] == [None, None, False, True]
    assert run.marks[2].why == ("hands through -3.0, at least -1",)
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
    assert len(asked) == 12 + 14
    assert all(a != b for part in (asked[:12], asked[12:]) for a, b in pairwise(part))
    assert run.passed_today


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
    assert words.tally_line(run, 0) == "12 good of 14 in silence pass it, on two days running"
    assert words.next_line(run, "Quiet hands") == "then 14 strokes in silence"
    for i in range(20):
        run = after(run, "ball", seen(hold_s=1.4), [fault("short_hold")] if i in (3, 4, 5, 6) else [])
        if i == 6:
            assert words.tally_line(run, 7) == "3 of 7 good"
            assert words.tally_line(run, 3) == "3 of 3 good"  # later ones were not told
    assert words.stroke_line(run) == "Silent test: stroke 1 of 14"
    assert words.tally_line(run, 20) == "measured, no feedback"
    assert words.block_words(run) == ("Block: 16 of 20 good", "now 14 strokes in silence")
    for i in range(14):
        run = after(run, "ball", seen(hold_s=1.4), [fault("short_hold")] if i == 0 else [])
    assert words.stroke_line(run) == "Passed today in silence"
    assert words.tally_line(run, 34) == "block 16 of 20 good, in silence 13 of 14 good"
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
    for back_cm in (30, 6):  # too far for 12, too short for 18
        run = after(run, "ball", seen(back_cm=back_cm), [])
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


@pytest.mark.parametrize(("rehearsed", "back"), [(20.0, None), (None, 20.0), (None, None)])
def test_a_pair_whose_lengths_were_not_both_seen_is_not_called_good(
    rehearsed: float | None, back: float | None
) -> None:
    run = drills.Run(load_drill("rehearsal-then-ball", [BUNDLED]))
    lengths = [seen() if cm is None else seen(back_cm=cm) for cm in (rehearsed, back)]
    run = after(after(run, "rehearsal", lengths[0], []), "ball", lengths[1], [])
    assert (run.marks[0].good, run.marks[0].why) == (None, ("length not seen",))
