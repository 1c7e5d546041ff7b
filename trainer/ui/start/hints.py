"""What use cases say of commands, said of the start window's buttons: there nobody types commands."""

from __future__ import annotations

import re

from trainer.texts import shown
from trainer.ui.start import texts

# The words that a command begins with -> the button that does it; the longest that fits counts.
BUTTONS = {
    "practice": texts.FREE,
    "setup": texts.SETUP,
    "check": texts.CHECK,
    "reasons": texts.REASONS,
    "strokes": texts.AGAIN,
    "drills": texts.DRILLS,
    "students": texts.SWITCH,
    "posture": texts.POSTURE,
    "baseline": texts.BASELINE,
    "homework": texts.HOMEWORK,
    "homework set": texts.SET_HOMEWORK,
    "lesson": texts.LESSON,
    "lesson begin": texts.BEGIN_LESSON,
    "lesson strokes": texts.LESSON_STROKES,
    "lesson priority": texts.LESSON_AS_PROPOSED,
    "lesson priority WHAT": texts.LESSON_CHOOSE,
    "lesson try": texts.LESSON_NOTE_TRY,
    "lesson words": texts.LESSON_KEEP_WORDS,
    "lesson homework": texts.SET_HOMEWORK,
    "lesson page": texts.LESSON_PAGE,
    "lesson end": texts.END_LESSON,
    "distance": texts.DISTANCE,
    "distance unit m": texts.IN_METRES,
    "... ft": texts.IN_FEET,
    "distance green": texts.SET_GREEN,
    "distance putt": texts.ENTER_PUTT,
}

# An option of a command -> what is set in its place, and under which button of the start page.
OPTIONS = {
    "--handedness": (texts.HAND, texts.SWITCH),
    "--view": (texts.VIEW, texts.SETTINGS),
    "--clip": (None, texts.CLIP),
    "--level": (texts.LEVEL, texts.SETTINGS),
}


# A setting -> the field that it is typed into.
FIELDS = {"player.height_cm": texts.HEIGHT, "player.name": texts.NAME}


def in_window(line: str) -> str:
    """The line with each command and option in it replaced by the words of the button, each setting by its field's; what has none
    stays."""
    said = re.sub("`([^`]*)`", _button, shown(line))
    for key, label in FIELDS.items():
        said = said.replace(key, shown(label))
    return said


def _button(found: re.Match[str]) -> str:
    words = found[1].removeprefix("putting-trainer ").split()
    if words and (option := OPTIONS.get(words[0])) is not None:
        label, under = option
        return f"“{shown(under)}: {shown(label)}”" if label is not None else f"“{shown(under)}”"
    for count in range(len(words), 0, -1):
        if (button := BUTTONS.get(" ".join(words[:count]))) is not None:
            return f"“{shown(button)}”"
    return found[0]
