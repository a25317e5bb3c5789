"""Puts a folder in its place whole or not at all, and never over what alarmsift did not make."""

from __future__ import annotations

import re
import shutil
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from alarmsift.errors import OutputError
from alarmsift.tables.marker import mark, marked

# Tries of a rename, and the wait between them [s]: a virus scanner on a ship's PC holds new files
# for a moment (common practice, no source).
RENAME_TRIES = 6
RENAME_WAIT_S = 0.25


def check_target(folder: Path, logs_path: Path) -> None:
    """Refuse an output folder that would harm the logs or somebody's files.

    Parameters
    ----------
    folder : Path
        Where the report is to stand.
    logs_path : Path
        The log folder that is read.

    Raises
    ------
    OutputError
        When ``folder`` is the log folder or a folder around it, or when it holds files that
        alarmsift did not write.
    """
    target, logs = folder.resolve(), logs_path.resolve()
    if target == logs:
        raise OutputError(
            f"'{folder}' is the log folder itself; the report would replace the logs. "
            "Name another folder with --out."
        )
    if target in logs.parents:
        raise OutputError(
            f"'{folder}' holds the log folder '{logs_path}'; the report would replace the logs. "
            "Name another folder with --out."
        )
    refuse_foreign(folder)


def refuse_foreign(folder: Path) -> None:
    """Refuse a target that is a file, or a folder with content that alarmsift did not write.

    Raises
    ------
    OutputError
        With what stands there and what to do.
    """
    if folder.is_dir():
        if not marked(folder) and any(folder.iterdir()):
            raise OutputError(
                f"'{folder}' already holds files that alarmsift did not write, and they would be "
                "lost. Name an empty or new folder with --out."
            )
    elif folder.exists() or folder.is_symlink():
        raise OutputError(f"'{folder}' is a file, not a folder. Name a folder with --out.")


@contextmanager
def whole_folder(folder: Path, kind: str) -> Iterator[Path]:
    """Give a fresh folder beside ``folder`` to write in, and move it there at the end.

    On any error the part is removed and what stood at ``folder`` is untouched.

    Parameters
    ----------
    folder : Path
        The final place.
    kind : str
        Kind in the marker file, ``report``.

    Yields
    ------
    Path
        The folder to write in; it already carries the marker, so that a reader of logs skips it
        if the run is killed.
    """
    refuse_foreign(folder)
    part, old = _beside(folder, "part"), _beside(folder, "old")
    try:
        folder.parent.mkdir(parents=True, exist_ok=True)
        _recover(folder, part, old)
        part.mkdir()
        mark(part, kind)
    except OSError as error:
        raise OutputError(_cannot(folder, error)) from error
    try:
        yield part
        _move(part, folder, old)
    except OSError as error:
        raise OutputError(_cannot(folder, error)) from error
    finally:
        shutil.rmtree(part, ignore_errors=True)


def _beside(folder: Path, word: str) -> Path:
    return folder.resolve().parent / f".{folder.resolve().name}.{word}"


def _recover(folder: Path, part: Path, old: Path) -> None:
    """Clear away what a killed run left: its part, and the old folder if it was put aside."""
    if part.exists() and not marked(part):
        raise OutputError(f"'{part}' stands in the way. Move it elsewhere and run again.")
    if marked(old) and not folder.exists():
        rename(old, folder)
    shutil.rmtree(part, ignore_errors=True)
    for left in _put_aside(old):
        if marked(left):
            shutil.rmtree(left, ignore_errors=True)


def _put_aside(old: Path) -> list[Path]:
    """Return the old name and those with a number behind it, as far as they are there."""
    name = re.compile(rf"{re.escape(old.name)}\d*")
    return [path for path in old.parent.iterdir() if name.fullmatch(path.name)]


def _free(old: Path) -> Path:
    """Return a name that is free: a program may still hold an older report that was put aside."""
    taken = {path.name for path in _put_aside(old)}
    numbers = (f"{old.name}{k or ''}" for k in range(len(taken) + 1))
    return old.with_name(next(name for name in numbers if name not in taken))


def _move(part: Path, folder: Path, old: Path) -> None:
    refuse_foreign(folder)
    if not folder.exists():
        rename(part, folder)
        return
    if not marked(folder):
        folder.rmdir()  # empty, as refuse_foreign has seen
        rename(part, folder)
        return
    aside = _free(old)
    rename(folder, aside)
    try:
        rename(part, folder)
    except OSError:
        rename(aside, folder)
        raise
    shutil.rmtree(aside, ignore_errors=True)


def rename(source: Path, target: Path) -> None:
    """Rename a folder, with patience for a program that still holds one of its files."""
    for attempt in range(RENAME_TRIES):
        try:
            source.rename(target)
        except PermissionError:
            if attempt == RENAME_TRIES - 1:
                raise
            time.sleep(RENAME_WAIT_S)
        else:
            return


def _cannot(folder: Path, error: OSError) -> str:
    if isinstance(error, PermissionError) and folder.exists():
        return (
            f"'{folder}' can't be replaced: a program holds it or one of its files open, or it may "
            "not be written to. Close report.pdf, the tables and the folder's own window, and run "
            "again. What stood there is untouched; --out DIR writes elsewhere."
        )
    why = error.strerror or type(error).__name__
    return (
        f"The output can't be written to '{folder}': {why}. Close programs that show files of that "
        "folder, see that the disk has room and may be written to, or name another with --out."
    )
