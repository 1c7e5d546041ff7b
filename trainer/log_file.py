"""The log in the data folder, for a first report from a green: what ran and where it failed, and no personal data.

Written are versions, the command's name, exit codes, counts and, of an error, its class and the places in this package that
it passed. Messages, names, paths and settings are not written.
"""

from __future__ import annotations

import logging
import platform
import traceback
from collections import deque
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Iterator

from trainer.texts import tr

FOLDER, NAME = "log", "putting-trainer.log"
MAX_BYTES, KEPT_FILES = 200_000, 2  # some months of daily practice
_WAITING = 200  # lines kept in memory until the data folder exists
_PACKAGE = Path(__file__).resolve().parent
_LOGGER = logging.getLogger("trainer")


class DataFolderHandler(logging.Handler):
    """Writes to ``FOLDER/NAME`` of the data folder once that folder exists; makes no data folder by itself.

    A log that cannot be written is no reason to stop: the line is dropped.
    """

    def __init__(self) -> None:
        super().__init__()
        self.setFormatter(logging.Formatter("%(asctime)s %(levelname)s %(name)s: %(message)s"))
        self.data_folder: Path | None = None  # known once the command line has been read
        self._waiting: deque[logging.LogRecord] = deque(maxlen=_WAITING)
        self._file: logging.FileHandler | None = None

    def emit(self, record: logging.LogRecord) -> None:
        try:
            self._waiting.append(record)
            file = self._opened()
            while file is not None and self._waiting:
                file.emit(self._waiting.popleft())
        except OSError:
            self._waiting.clear()

    def _opened(self) -> logging.FileHandler | None:
        if self._file is None and self.data_folder is not None and self.data_folder.is_dir():
            from logging.handlers import RotatingFileHandler

            folder = self.data_folder / FOLDER
            folder.mkdir(exist_ok=True)
            file = RotatingFileHandler(folder / NAME, maxBytes=MAX_BYTES, backupCount=KEPT_FILES, encoding="utf-8")
            file.setFormatter(self.formatter)
            file.handleError = lambda record: None  # type: ignore[method-assign]  # a full disk: see the class
            self._file = file
        return self._file

    def close(self) -> None:
        if self._file is not None:
            with suppress(OSError):  # what could not be written before is tried once more
                self._file.close()
        super().close()


@contextmanager
def logging_on(version: str) -> Iterator[DataFolderHandler]:
    """While it lasts ``logging.getLogger("trainer...")`` writes to the data folder's log, and nowhere else."""
    handler = DataFolderHandler()
    before = (_LOGGER.level, _LOGGER.propagate)
    _LOGGER.addHandler(handler)
    _LOGGER.setLevel(logging.INFO)
    _LOGGER.propagate = False
    machine = f"{platform.system()} {platform.machine()}"
    _LOGGER.info("putting-trainer %s, Python %s, %s", version, platform.python_version(), machine)
    try:
        yield handler
    finally:
        _LOGGER.removeHandler(handler)
        _LOGGER.setLevel(before[0])
        _LOGGER.propagate = before[1]
        handler.close()


def log_command(command: str) -> None:
    """Which command was given; what it was given is left out."""
    _LOGGER.info("command %s", command)


def log_run(frames: int, fps: float | None, lost: int, first_s: float) -> None:
    """How a practice kept up. first_s: from the start of the command to the first frame judged."""
    rate = f", {fps:.1f} frames/s" if fps is not None else ""
    _LOGGER.info("%d frames%s, %d lost, the first %.1f s after the start", frames, rate, lost, first_s)


def log_end(exit_code: int) -> None:
    """How the command ended."""
    _LOGGER.info("ended with exit code %d", exit_code)


def log_error(error: BaseException) -> None:
    """An error's class and its way through this package; not its message, which may name a person or a file."""
    places = []
    for frame in traceback.extract_tb(error.__traceback__):
        path = Path(frame.filename)
        if _PACKAGE in path.resolve().parents:
            places.append(f"{path.resolve().relative_to(_PACKAGE).as_posix()}:{frame.lineno} {frame.name}")
    _LOGGER.error("%s at %s", type(error).__name__, " < ".join(reversed(places)) or "no place in this package")


def own_fault(error: BaseException) -> str:
    """Logs a fault of this program and keeps its traceback in a temporary file; one line that says what and where."""
    import tempfile

    log_error(error)
    why = " ".join(str(error).split())
    what = tr("a fault of this program: {kind}: {why}", kind=type(error).__name__, why=why)
    try:
        with tempfile.NamedTemporaryFile("w", prefix="putting-trainer-", suffix=".txt", delete=False) as file:
            traceback.print_exception(error, file=file)
    except OSError:
        return tr("{what}; details could not be kept", what=what)
    return tr("{what}; details are in {name}", what=what, name=file.name)
