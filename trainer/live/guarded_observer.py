"""A fault of our own in one frame costs that frame, not the session."""

from __future__ import annotations

from typing import Any

from trainer.domain.observation import Frame, Observation
from trainer.domain.player_frame import RIGHT_HANDED
from trainer.errors import TrainerError
from trainer.live.pipeline import Failed, Watches
from trainer.log_file import own_fault
from trainer.texts import tr

FAILED = tr("the program failed in a picture of it")
MOST_IN_A_ROW = 30  # about a second of frames: then it is no single frame's fault


class GuardedObserver:
    """Another observer, whose failures are frames in which nothing was seen. The first is told of and its traceback kept.

    most_in_a_row: the last of so many is raised; 1: the first is. Errors that a user can mend are always raised.
    """

    def __init__(self, observer: Watches, most_in_a_row: int = MOST_IN_A_ROW) -> None:
        self._observer, self._most = observer, most_in_a_row
        self._in_a_row = 0
        self._told = ""
        self._frame = RIGHT_HANDED  # the player's, as last seen

    def find_body(self, frame: Frame) -> Any:
        try:
            return self._observer.find_body(frame)
        except TrainerError:
            raise
        except Exception as error:
            return Failed(error)

    def look(self, frame: Frame, found: Any) -> Observation:
        try:
            if isinstance(found, Failed):
                raise found.error
            seen = self._observer.look(frame, found)
        except TrainerError:
            raise
        except Exception as error:
            return self._nothing(frame, error)
        self._in_a_row, self._frame = 0, seen.frame
        return seen

    def _nothing(self, frame: Frame, error: Exception) -> Observation:
        self._in_a_row += 1
        if self._in_a_row >= self._most:
            raise error
        self._told = self._told or tr("{fault}; what that frame shows is not seen", fault=own_fault(error))
        reasons = dict.fromkeys(("body", "head", "ball", "putter"), "a fault of this program")
        told = (self._told,)
        return Observation(frame.index, frame.time_s, frame=self._frame, reasons=reasons, advice=told, faulty=FAILED)
