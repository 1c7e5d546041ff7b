"""`review`: a stroke again, slow and with lines, or two side by side; in a window, or straight to files."""

from __future__ import annotations

from contextlib import ExitStack
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from rich import box
from rich.table import Table

from trainer.app import review as review_sources
from trainer.app.context import RunContext, load_context, report_line, warn
from trainer.app.review import Chosen
from trainer.app.student_file import student_key
from trainer.commands.tables import console
from trainer.errors import UsageError
from trainer.replay.align import PHASE
from trainer.replay.derived_signals import EVENT_WORDS
from trainer.replay.differences import compared
from trainer.replay.lines import LINE_NAMES
from trainer.replay.numbers import numbers_of
from trainer.replay.playback import Playback
from trainer.store.students import Students
from trainer.ui.export.stills import checked, clip, path_beside, still
from trainer.ui.review.reviewer import Reviewer

WORDS = tuple(EVENT_WORDS.values())


@dataclass(frozen=True)
class Options:
    """The command line's, as they were given."""

    clips: tuple[Path, ...] = ()
    student: str | None = None
    stroke: str | None = None
    against: str | None = None
    handedness: str | None = None
    other_handedness: str | None = None
    view: str | None = None
    at: str | None = None
    still: str | None = None
    out: Path | None = None
    clip_out: Path | None = None
    begin: str | None = None
    end: str | None = None
    speed: float = 1.0
    sheet: Path | None = None
    numbers: bool = False
    lines: str | None = None
    align: str = "impact"
    ghost: bool = False
    whole_picture: bool = False
    theme: str | None = None

    @property
    def to_files(self) -> bool:
        """Something is to be made, so no window is asked for."""
        return bool(self.still or self.clip_out or self.sheet or self.numbers)


def run_review(data_folder: Path | None, options: Options) -> int:
    """Opens the window, or makes what was asked for."""
    _check(options)
    student = options.student
    context = load_context(
        data_folder, student, player__handedness=options.handedness, camera__view=options.view,
        window__theme=options.theme,
    )  # fmt: skip
    with ExitStack() as stack:
        if options.clips:
            hands = (options.handedness, options.other_handedness or options.handedness)
            both = [
                load_context(data_folder, student, player__handedness=h, camera__view=options.view).settings
                for h in hands
            ]
            chosen = review_sources.from_clips(both, options.clips, options.stroke, options.against)
        else:
            store = stack.enter_context(context.open_store())
            who = student_key(Students(context.base).find(student)) if student is not None else None
            chosen = review_sources.from_record(context, store, who, options.stroke, options.against)
        reviewer = _reviewer(context, chosen, options)
        stack.callback(reviewer.close)
        if options.to_files:
            _to_files(reviewer, options)
            for loaded in (reviewer.playback.main, reviewer.playback.other):  # the window says it itself
                if loaded is not None and loaded.stroke_clip.note:
                    warn(f"{loaded.stroke_clip.label}: {loaded.stroke_clip.note}")
        else:
            _window(context, reviewer)
    return 0


def _check(options: Options) -> None:
    if options.other_handedness and len(options.clips) < 2:
        raise UsageError("there is no second clip", "--other-handedness", "give two clips")
    if options.out is not None and not options.still:
        raise UsageError("a name without a still", "--out", "add --still EVENT, for example --still impact")
    if (options.begin or options.end) and options.clip_out is None:
        raise UsageError("only for a clip", "--from, --to", "add --clip-out FILE.mp4")
    for path, endings, what in (
        (options.out, (".png",), "a still"),
        (options.sheet, (".pdf", ".png"), "a sheet"),
        (options.clip_out, (".mp4", ".m4v", ".mov"), "a clip"),
    ):
        if path is not None:
            checked(path, endings, what)
    unknown = set(_lines(options.lines) or ()) - set(LINE_NAMES)
    if unknown:
        known = ", ".join((*LINE_NAMES, "all", "none"))
        raise UsageError(f"no such line: {', '.join(sorted(unknown))}", "--lines", f"one or more of: {known}")
    if options.ghost and options.against is None and len(options.clips) < 2:
        raise UsageError("a ghost of which stroke?", "--ghost", "add --against NUMBER or --against best")


def _lines(text: str | None) -> list[str] | None:
    if text is None:
        return None
    names = [name.strip() for name in text.split(",") if name.strip()]
    if names == ["none"]:
        return []
    return list(LINE_NAMES) if names == ["all"] else names


def _reviewer(context: RunContext, chosen: Chosen, options: Options) -> Reviewer:
    reviewer = Reviewer(
        chosen.entries, chosen.main, chosen.other, options.align, chosen.why, chosen.finds,
        context.settings.window.theme, _take,
    )  # fmt: skip
    playback = reviewer.playback
    lines = _lines(options.lines)
    if lines is not None:
        playback.show = set(lines)
    if options.ghost:
        playback.layout = "ghost"
    playback.close_up = not options.whole_picture
    if options.at is not None:
        try:
            playback.scrub(_instant(playback, options.at, "--at"))
        except BaseException:
            reviewer.close()
            raise
    return reviewer


def _window(context: RunContext, reviewer: Reviewer) -> None:
    from trainer.ui.drawing.window import WindowConfig
    from trainer.ui.review.window import ReviewWindow
    from trainer.vision.sources.base import MonotonicClock

    wish = context.settings.window
    ReviewWindow(reviewer, WindowConfig(wish.width, wish.height, wish.fullscreen, wish.theme), MonotonicClock()).run()


def _take(reviewer: Reviewer, what: str) -> str:
    """From the window: into the folder that the program was started in."""
    playback, here = reviewer.playback, Path.cwd()
    stem = f"{what}-{_in_a_name(reviewer.main.title)}"
    if what == "still":
        return still(reviewer, path_beside(here, f"{stem}-{_in_a_name(playback.where)}", ".png"))
    if what == "clip":
        return clip(reviewer, path_beside(here, stem, ".mp4"), _loop_s(playback), playback.speed)
    from trainer.ui.export.sheet import sheet

    return sheet(reviewer, path_beside(here, stem, ".pdf"))


def _in_a_name(words: str) -> str:
    """What stands before the first comma, as part of a file's name on any system."""
    first = words.partition(",")[0].replace("−", "-")
    return "".join(c if c.isascii() and (c.isalnum() or c in ".-") else "-" for c in first)


def _loop_s(playback: Playback) -> tuple[float, float] | None:
    if playback.loop is None:
        return None
    first, last = (playback.main.tracked.event_s(word) for word in playback.loop)
    return (first, last) if first is not None and last is not None else None


# ---- without the window


def _to_files(reviewer: Reviewer, options: Options) -> None:
    playback = reviewer.playback
    if options.still:
        playback.scrub(_instant(playback, options.still, "--still"))
        out = options.out or path_beside(Path.cwd(), f"still-{options.still}", ".png")
        report_line(still(reviewer, out))
    if options.clip_out is not None:
        span = None
        if options.begin or options.end:
            times = playback.main.stroke_clip.frames.times_s
            begin = _instant(playback, options.begin, "--from") if options.begin else float(times[playback.first])
            end = _instant(playback, options.end, "--to") if options.end else float(times[playback.last])
            span = (begin, end)
        report_line(clip(reviewer, options.clip_out, span, options.speed))
    if options.sheet is not None:
        from trainer.ui.export.sheet import sheet

        report_line(sheet(reviewer, options.sheet))
    if options.numbers:
        if options.at is None and not options.still:
            playback.jump("impact")
        _print_numbers(reviewer)


def _instant(playback: Playback, text: str, option: str) -> float:
    """An event's word, or seconds of the clip's own clock. Raises UsageError."""
    if text in WORDS:
        at = playback.main.tracked.event_s(text)
        if at is None:
            raise UsageError(f"{text} was not seen in this stroke", option, "choose another instant")
        return at
    try:
        at = float(text)
    except ValueError:
        raise UsageError(f"{text} is no instant", option, f"give seconds, or one of: {', '.join(WORDS)}") from None
    times = playback.main.stroke_clip.frames.times_s
    if not float(times[0]) <= at <= float(times[-1]):
        raise UsageError(f"{text} s is outside of it", option, f"it goes from {times[0]:.2f} to {times[-1]:.2f} s")
    return at


def _print_numbers(reviewer: Reviewer) -> None:
    playback, out = reviewer.playback, console()
    out.print(f"{reviewer.main.title}, at {playback.where}", soft_wrap=True, markup=False)
    table = _table("reading", "value")
    sample = playback.main.tracked.sample(playback.shown_s)
    readings = playback.main.tracked.readings(sample)
    if playback.main.tracked.face_on:
        readings.append(playback.main.tracked.past_leg(sample))
    for reading in readings:
        table.add_row(reading.label, reading.text)
    out.print(table)
    if playback.other is None:
        table = _table("the stroke", "value", "")
        for row in numbers_of(playback.main.stroke_clip.record, playback.main.stroke_clip.faults):
            table.add_row(row.words, row.text, "fault" if row.fault else "")
        out.print(table)
        return
    assert reviewer.other is not None
    by = "by phase" if playback.aligned_on == PHASE else f"on {playback.aligned_on}"
    out.print(f"against {reviewer.other.title}, aligned {by}", soft_wrap=True, markup=False)
    if reviewer.why:
        out.print(reviewer.why, soft_wrap=True, markup=False)
    table = _table("measure", "first", "second", "can be told from", "")
    for d in compared(playback.main.stroke_clip.record, playback.other.stroke_clip.record, reviewer.own()):
        table.add_row(d.words, d.text(d.first), d.text(d.second), d.text(d.smallest), "differs" if d.plain else "")
    out.print(table)


def _table(*headings: str) -> Any:
    table = Table(box=box.SIMPLE_HEAD, padding=(0, 1, 0, 0))
    for k, heading in enumerate(headings):
        table.add_column(heading, justify="left" if k in (0, len(headings) - 1) and heading != "value" else "right")
    return table
