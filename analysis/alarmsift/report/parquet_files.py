"""The canonical tables as Parquet, which alarmsift reads again as a log folder."""

from __future__ import annotations

from pathlib import Path

import pandas as pd

from alarmsift.tables.logs import Logs
from alarmsift.tables.schema import TABLES

# Times rise and rows are counted up, so their steps take a quarter of the room of the values
# themselves (1.56 million readings: 2.7 MB in place of 9.7). Higher levels win a tenth more and
# take three times as long.
STEPS = "DELTA_BINARY_PACKED"
LEVEL = 9  # of zstd [-]


def write_parquet_files(logs: Logs, folder: Path) -> None:
    """Write every canonical table to ``folder/tables``, also the empty ones.

    Parameters
    ----------
    logs : Logs
        The tables as read; the source columns go along, so that evidence can still be traced to
        the line of the first file.
    folder : Path
        The report folder.
    """
    place = folder / "tables"
    place.mkdir()
    for name in TABLES:
        table: pd.DataFrame = getattr(logs, name)
        steps = [column for column in table if _rises(table[column])]
        table.to_parquet(
            place / f"{name}.parquet",
            index=False,
            compression="zstd",
            compression_level=LEVEL,
            use_dictionary=[column for column in table if column not in steps],
            column_encoding=dict.fromkeys(steps, STEPS),
        )


def _rises(column: pd.Series) -> bool:
    """Return whether a column holds times or whole numbers."""
    return bool(
        pd.api.types.is_datetime64_any_dtype(column) or pd.api.types.is_integer_dtype(column)
    )
