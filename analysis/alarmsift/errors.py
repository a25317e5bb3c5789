"""Every error that a user can meet, as sentences that say what, where and how to mend it.

::

    AlarmsiftError
    ├── InputError      the logs or site.toml can't be used            (exit status 2)
    ├── OutputError     the output can't be written where it was asked (exit status 2)
    ├── RowsRefused     rows were refused and the user asked to be strict (exit status 3)
    └── PackNotIntact   a pack is not as it was sealed, or comes out otherwise (exit status 4)
"""

from __future__ import annotations

from collections.abc import Sequence


class AlarmsiftError(Exception):
    """A message for the user; never shown as a traceback."""


class InputError(AlarmsiftError):
    """The input can't be used.

    Parameters
    ----------
    what : str
        What was found and what was expected, one sentence.
    file : str, optional
        Path relative to the log folder.
    row : int, optional
        Line number as a text editor shows it; the header is line 1.
    column : str, optional
        Column name as it stands in the file.
    mend : str, optional
        How to mend it, one sentence.
    shown : sequence of str, optional
        The user's own rows, one line each, with the ways in which they can be read.
    """

    def __init__(
        self,
        what: str,
        *,
        file: str | None = None,
        row: int | None = None,
        column: str | None = None,
        mend: str | None = None,
        shown: Sequence[str] = (),
    ) -> None:
        self.what, self.file, self.row, self.column, self.mend = what, file, row, column, mend
        where = [f"file {file}" if file else "", f"row {row}" if row is not None else ""]
        where.append(f"column '{column}'" if column else "")
        place = ", ".join(part for part in where if part)
        self.shown = tuple(shown)
        first = " ".join(part for part in (place and f"{place}:", what) if part)
        rows = "".join(f"\n  {line}" for line in self.shown)
        gap = "\n" if self.shown else " "
        super().__init__(first + rows + (gap + mend if mend else ""))


class OutputError(AlarmsiftError):
    """The output can't be written where it was asked for."""


class RowsRefused(AlarmsiftError):  # noqa: N818  (named for what happened, not "Error")
    """Rows were refused and ``--strict`` was given; the output was written all the same."""


class PackNotIntact(AlarmsiftError):  # noqa: N818  (named for what was found)
    """A pack was verified and is not as it was sealed, or a rerun does not agree with it."""
