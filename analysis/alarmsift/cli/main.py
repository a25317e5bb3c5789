"""The entry point: words in, exit status out, and no traceback for the user."""

from __future__ import annotations

import os
import sys
import traceback
import warnings
from collections.abc import Callable, Sequence
from pathlib import Path

from alarmsift.cli.parser import parser
from alarmsift.cli.status import Status
from alarmsift.errors import AlarmsiftError, PackNotIntact, RowsRefused


def run(arguments: Sequence[str] | None = None) -> int:
    """Run alarmsift and return its exit status.

    Parameters
    ----------
    arguments : sequence of str, optional
        The words after ``alarmsift``; those of the process when None.

    Returns
    -------
    int
        See :class:`alarmsift.cli.status.Status`.
    """
    _print_any_letter()
    if arguments is None and not sys.warnoptions:
        warnings.simplefilter("ignore")  # a library's advice to programmers is no use on board
    try:
        options = parser().parse_args(arguments)
    except SystemExit as asked:  # argparse has printed help, version or what was wrong
        return int(asked.code or Status.WRITTEN)
    return _status(lambda: options.command(options), raise_faults=options.traceback)


def _status(work: Callable[[], None], *, raise_faults: bool) -> int:
    """Return the status of some work, with every way to fail turned into words on stderr."""
    try:
        work()
        sys.stdout.flush()
    except BrokenPipeError:
        _drop_stdout()
    except KeyboardInterrupt:
        return _say("stopped before the output was complete; nothing was changed.", Status.STOPPED)
    except Exception as error:  # noqa: BLE001  (the last door before the user)
        words, status = _told(error)
        if raise_faults and status is Status.FAULT:
            raise
        return _say(words, status)
    return Status.WRITTEN


def _told(error: Exception) -> tuple[str, Status]:
    """Return the words for the user about an error, and the exit status."""
    if isinstance(error, RowsRefused):
        return str(error), Status.ROWS_REFUSED
    if isinstance(error, PackNotIntact):
        return str(error), Status.NOT_INTACT
    if isinstance(error, AlarmsiftError):
        return str(error), Status.UNUSABLE
    if isinstance(error, OSError):
        return _on_disk(error), Status.UNUSABLE
    if isinstance(error, MemoryError):
        return (
            "the memory of this computer is not enough. Close other programs, or diagnose a "
            "shorter time span.",
            Status.UNUSABLE,
        )
    return _fault(error), Status.FAULT


def _say(words: str, status: Status) -> int:
    print(f"alarmsift: {words}", file=sys.stderr)
    return status


def _on_disk(error: OSError) -> str:
    """Return what the computer said about a file, without the path to it."""
    name = Path(os.fsdecode(error.filename)).name if _is_path(error.filename) else ""
    about = f"'{name}': " if name else ""
    return (
        f"{about}{error.strerror or type(error).__name__}. See that the file or folder exists, "
        "that no other program holds it, and that the disk has room."
    )


def _is_path(name: object) -> bool:
    return isinstance(name, str | bytes)


def _fault(error: Exception) -> str:
    """Return one sentence about an unexpected error: its type and the line where it came up."""
    here = Path(__file__).parent.parent
    where = "an unknown place"
    for frame in traceback.extract_tb(error.__traceback__):
        file = Path(frame.filename)
        if here in file.parents:
            where = f"{file.relative_to(here.parent).as_posix()}, line {frame.lineno}"
    return (
        f"this is a fault of alarmsift, not of your logs ({type(error).__name__} in {where}); "
        "nothing was changed. Please send the maintainers this line and what "
        "'alarmsift describe LOGS' prints."
    )


def _print_any_letter() -> None:
    """Let a console with few letters show '?' rather than stop the run."""
    for stream in (sys.stdout, sys.stderr):
        reconfigure = getattr(stream, "reconfigure", None)
        if reconfigure is not None:
            reconfigure(errors="replace")


def _drop_stdout() -> None:
    """Point stdout at nothing: its reader has gone, and closing it would complain again."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
