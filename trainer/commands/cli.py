"""The command line: all commands, and what becomes of errors. A command's use case is imported when it is called."""

from __future__ import annotations

import errno
import os
import signal
import sys
import threading
import warnings
from contextlib import contextmanager
from pathlib import Path
from typing import Any, Callable, Iterator, Sequence

import click

from trainer import __version__, log_file
from trainer.app.data_folder import data_folder as folder_of_data
from trainer.app.language import speak_as_set
from trainer.commands.analyse import analyse
from trainer.commands.baseline import baseline
from trainer.commands.before_play import before_play
from trainer.commands.bench import bench
from trainer.commands.check import check
from trainer.commands.click_words import give_words, told
from trainer.commands.console import warn
from trainer.commands.distance import distance
from trainer.commands.drills import drills
from trainer.commands.homework import homework
from trainer.commands.launcher import launcher
from trainer.commands.lesson import lesson
from trainer.commands.limits import limits
from trainer.commands.old_names import CommandsByOldNamesToo
from trainer.commands.outcome import outcome
from trainer.commands.posture import posture
from trainer.commands.practice import demo, practice
from trainer.commands.progress import progress
from trainer.commands.reasons import reasons
from trainer.commands.report import report
from trainer.commands.review import review
from trainer.commands.setup import setup
from trainer.commands.start import NO_DISPLAY, start
from trainer.commands.strokes import strokes
from trainer.commands.students import students
from trainer.errors import LeftOut, TrainerError
from trainer.languages import AUTO, language_of
from trainer.native_output import quiet
from trainer.texts import printed, speaking, tr

PROGRAM = "putting-trainer"
USER_ERROR = 2
OWN_FAULT = 1
# What the system says of a place and not of this program: too long, full, not allowed, too many links, failing.
FAULTS_OF_THE_PLACE = {
    getattr(errno, name)
    for name in ("ENAMETOOLONG", "ENOSPC", "EDQUOT", "EACCES", "EPERM", "EROFS", "EIO", "ENOTDIR", "EISDIR", "ELOOP")
    if hasattr(errno, name)
}
STOPPED = 130  # as shells count a program ended by Ctrl-C


@click.group(
    cls=CommandsByOldNamesToo, invoke_without_command=True, context_settings={"help_option_names": ["-h", "--help"]}
)
@click.option("--data-folder", type=click.Path(path_type=Path), help="Folder of the record, settings and students.")
@click.version_option(__version__, prog_name=PROGRAM)
@click.pass_context
def cli(context: click.Context, data_folder: Path | None) -> None:
    """Watches your putting stroke: hold, then look."""
    if isinstance(context.obj, log_file.DataFolderHandler):
        context.obj.data_folder = folder_of_data(data_folder)
    context.obj = data_folder
    speak_as_set(data_folder)
    log_file.log_command(context.invoked_subcommand or "start")
    if context.invoked_subcommand is None and not start(data_folder):
        click.echo(context.get_help())
        click.echo(f"\n{NO_DISPLAY}")


for _command in (
    analyse,
    baseline,
    before_play,
    bench,
    check,
    demo,
    distance,
    drills,
    homework,
    launcher,
    lesson,
    limits,
    outcome,
    posture,
    practice,
    progress,
    reasons,
    report,
    review,
    setup,
    strokes,
    students,
):
    cli.add_command(_command)


def run(arguments: Sequence[str]) -> int:
    """Runs one command line. Returns the exit code; what went wrong is one line on stderr."""
    with (
        quiet(),
        speaking(language_of(AUTO)),
        log_file.logging_on(__version__) as log,
        _saying_what_is_left_out(),
        _ending_when_told(),
    ):
        command = next((name for name in arguments if name in cli.commands), "")
        code = _guarded(lambda: cli.main(list(arguments), prog_name=PROGRAM, standalone_mode=False, obj=log), command)
        log_file.log_end(code)
        return code


@contextmanager
def _saying_what_is_left_out() -> Iterator[None]:
    """What the record warns of is a line for the user, once."""
    said: set[str] = set()
    with warnings.catch_warnings():
        show_others = warnings.showwarning

        def show(message: Warning | str, category: type[Warning], *where: Any, **more: Any) -> None:
            if not issubclass(category, LeftOut):
                show_others(message, category, *where, **more)
            elif (line := str(message)) not in said:
                said.add(line)
                warn(line)

        warnings.filterwarnings("always", category=LeftOut)
        warnings.showwarning = show
        yield


@contextmanager
def _ending_when_told() -> Iterator[None]:
    """A program that is told to end (SIGTERM) ends as by Ctrl-C: what is half written is taken away, strokes are kept.

    SDL would take the signal for itself, and nobody hears it while a file is written.
    """
    if threading.current_thread() is not threading.main_thread():  # only there may signals be heard
        yield
        return

    def stop(*_: Any) -> None:
        raise KeyboardInterrupt

    before = signal.signal(signal.SIGTERM, stop)
    try:
        yield
    finally:
        signal.signal(signal.SIGTERM, before)


def _guarded(work: Callable[[], Any], command: str = "") -> int:
    """The exit code. command: whose help is named where click does not say whose option was wrong."""
    try:
        result = work()
    except click.ClickException as error:
        return _fail(_wrong_line(error, command), USER_ERROR)
    except click.exceptions.Exit as stop:
        return int(stop.exit_code)
    except TrainerError as error:
        log_file.log_error(error)
        return _fail(error.line(), USER_ERROR)
    except (KeyboardInterrupt, click.Abort):
        return _fail(tr("stopped"), STOPPED)
    except BrokenPipeError:
        # The reader of our output went away (`strokes | head`): no fault, but nothing more can be written.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0
    except UnicodeEncodeError as error:
        shown = _one_line(ascii(error.object)[:80])
        return _fail(tr("{shown} is not UTF-8 text; write it in letters", shown=shown), USER_ERROR)
    except OSError as error:
        if error.errno not in FAULTS_OF_THE_PLACE:
            return _fail(log_file.own_fault(error), OWN_FAULT)
        log_file.log_error(error)
        return _fail(_place_line(error), USER_ERROR)
    except Exception as error:
        return _fail(log_file.own_fault(error), OWN_FAULT)
    return result if isinstance(result, int) else 0


def _fail(line: str, code: int) -> int:
    click.echo(f"{PROGRAM}: {printed(line)}", err=True)
    return code


def _wrong_line(error: click.ClickException, command: str) -> str:
    """What is wrong with a command line, and whose help tells more. A group without a command names its commands."""
    context = error.ctx if isinstance(error, click.UsageError) else None
    if context is not None:  # a command that there is not is refused before any callback has set the language
        speak_as_set(context.find_root().params.get("data_folder"))
    what = told(error.format_message())
    if isinstance(error, click.exceptions.NoArgsIsHelpError) and context is not None:
        group = context.command
        names = group.list_commands(context) if isinstance(group, click.Group) else []
        what = give_words(context.info_name, names)
    path = context.command_path if context is not None else f"{PROGRAM} {command}".rstrip()
    return tr("{what}; see {path} --help", what=what, path=path)


def _place_line(error: OSError) -> str:
    """Of a file or folder that the system refuses, wherever that came up."""
    where = os.fsdecode(error.filename) if isinstance(error.filename, (str, bytes)) else ""
    return TrainerError(
        f"{error.strerror}", where[:200], tr("check the name, the room left and what is allowed")
    ).line()


def _one_line(text: str) -> str:
    return " ".join(text.split())
