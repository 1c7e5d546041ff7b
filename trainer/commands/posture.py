"""`posture`: live with a tone, from a photo or a clip, kept with the student, two side by side."""

from __future__ import annotations

import json
import sys
from datetime import datetime, timezone
from pathlib import Path
from typing import Any

from trainer.app.context import RunContext, load_context, report_line
from trainer.app.student_file import files_of, with_id
from trainer.coaching.posture.hint import Hint
from trainer.commands.posture_show import change_table, check_table, compare_picture, lines_picture, write_picture
from trainer.commands.practice import camera_source
from trainer.commands.tables import console
from trainer.domain.observation import Handedness, View
from trainer.domain.printable import printable
from trainer.errors import ClipError, StoreError, UsageError
from trainer.files import replace_file
from trainer.posture.analysis import Looked, look
from trainer.posture.live_posture import PostureLive
from trainer.posture.snapshots import Snapshot, Snapshots, read_image
from trainer.store.students import Students

STILL_FRAMES = 6  # of one clip in which the player stood still, before its picture is taken


def run_posture(
    data_folder: Path | None,
    student: str | None,
    camera: str | None,
    image: Path | None,
    clip: Path | None,
    at_s: float | None,
    live: bool,
    handedness: Handedness | None,
    view: View | None,
    save: bool,
    label: str,
    list_all: bool,
    compare: tuple[str, str] | None,
    reference: str | None,
    ranges: bool,
    out: Path | None,
    json_to: str | None,
    window: bool,
) -> int:
    """One of: list, choose a reference, compare, look at a picture, go live."""
    given = [name for name, value in (("--camera", camera), ("--image", image), ("--clip", clip)) if value is not None]
    if len(given) > 1:
        raise UsageError("more than one picture at once", ", ".join(given), "give one of them")
    if at_s is not None and (clip is None or live):
        raise UsageError("a second of which clip?", "--at", "give --clip FILE too, without --live")
    if live and clip is None:
        raise UsageError("live is for a clip; a camera always is", "--live", "give --clip FILE too")
    context = load_context(data_folder, student, camera__source=camera_source(camera))
    if student is not None and handedness is None:
        handedness = context.settings.player.handedness
    if ranges and reference is None:
        raise UsageError("ranges around which posture?", "--ranges", "give --reference WHICH too")
    if list_all or compare or reference is not None or save:
        snapshots = _snapshots(context, student)
        if list_all:
            return _list(snapshots)
        if reference is not None:
            return _refer(context, student, snapshots, reference, ranges)
        if compare:
            return _compare(context, snapshots, compare, out)
    kept = _snapshots(context, student) if student is not None else None
    if image is None and (clip is None or live):
        from trainer.ui.posture.screen import run_live

        return run_live(context, kept, save, clip, view, handedness, label, window)
    picture, source = (
        (read_image(image), image.name) if image is not None else _frame(clip, at_s, context, view, handedness)
    )
    looked = _looked(picture, view, handedness, context)
    return _tell(context, looked, picture, source, kept, save, label, out, json_to)


def _snapshots(context: RunContext, student: str | None) -> Snapshots:
    if student is None:
        raise UsageError("kept postures belong to a student", "--student", "say whose: --student NAME")
    students = Students(context.base)
    person = with_id(students, students.find(student))
    return Snapshots(files_of(context.base, person.card.id))


def _refer(context: RunContext, student: str | None, snapshots: Snapshots, which: str, ranges: bool) -> int:
    """The student's reference of that view; ranges: the student's ranges become those around it."""
    from trainer.coaching.posture.reference import ranges_around

    chosen = snapshots.find(which)
    snapshots.refer_to(chosen)
    report_line(f"{chosen.name} is now the reference for {chosen.seen.view}")
    if ranges and student is not None:
        students = Students(context.base)
        changes = ranges_around(chosen.measures, chosen.seen.view)
        students.change(students.find(student), changes)
        report_line(f"{len(changes) // 2} ranges set around it; `students set` moves any of them")
    return 0


def _looked(picture: Any, view: View | None, handedness: Handedness | None, context: RunContext) -> Looked:
    from trainer.vision.body.pose import PoseBody

    body = PoseBody()
    try:
        height = context.settings.player.height_cm
        return look(body, picture, view, handedness, None, height, find_ball=True, others=True)
    finally:
        body.close()


def _frame(
    clip: Path | None, at_s: float | None, context: RunContext, view: View | None, handedness: Handedness | None
) -> tuple[Any, str]:
    """A clip's picture at that second, or of its first still address."""
    from trainer.vision.body.pose import PoseBody
    from trainer.vision.sources.clip import Clip

    assert clip is not None
    with Clip(clip) as source:
        if at_s is not None:
            for frame in source:
                if frame.time_s >= at_s - 1e-6:
                    return frame.image, f"{clip.name} at {frame.time_s:.2f} s"
            raise ClipError(f"it is over before {at_s:g} s", str(clip), "give an earlier second")
        body = PoseBody()
        try:
            live = PostureLive(body, view, handedness, context.settings.player.height_cm)
            still, hint = 0, ""
            for frame in source:
                step = live.step(frame)
                still = still + 1 if step.seen is not None and step.seen.ball is not None else 0
                hint = step.view.sign.word if step.seen is None else "no ball seen"
                if still >= STILL_FRAMES:
                    return frame.image, f"{clip.name} at {frame.time_s:.2f} s"
        finally:
            body.close()
    raise ClipError(f"no still address in it ({hint.lower()})", str(clip), "name a second with --at")


def _tell(
    context: RunContext,
    looked: Looked,
    picture: Any,
    source: str,
    kept: Snapshots | None,
    save: bool,
    label: str,
    out: Path | None,
    json_to: str | None,
) -> int:
    """The table, the picture, the JSON of one look. Exit code 2 when there can be no numbers."""
    from trainer.coaching.posture.address_measures import rulers
    from trainer.coaching.posture.address_measures import setup as checks_of

    seen = looked.seen
    checks = checks_of(seen, context.settings.posture) if seen is not None else []
    hints = [*looked.hints, *(rulers(seen) if seen is not None else ())]
    if json_to is not None:
        _write_json(json_to, source, looked, checks, hints)
    quiet = json_to == "-"
    if seen is None:
        if not quiet:
            report_line(f"{source}: {hints[0] if hints else 'no player seen'}")
        return 2
    if not quiet:
        hand = "right-handed" if seen.handedness == "right" else "left-handed"
        report_line(f"{source}: {seen.view}, {hand}")
        best = kept.reference(seen.view) if kept is not None else None
        console().print(check_table(checks, best.measures if best is not None else None))
        for hint in hints:
            report_line(str(hint))
    if out is not None:
        write_picture(lines_picture(picture, seen, checks, hints, source), out)
        report_line(f"picture with lines: {out}") if not quiet else None
    if save and kept is not None:
        snapshot = kept.save(seen, picture, datetime.now(timezone.utc), label)
        report_line(f"kept as {snapshot.name}") if not quiet else None
    return 0


def _write_json(where: str, source: str, looked: Looked, checks: list[Any], hints: list[Hint]) -> None:
    seen = looked.seen
    values = {
        "source": source,
        "view": seen.view if seen is not None else None,
        "handedness": seen.handedness if seen is not None else None,
        "setup": {check.name: check.as_json() for check in checks},
        "faults": [check.name for check in checks if check.fault],
        "hints": [str(hint) for hint in hints],
    }
    text = json.dumps(values) + "\n"
    if where == "-":
        sys.stdout.write(text)
        return
    try:
        replace_file(Path(where), text.encode("utf-8"))
    except OSError as error:
        raise StoreError(f"cannot be written ({error.strerror})", where, "choose another place") from None


def _list(snapshots: Snapshots) -> int:
    kept = snapshots.all()
    if not kept:
        report_line(f"no postures kept yet in {snapshots.folder}; --save keeps one")
        return 0
    references = {s.name for view in ("face-on", "down-the-line") if (s := snapshots.reference(view)) is not None}
    for snapshot in kept:
        mark = "  reference" if snapshot.name in references else ""
        word = f"  {printable(snapshot.label)}" if snapshot.label else ""
        report_line(f"{snapshot.name}  {snapshot.taken_at}{word}{mark}")
    return 0


def _compare(context: RunContext, snapshots: Snapshots, which: tuple[str, str], out: Path | None) -> int:
    """The table on the terminal, and the two pictures with it in a file."""
    from trainer.coaching.posture.compare import changes

    before = _one_of(snapshots, which[0], None)
    after = _one_of(snapshots, which[1], before.seen.view)
    if before.seen.view != after.seen.view:
        raise UsageError(
            f"one is {before.seen.view}, the other {after.seen.view}", "--compare", "compare the same view"
        )
    if before.name == after.name:
        raise UsageError("that is the same posture twice", "--compare", "give two: --list shows the names")
    table = changes(before.measures, after.measures, before.seen.view, context.settings.posture)
    report_line(f"{_called(before)} and {_called(after)}, {before.seen.view}")
    console().print(change_table(table))
    place = out or Path(f"posture-{before.name[:15]}-{after.name[:15]}.png")
    write_picture(compare_picture(before, after, _called, table, context.settings.posture), place)
    report_line(f"side by side, with all lines: {place}")
    return 0


def _one_of(snapshots: Snapshots, which: str, view: str | None) -> Snapshot:
    """First and last are those of the other one's view."""
    return snapshots.find(which, view if which in ("first", "last", "reference") else None)


def _called(snapshot: Snapshot) -> str:
    return snapshot.label or f"{snapshot.taken_at[:16].replace('T', ' ')}"
