"""Folders as the user names them."""

from __future__ import annotations

import argparse
import os
from pathlib import Path

from alarmsift.errors import InputError


def report_places(parser: argparse.ArgumentParser) -> None:
    """Add where the logs are and where their report goes."""
    parser.add_argument("logs", metavar="LOGS", type=Path, help="folder that holds the logs")
    parser.add_argument(
        "--out",
        metavar="DIR",
        type=Path,
        help="where to write the report (default: reports/<name of LOGS>); a report that "
        "alarmsift wrote there before is replaced",
    )


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
