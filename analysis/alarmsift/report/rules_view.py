"""What the logs show of published rules, as the first page shows it."""

from __future__ import annotations

from dataclasses import dataclass

from alarmsift.tables.diagnosis import Diagnosis

# Outcome -> (word, mark). Told by word and mark, never by colour alone.
OUTCOMES = {
    "not_met": ("not met by these logs", "✕"),
    "not_decidable": ("not decidable from these logs", "?"),
    "met": ("met by these logs", "✓"),
}


@dataclass(frozen=True)
class RuleLine:
    """One rule."""

    title: str
    outcome: str
    word: str
    mark: str
    where: str
    why: str
    source: str


def rule_lines(diagnosis: Diagnosis) -> tuple[RuleLine, ...]:
    """Return the rules in the order of the table: those not met first."""
    every = len(diagnosis.points)
    return tuple(
        RuleLine(
            str(row.title),
            str(row.outcome),
            *OUTCOMES[str(row.outcome)],
            _where(str(row.where), every),
            str(row.why),
            str(row.source),
        )
        for row in diagnosis.rules.itertuples()
    )


def _where(where: str, every: int) -> str:
    names = where.split(", ") if where else []
    return "at every point" if len(names) == every > 1 else where
