"""The logs of one ship as canonical tables, with the ledger of how they were read."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path

import pandas as pd

from alarmsift.tables.clock import ShipClock
from alarmsift.tables.site import Site

FILE_COLUMNS = [
    "file",  # path relative to the log folder, with forward slashes
    "table",
    "layout",  # plain, merged, wide, ...
    "rows_read",
    "accepted",
    "rejected",
    "duplicates",
    "cells_refused",
    "first_time",
    "last_time",
    "encoding",
    "delimiter",
    "left_out_columns",
    "bytes",
    "sha256",
]
REJECTED_COLUMNS = ["file", "row", "column", "text", "reason"]


@dataclass(frozen=True)
class Ledger:
    """How the files were read; rows_read = accepted + rejected + duplicates for every file.

    Attributes
    ----------
    files : DataFrame
        A row a file, columns FILE_COLUMNS.
    rejected : DataFrame
        Every refused row and every refused cell, columns REJECTED_COLUMNS. A refused cell says
        in its reason that the row was kept.
    conflicts : DataFrame
        Rows with the same key and another value: both kept; columns REJECTED_COLUMNS.
    learnt : tuple of str
        What was assumed or understood, as sentences ("Times without an offset were read as UTC").
    warnings : tuple of str
        What the user should look at, as sentences.
    columns : dict
        File -> its columns as written -> the plain column or gas that each was read as, where it
        bears another name.
    settled : dict
        Settings of ``site.toml`` that the files decided by themselves (date_order, decimal).
    """

    files: pd.DataFrame
    rejected: pd.DataFrame
    conflicts: pd.DataFrame
    learnt: tuple[str, ...] = ()
    warnings: tuple[str, ...] = ()
    columns: dict[str, dict[str, str]] = field(default_factory=dict)
    settled: dict[str, str] = field(default_factory=dict)


@dataclass(frozen=True)
class Logs:
    """The canonical tables of one ship (columns: ``alarmsift.tables.schema``), sorted by time.

    Rows of equal time keep the order in which they stand in the files.
    """

    readings: pd.DataFrame
    events: pd.DataFrame
    operations: pd.DataFrame
    points: pd.DataFrame
    setpoints: pd.DataFrame
    findings: pd.DataFrame
    ledger: Ledger
    site: Site = field(default_factory=Site)
    clock: ShipClock = field(default_factory=ShipClock)
    name: str = ""
    folder: Path | None = None  # where they were read from; stands in no output
