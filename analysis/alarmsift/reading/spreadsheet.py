"""Worksheets as CSV text, so that a spreadsheet goes the same way as any other file."""

from __future__ import annotations

import csv
import datetime
import io
from collections.abc import Sequence

from alarmsift.reading.disk import Unusable

_ROWS = 2_000_000  # more than a worksheet can have (1,048,576; ECMA-376)


def worksheets(data: bytes) -> list[tuple[str, bytes]]:
    """Return name and content of each worksheet that holds anything; its rows are the lines.

    Raises
    ------
    Unusable
        When the reader isn't installed, or the file is damaged.
    """
    try:
        # An optional extra: most logs are text.
        from python_calamine import CalamineError, CalamineWorkbook  # noqa: PLC0415  (an optional extra)
    except ImportError as error:
        raise Unusable(
            "is a spreadsheet; save its sheets as CSV, or install alarmsift[xlsx]"
        ) from error
    try:
        book = CalamineWorkbook.from_filelike(io.BytesIO(data))
        sheets = [
            (name, book.get_sheet_by_name(name).to_python(skip_empty_area=False))
            for name in book.sheet_names
        ]
    except (CalamineError, OSError, ValueError) as error:
        raise Unusable("is damaged: it can't be read as a spreadsheet") from error
    texts = [(name, _csv(rows)) for name, rows in sheets]
    return [(name, text) for name, text in texts if text.strip(b",\r\n")]


def _csv(rows: Sequence[Sequence[object]]) -> bytes:
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerows([_cell(cell) for cell in row] for row in rows[:_ROWS])
    return out.getvalue().encode("utf-8")


def _cell(cell: object) -> str:
    """Return a cell as text: moments in ISO 8601, whole numbers without a point, one line."""
    if isinstance(cell, bool):
        return str(int(cell))
    if isinstance(cell, float):
        return str(int(cell)) if cell.is_integer() and abs(cell) < 1e15 else repr(cell)
    if isinstance(cell, datetime.datetime):
        return cell.isoformat(sep=" ")
    if isinstance(cell, datetime.date):  # the reader takes midnight for a date alone
        return f"{cell.isoformat()} 00:00:00"
    return " ".join(str(cell).split())
