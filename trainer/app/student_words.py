"""What came of an export, an import, an erasing, in lines for whoever asked for it."""

from __future__ import annotations

from trainer.app.student_export import Exported, Holdings, NotExported
from trainer.app.students import ErasedStudent, ToErase
from trainer.app.transfer import Imported
from trainer.domain.printable import printable


def megabytes(size_bytes: int) -> str:
    return f"{size_bytes / 1e6:.1f} MB"


def held(what: Holdings) -> list[str]:
    """In words, what there is none of left out."""
    counted = (
        (what.strokes, "stroke", "strokes", ""),
        (what.distances, "distance entry", "distance entries", ""),
        (what.postures, "kept posture", "kept postures", ""),
        (what.videos, "video of a stroke", "videos of strokes", f" ({megabytes(what.video_bytes)})"),
    )
    return [f"{count} {one if count == 1 else more}{rest}" for count, one, more, rest in counted if count]


def exported_lines(done: Exported) -> list[str]:
    inside = ", ".join(("profile and limits", f"{done.drills} own drills", *held(done.inside)))
    lines = [f"wrote {done.path}: {inside}; {megabytes(done.size_bytes)}"]
    return [*lines, f"not in it: {', '.join(held(done.left_out))}"] if done.left_out else lines


def imported_lines(done: Imported) -> list[str]:
    merged = done.merged
    counted = (
        f"{merged.new_strokes} new strokes in {merged.new_sessions} new sessions, {merged.known_strokes} known already"
        if merged.new_strokes or merged.known_strokes
        else "no strokes in the file"
    )
    if merged.new_distances:
        counted += f", {merged.new_distances} new distance entries"
    if merged.new_teaching:
        counted += f", {merged.new_teaching} new or changed homework, lessons and outcomes"
    if done.postures:
        counted += f", {done.postures} new kept postures"
    return [f"{printable(done.name)}: {counted}", *done.notes]


def missing_lines(missing: NotExported, verb: str) -> list[str]:
    """verb: is, before it goes; was, after it went."""
    if missing.last is None:
        return [f"there {verb} no export file of this student: everything {verb} here only"]
    gone = "" if missing.last_there else ", which is not there any more"
    lines = [f"the newest export file is {missing.last}{gone}"]
    return [*lines, f"in no export file {verb}: {', '.join(held(missing.left_out))}"] if missing.left_out else lines


def erased_lines(student: ToErase, gone: ErasedStudent) -> list[str]:
    recorded, files = gone.recorded, gone.files
    return [
        f"erased {printable(student.key.player)}: {recorded.strokes} strokes in {recorded.sessions} sessions,"
        f" {recorded.settings} kept settings, {recorded.limit_changes} changes of limits,"
        f" {recorded.distances} distance entries, {files.files} pictures and videos"
        f" ({files.of_strokes} of strokes, {megabytes(files.size_bytes)}), the file {gone.file_name}",
        "reports and export files that you saved elsewhere are still where you put them",
    ]
