"""The point-by-day picture as a few long paths: a year of cells stays light enough for a page."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass

from alarmsift.report.day_picture import ROW_HEIGHT, DayCell, DayPanel, DayRow
from alarmsift.report.words import Look

CELL_HEIGHT = 14.0
FOOT_HEIGHT = 5.0  # of the pattern under a letter: unwatched time on a day with alarms
LEAST_SHARE = 0.3  # an hour unwatched must still be seen


@dataclass(frozen=True)
class Letters:
    """Letters of one ink in one row: a text element with an x for each letter."""

    ink: str
    y: float
    x: str
    text: str


@dataclass(frozen=True)
class PanelDrawing:
    """A panel with its marks: ``fills`` are (look, path), ``gaps`` (group, path)."""

    panel: DayPanel
    fills: tuple[tuple[Look, str], ...]
    frames: str
    gaps: tuple[tuple[str, str], ...]
    letters: tuple[Letters, ...]
    row_height: float = ROW_HEIGHT


def panel_drawing(panel: DayPanel) -> PanelDrawing:
    """Return the marks of a panel.

    Parameters
    ----------
    panel : DayPanel
        Rows and cells in user units.
    """
    fills: dict[Look, list[str]] = defaultdict(list)
    gaps: dict[str, list[str]] = defaultdict(list)
    frames: list[str] = []
    letters: list[Letters] = []
    for row in panel.rows:
        for cell in row.cells:
            if cell.look is not None:
                box = _box(cell.x + 0.5, row.y + 1.5, panel.cell - 1, CELL_HEIGHT)
                fills[cell.look].append(box)
                if cell.grave:
                    frames.append(box)
            if cell.unwatched:
                gaps[cell.unwatched].append(_gap(cell, row, panel.cell))
        letters += _letters(row, panel.cell)
    return PanelDrawing(
        panel,
        tuple((look, "".join(path)) for look, path in fills.items()),
        "".join(frames),
        tuple((group, "".join(path)) for group, path in gaps.items()),
        tuple(letters),
    )


def gap_height(cell: DayCell) -> float:
    """Return the height of the pattern that shows unwatched time, in user units."""
    whole = FOOT_HEIGHT if cell.look else CELL_HEIGHT
    return whole * (LEAST_SHARE + (1 - LEAST_SHARE) * cell.share)


def _gap(cell: DayCell, row: DayRow, width: float) -> str:
    height = gap_height(cell)
    return _box(cell.x + 0.5, row.y + 15.5 - height, width - 1, height)


def _letters(row: DayRow, width: float) -> list[Letters]:
    rows: dict[tuple[str, float], list[DayCell]] = defaultdict(list)
    for cell in row.cells:
        if cell.look is not None:
            rows[cell.look.ink, row.y + (10.5 if cell.unwatched else 12.0)].append(cell)
    return [
        Letters(
            ink,
            y,
            " ".join(_short(cell.x + width / 2) for cell in cells),
            "".join(cell.look.letter for cell in cells if cell.look),
        )
        for (ink, y), cells in rows.items()
    ]


def _box(x: float, y: float, width: float, height: float) -> str:
    wide = _short(width)
    return f"M{_short(x)} {_short(y)}h{wide}v{_short(height)}h-{wide}z"


def _short(value: float) -> str:
    return f"{value:.1f}".removesuffix(".0")
