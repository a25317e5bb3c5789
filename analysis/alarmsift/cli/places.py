"""Folders as the user names them."""

from __future__ import annotations

import os
from pathlib import Path

from alarmsift.errors import InputError


def logs_folder(folder: Path) -> None:
    """Refuse a log folder that isn't there, before anything is loaded or written.

    Raises
    ------
    InputError
    """
    mend = "Give the folder that holds the logs."
    if not folder.exists():
        raise InputError(f"there is no folder '{shown(folder)}'.", mend=mend)
    if not folder.is_dir():
        raise InputError(f"'{shown(folder)}' is a file, not a folder.", mend=mend)


def default_out(logs: Path) -> Path:
    """Return ``reports/<name of LOGS>`` under the current folder."""
    return Path("reports") / (logs.resolve().name or "logs")


def shown(path: Path) -> str:
    """Return a path as seen from the current folder, so that no user's name is printed.

    On Windows a path on another drive can't be put so and is returned as given.
    """
    try:
        return os.path.relpath(path)
    except ValueError:
        return str(path)
