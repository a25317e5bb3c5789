"""Every exit status that alarmsift gives, by name."""

from __future__ import annotations

from enum import IntEnum


class Status(IntEnum):
    """What the caller learns from the exit status alone."""

    WRITTEN = 0
    """The output was written, or what was asked for was printed."""
    FAULT = 1
    """A fault of alarmsift itself."""
    UNUSABLE = 2
    """The input, the command line or the place for the output can't be used."""
    ROWS_REFUSED = 3
    """``--strict`` was given and rows were refused; the output was written all the same."""
    NOT_INTACT = 4
    """A pack was verified, and something in it is changed, missing or added."""
    STOPPED = 130
    """Stopped from the keyboard (128 + SIGINT, as shells count it)."""
