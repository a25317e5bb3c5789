"""What was read: files, rows kept and refused, what was assumed, what to look at."""

from __future__ import annotations

from dataclasses import dataclass

from alarmsift.report.figures import number, text
from alarmsift.report.times import Moment, moments
from alarmsift.tables.clock import ShipClock
from alarmsift.tables.logs import Ledger

SHORT_SHA = 12
MOST_REASONS = 12


@dataclass(frozen=True)
class FileLine:
    """One input file."""

    file: str
    table: str
    layout: str
    rows_read: str
    accepted: str
    rejected: str
    duplicates: str
    cells_refused: str
    first: Moment
    last: Moment
    left_out: str
    sha256: str


@dataclass(frozen=True)
class ImportView:
    """All of the import summary; ``reasons`` are (reason, count), the commonest first."""

    files: tuple[FileLine, ...]
    reasons: tuple[tuple[str, int], ...]
    more_reasons: int
    conflicts: int
    learnt: tuple[str, ...]
    warnings: tuple[str, ...]


def import_view(ledger: Ledger, clock: ShipClock) -> ImportView:
    """Return the import summary of a ledger, times by the ship's clock."""
    files = ledger.files
    first, last = moments(files["first_time"], clock), moments(files["last_time"], clock)
    reasons = ledger.rejected["reason"].astype(str).value_counts(sort=False)
    ranked = sorted(reasons.items(), key=lambda one: (-one[1], str(one[0])))
    return ImportView(
        files=tuple(
            FileLine(
                text(row.file),
                text(row.table),
                text(row.layout),
                number(row.rows_read),
                number(row.accepted),
                number(row.rejected),
                number(row.duplicates),
                number(row.cells_refused),
                a,
                b,
                _names(row.left_out_columns),
                text(row.sha256)[:SHORT_SHA],
            )
            for row, a, b in zip(files.itertuples(), first, last, strict=True)
        ),
        reasons=tuple((str(a), int(b)) for a, b in ranked[:MOST_REASONS]),
        more_reasons=max(len(ranked) - MOST_REASONS, 0),
        conflicts=len(ledger.conflicts),
        learnt=tuple(ledger.learnt),
        warnings=tuple(ledger.warnings),
    )


def _names(cell: object) -> str:
    return ", ".join(str(one) for one in cell) if isinstance(cell, list | tuple) else text(cell)
