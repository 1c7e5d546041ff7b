"""What came of an export, an import, an erasing, in lines for whoever asked for it."""

from __future__ import annotations

from typing import Any

from trainer.app.student_export import Exported, Holdings, NotExported
from trainer.app.students import ErasedStudent, ToErase
from trainer.app.transfer import Imported
from trainer.domain.printable import printable
from trainer.texts import join, tr, tr_count


def megabytes(size_bytes: int) -> str:
    return tr("{size_bytes:.1f} MB", size_bytes=size_bytes / 1000000.0)


def held(what: Holdings) -> list[str]:
    """In words, what there is none of left out."""
    size = tr(" ({megabytes})", megabytes=megabytes(what.video_bytes))
    counted = (
        (what.strokes, tr_count("{count} stroke", "{count} strokes", what.strokes)),
        (what.distances, tr_count("{count} distance entry", "{count} distance entries", what.distances)),
        (what.postures, tr_count("{count} kept posture", "{count} kept postures", what.postures)),
        (
            what.videos,
            tr_count("{count} video of a stroke{size}", "{count} videos of strokes{size}", what.videos, size=size),
        ),
    )
    return [words for count, words in counted if count]


def exported_lines(done: Exported) -> list[str]:
    inside = join(", ", (tr("profile and limits"), tr("{drills} own drills", drills=done.drills), *held(done.inside)))
    lines = [
        tr("wrote {path}: {inside}; {megabytes}", path=done.path, inside=inside, megabytes=megabytes(done.size_bytes))
    ]
    return [*lines, tr("not in it: {listed}", listed=join(", ", held(done.left_out)))] if done.left_out else lines


def imported_lines(done: Imported) -> list[str]:
    merged = done.merged
    counted = (
        tr(
            "{new_strokes} new strokes in {new_sessions} new sessions, {known_strokes} known already",
            new_strokes=merged.new_strokes,
            new_sessions=merged.new_sessions,
            known_strokes=merged.known_strokes,
        )
        if merged.new_strokes or merged.known_strokes or merged.kept_out
        else tr("no strokes in the file")
    )
    if merged.kept_out:
        counted += tr(", {kept_out} that were taken out here and stay out", kept_out=merged.kept_out)
    if merged.new_changes:
        counted += tr(", {new_changes} new changes of limits", new_changes=merged.new_changes)
    if merged.new_distances:
        counted += tr(", {new_distances} new distance entries", new_distances=merged.new_distances)
    if merged.new_teaching:
        counted += tr(
            ", {new_teaching} new or changed homework, lessons and outcomes", new_teaching=merged.new_teaching
        )
    if done.postures:
        counted += tr(", {postures} new kept postures", postures=done.postures)
    return [tr("{name}: {counted}", name=printable(done.name), counted=counted), *done.notes]


def missing_lines(missing: NotExported, gone_now: bool = False) -> list[str]:
    """gone_now: told after it went."""
    if missing.last is None:
        if gone_now:
            return [tr("there was no export file of this student: everything was here only")]
        return [tr("there is no export file of this student: everything is here only")]
    gone = "" if missing.last_there else tr(", which is not there any more")
    lines = [tr("the newest export file is {last}{gone}", last=missing.last, gone=gone)]
    if missing.left_out:
        words = tr("in no export file was: {listed}") if gone_now else tr("in no export file is: {listed}")
        lines.append(words.format(listed=join(", ", held(missing.left_out))))
    return lines


def recorded_words(recorded: Any) -> str:
    """How many strokes of a student are on record. recorded: with strokes and sessions."""
    return tr(
        "{strokes} in {sessions}",
        strokes=tr_count("{count} stroke", "{count} strokes", recorded.strokes),
        sessions=tr_count("{count} session", "{count} sessions", recorded.sessions),
    )


def erased_lines(student: ToErase, gone: ErasedStudent) -> list[str]:
    recorded, files = gone.recorded, gone.files
    return [
        tr(
            "erased {player}: {recorded}, {settings} kept settings, "
            "{limit_changes} changes of limits, {distances} distance entries, {files} pictures and "
            "videos ({of_strokes} of strokes, {megabytes}), the file {file_name}",
            player=printable(student.key.player),
            recorded=recorded_words(recorded),
            settings=recorded.settings,
            limit_changes=recorded.limit_changes,
            distances=recorded.distances,
            files=files.files,
            of_strokes=files.of_strokes,
            megabytes=megabytes(files.size_bytes),
            file_name=gone.file_name,
        ),
        tr("reports and export files that you saved elsewhere are still where you put them"),
    ]
