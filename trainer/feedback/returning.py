"""A loudspeaker that may go and come back while practice goes on."""

from __future__ import annotations

import threading
from typing import Callable

from trainer.errors import SoundError
from trainer.feedback.tones import SilentPlayer, TonePlayer
from trainer.log_file import log_error
from trainer.texts import tr
from trainer.worker import Worker

GONE = tr("the loudspeaker is gone: the signs on the screen stand in for the tones until it is back")
BACK = tr("the loudspeaker sounds again")
JOIN_S = 2.0


class ReturningPlayer:
    """Told once when it goes, and once when a sound was played again. make: opens the device anew; raises SoundError or gives
    a silent player while there is none.

    Devices are opened in a thread of their own: a cue waits for none, and the one that found the device gone is lost.
    """

    def __init__(self, player: TonePlayer, make: Callable[[], TonePlayer], report: Callable[[str], None]) -> None:
        self._player, self._make, self._report = player, make, report
        self._lock = threading.Lock()
        self._opening: Worker | None = None
        self._closed = self._told = False

    @property
    def description(self) -> str:
        return self._player.description

    @property
    def can_sound(self) -> bool:
        return not (self._told or isinstance(self._player, SilentPlayer))

    def play(self, name: str) -> None:
        try:
            self._player.play(name)
        except Exception as error:  # of whatever class the back end raises; the log tells a fault of our own
            log_error(error)
            self.lose()
            return
        if isinstance(self._player, SilentPlayer):
            self.look_again()
        elif self._told:
            self._told = False
            self._report(BACK)

    def lose(self) -> None:
        """The device is gone, or may be."""
        if not self._told:
            self._told = True
            self._report(GONE)
        self.look_again()

    def look_again(self) -> None:
        """Opens a device if there is none that sounds; one such look at a time."""
        with self._lock:
            if self._closed or self.can_sound or (self._opening is not None and not self._opening.ended):
                return
            self._opening = Worker("loudspeaker", self._open)
            self._opening.start()

    def _open(self, stop: threading.Event) -> None:
        new: TonePlayer = SilentPlayer("the device is gone")
        with self._lock:  # meanwhile a cue must not be taken for one that sounded
            old, self._player = self._player, new
        _let_go(old)
        try:
            new = self._make()
        except SoundError:
            pass  # it is not back yet: looked for again at the next sound
        except Exception as error:  # practice goes on without tones, and the log tells why
            log_error(error)
        with self._lock:
            self._player = new
            closed = self._closed
        if closed:
            _let_go(new)

    def settled(self) -> bool:
        """Waits until no device is being opened. False: it takes too long."""
        return self._opening is None or self._opening.wait(JOIN_S)

    def close(self) -> None:
        with self._lock:
            self._closed = True
        self.settled()
        _let_go(self._player)


def _let_go(player: TonePlayer) -> None:
    try:
        player.close()
    except Exception as error:  # a device that is gone may fail at this too, in any way; nothing more is wanted of it
        log_error(error)
