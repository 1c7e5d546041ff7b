"""Whether the trainer may listen for the click of the ball: off until somebody says yes, asked once where it could."""

from __future__ import annotations

from importlib.util import find_spec
from typing import Callable

from trainer.app.context import RunContext
from trainer.app.start.common_settings import change_common
from trainer.texts import tr

QUESTION = tr(
    "Listen through the microphone for the click of putter on ball? "
    "Only when, how loudly and how brightly it clicked is used, no sound is kept."
)


def can_listen() -> bool:
    """The optional extra is installed."""
    return find_spec("sounddevice") is not None


def ask_about_microphone(
    context: RunContext, confirms: Callable[[str], bool], installed: Callable[[], bool] = can_listen
) -> None:
    """Only where it could listen, and no answer stands in the settings."""
    if installed() and "microphone" not in context.settings.hearing.model_fields_set:
        keep_answer(context, confirms(QUESTION))


def keep_answer(context: RunContext, listens: bool) -> None:
    """Either way, so that it is not asked again."""
    change_common(context, {"hearing.microphone": listens})
