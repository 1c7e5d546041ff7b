"""What the review writes to files: one thing at a time, beside the window, which goes on; it can be stopped, and then nothing
is left of it."""

from __future__ import annotations

from typing import Callable

from trainer.errors import TrainerError
from trainer.texts import tr
from trainer.worker import Job, Progress, Stopped

WORDS = {"picture": tr("a picture"), "clip": tr("a clip"), "sheet": tr("a sheet")}
END_S = 10.0  # a job that was told to end is waited for so long


class Saving:
    """``begin`` one, ``look`` often; ``end`` before what it draws from is closed."""

    def __init__(self) -> None:
        self._job: Job[str] | None = None
        self._what = ""

    @property
    def busy(self) -> bool:
        return self._job is not None

    @property
    def words(self) -> str:
        """What is being written, and how to stop it."""
        return tr("writing {words}, Escape stops it", words=WORDS[self._what]) if self._job is not None else ""

    @property
    def share(self) -> float | None:
        """Of it that is done."""
        return self._job.progress.share if self._job is not None else None

    def begin(self, what: str, work: Callable[[Progress], str]) -> bool:
        """work: its result is the line that says where it is. False: something is being written already."""
        if self._job is not None:
            return False
        self._what, self._job = what, Job("saving", work).start()
        return True

    def stop(self) -> None:
        """Tells it to end; ``look`` says when it has."""
        if self._job is not None:
            self._job.stop()

    def look(self) -> str | None:
        """The line to be shown once it has ended; None: it goes on, or there is none. Raises what is no error of the user's."""
        if self._job is None or not self._job.wait(0.0):
            return None
        job, self._job = self._job, None
        try:
            return job.result()
        except Stopped:
            return tr("stopped: {words} was not written", words=WORDS[self._what])
        except TrainerError as error:
            return error.line()

    def wait(self, timeout_s: float) -> bool:
        """Whether it has ended, or there was none."""
        return self._job is None or self._job.wait(timeout_s)

    def end(self) -> None:
        """Stops it and waits for it."""
        self.stop()
        self.wait(END_S)
        self._job = None
