"""The canonical tables as Parquet, which alarmsift reads again as a log folder."""

from __future__ import annotations

from pathlib import Path

from alarmsift.tables.logs import Logs
from alarmsift.tables.schema import TABLES


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
        table = getattr(logs, name)
        table.to_parquet(place / f"{name}.parquet", index=False, compression="zstd")
