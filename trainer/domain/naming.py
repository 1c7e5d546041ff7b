"""What a day, an instant and a stroke on record are called, wherever they are shown: one name for one thing, in local time."""

from __future__ import annotations

import unicodedata
from dataclasses import dataclass
from datetime import date, datetime

from trainer.texts import tr, tr_of

_MOST_DIGITS = 12  # more is no number of a stroke, and past 18 none that the record could hold
MONTHS = (
    tr("Jan"),
    tr("Feb"),
    tr("Mar"),
    tr("Apr"),
    tr("May"),
    tr("Jun"),
    tr("Jul"),
    tr("Aug"),
    tr("Sep"),
    tr("Oct"),
    tr("Nov"),
    tr("Dec"),
)
PHONE = "phone"  # as the name of a camera
NAMELESS = "player"  # on the record: who was not named


_HANDS = {"right": tr("right-handed"), "left": tr("left-handed")}
_VIEWS = {"face-on": tr("face-on"), "down-the-line": tr("down-the-line")}
_SIDES = {"left": tr_of("side", "left"), "right": tr_of("side", "right")}
_KINDS = {"ball": tr("ball"), "rehearsal": tr("rehearsal"), "rehearsal then ball": tr("rehearsal then ball")}
_SCHEDULES = {
    "every": tr("after every stroke"),
    "outside": tr("only after a stroke with a fault"),
    "alternate": tr("after every other stroke"),
    "fading": tr("after fewer and fewer strokes"),
    "summary": tr("summed up after several strokes"),
    "silent": tr("none"),
}
_CUES = {
    "faults": tr("tones for faults"),
    "chime": tr("a chime after a look that waited long enough"),
    "both": tr("tones for faults, a chime after a look that waited long enough"),
    "rhythm": tr("the rhythm tone"),
    "none": tr("none"),
}


def hand_words(handedness: str) -> str:
    """Of a player."""
    return _HANDS.get(handedness, handedness)


def side_words(side: str) -> str:
    """Of a picture."""
    return _SIDES.get(side, side)


def view_words(view: str | None) -> str:
    """From where a camera looks."""
    return _VIEWS.get(view or "", view or "")


def kind_words(kind: str) -> str:
    """Of a stroke."""
    return _KINDS.get(kind, kind)


def schedule_words(schedule: str) -> str:
    """When feedback is given."""
    return _SCHEDULES.get(schedule, schedule)


def cue_words(cue: str) -> str:
    """What a drill sounds."""
    return _CUES.get(cue, cue)


def day_words(day: date, today: date | None = None) -> str:
    """ "27 Nov 2026"; without the year where it is today's."""
    month = MONTHS[day.month - 1]
    if today is not None and today.year == day.year:
        return tr_of("a day", "{day} {month}", day=day.day, month=month)
    return tr_of("a day", "{day} {month} {year}", day=day.day, month=month, year=str(day.year))


def moment_words(at: datetime, today: date | None = None) -> str:
    """ "27 Nov, 18:40": the name of a session that began then. at: aware."""
    local = at.astimezone()
    return tr("{day_words}, {local:%H:%M}", day_words=day_words(local.date(), today), local=local)


def stroke_name(session_at: datetime, number: int, today: date | None = None) -> str:
    """ "27 Nov, 18:40, stroke 3". session_at: when its session began, aware; number: in that session, from 1."""
    return tr("{moment_words}, stroke {number}", moment_words=moment_words(session_at, today), number=number)


@dataclass(frozen=True, slots=True)
class StrokeNumber:
    """How a stroke is chosen. session_back: counted back from the last session, which is 1; number: of the stroke in it."""

    session_back: int
    number: int

    def __str__(self) -> str:
        return f"{self.session_back}/{self.number}"


def stroke_number(text: str) -> StrokeNumber | None:
    """ "2/5", or "5" in the last session; None: it is neither."""
    session, slash, number = text.rpartition("/")
    parts = (session, number) if slash else (number,)
    if not all(part.isdecimal() and len(part) <= _MOST_DIGITS and int(part) > 0 for part in parts):
        return None
    return StrokeNumber(int(session) if slash else 1, int(number))


def for_student(name: str) -> str:
    """What a command needs at its end to mean this student; nothing for who was not named."""
    if name == NAMELESS:
        return ""
    plain = name.isascii() and name.replace("-", "").replace("_", "").isalnum()
    return f" --student {name}" if plain else f' --student "{name}"'


def folded(name: str) -> str:
    """What two names that look the same have in common."""
    return " ".join(unicodedata.normalize("NFKC", name).casefold().split())
