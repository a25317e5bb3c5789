"""A table on A4 sheets: wrapped cells, the head again on each page, no row cut in two."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from alarmsift.report.pdf_sheet import GRAVE, INK, MARGIN, RULE, SOFT, Sheets

SIZE, LINE = 7.6, 3.7  # letters [pt], line height [mm]
GAP = 2.0  # between columns [mm]
MOST_LINES = 14  # of one cell: a row always fits on a page


@dataclass(frozen=True)
class Column:
    """One column: its title, its share of the width, and whether it holds numbers."""

    title: str
    share: float
    number: bool = False


@dataclass(frozen=True)
class Row:
    """One row; ``grave`` puts a heavy stroke before it."""

    cells: tuple[str, ...]
    grave: bool = False


def draw_table(sheets: Sheets, columns: Sequence[Column], rows: Sequence[Row]) -> None:
    """Draw a table from the present place down.

    Parameters
    ----------
    sheets : Sheets
        The paper.
    columns : sequence of Column
        Shares are of the sum of all.
    rows : sequence of Row
        As many cells as columns; the first is drawn bold.
    """
    whole = sum(column.share for column in columns)
    free = sheets.epw - GAP * (len(columns) - 1)
    widths = [column.share / whole * free for column in columns]
    _head(sheets, columns, widths)
    for row in rows:
        cells = []
        for place, (text, wide) in enumerate(zip(row.cells, widths, strict=True)):
            sheets.ink(SIZE, bold=place == 0)
            lines = sheets.lines(text, wide)
            cells.append(lines[: MOST_LINES - 1] + ["…"] if len(lines) > MOST_LINES else lines)
        height = LINE * max(map(len, cells)) + 1.6
        if sheets.room(height):
            _head(sheets, columns, widths)
        _row(sheets, columns, widths, cells, grave=row.grave)
    sheets.ln(2)


def _head(sheets: Sheets, columns: Sequence[Column], widths: Sequence[float]) -> None:
    sheets.ink(SIZE, colour=SOFT)
    titles = [
        sheets.lines(column.title, wide) for column, wide in zip(columns, widths, strict=True)
    ]
    height = LINE * max(map(len, titles)) + 1.0
    sheets.room(height + 3 * LINE)
    _cells(sheets, columns, widths, titles)
    sheets.set_y(sheets.get_y() + height)
    sheets.rule(INK)
    sheets.ln(0.6)


def _row(
    sheets: Sheets,
    columns: Sequence[Column],
    widths: Sequence[float],
    cells: list[list[str]],
    *,
    grave: bool,
) -> None:
    height = LINE * max(map(len, cells)) + 1.0
    if grave:
        sheets.set_fill_color(*GRAVE)
        sheets.rect(MARGIN - 2.2, sheets.get_y(), 1.1, height - 0.6, style="F")
    sheets.ink(SIZE)
    _cells(sheets, columns, widths, cells, bold_first=True)
    sheets.set_y(sheets.get_y() + height)
    sheets.rule(RULE)
    sheets.ln(0.6)


def _cells(
    sheets: Sheets,
    columns: Sequence[Column],
    widths: Sequence[float],
    cells: list[list[str]],
    *,
    bold_first: bool = False,
) -> None:
    top, left = sheets.get_y(), MARGIN
    for place, (column, wide, lines) in enumerate(zip(columns, widths, cells, strict=True)):
        if bold_first and place < 2:
            sheets.ink(SIZE, bold=place == 0)
        for k, line in enumerate(lines):
            sheets.set_xy(left, top + LINE * k)
            sheets.put(line, wide=wide, high=LINE, align="R" if column.number else "L")
        left += wide + GAP
    sheets.set_xy(MARGIN, top)
