"""A file of weights: the same columns as the report's ``weights.csv``, only the rows to change."""

from __future__ import annotations

import csv
import io
from pathlib import Path

import pandas as pd

from alarmsift.errors import InputError
from alarmsift.reading.disk import Unusable
from alarmsift.reading.encodings import to_utf8

_MEND = "Take the rows to change from weights.csv of any report, with its header."


def read_weights(path: Path) -> pd.DataFrame:
    """Return the cells of a file of weights as text, by their column names in lower case.

    Separators are commas, or semicolons or tabs when the header has them; beside these a number may
    have a decimal comma. Blank lines are skipped.

    Parameters
    ----------
    path : Path

    Returns
    -------
    DataFrame
        The index is the row as a text editor counts it.

    Raises
    ------
    InputError
        When the file isn't there or isn't such a table.
    """
    name = path.name
    if not path.is_file():
        raise InputError("there is no such file.", file=name, mend=_MEND)
    try:
        text = to_utf8(path.read_bytes())[0].decode("utf-8", errors="replace").lstrip("\ufeff")
        header, rows = _rows(text)
    except Unusable as why:
        raise InputError(f"it {why}, expected a CSV file.", file=name, mend=_MEND) from None
    except csv.Error:
        raise InputError("it is no CSV file that can be read.", file=name, mend=_MEND) from None
    for row, cells in rows.items():
        if len(cells) != len(header):
            raise InputError(
                f"there are {len(cells)} cells, expected {len(header)} as in the header.",
                file=name,
                row=row,
                mend="Write decimals with a point, and text that holds a separator in quotes.",
            )
    return pd.DataFrame.from_dict(rows, orient="index", columns=header, dtype="str")


def _rows(text: str) -> tuple[list[str], dict[int, list[str]]]:
    """Return the header and the cells of every row that isn't blank, by row."""
    first = text.partition("\n")[0]
    mark = next((one for one in ";\t" if one in first), ",")
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=mark)
    header = [cell.strip().lower() for cell in next(reader, [])]
    rows, begin = {}, reader.line_num + 1
    for cells in reader:
        stripped = [cell.strip() for cell in cells]
        if any(stripped):
            rows[begin] = stripped
        begin = reader.line_num + 1
    if mark != ",":
        numbers = [k for k, name in enumerate(header) if name in ("present", "absent")]
        for cells in rows.values():
            for k in numbers:
                if k < len(cells):
                    cells[k] = cells[k].replace(",", ".")
    return header, rows
