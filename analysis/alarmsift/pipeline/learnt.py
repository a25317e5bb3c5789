"""What was learnt of this installation, said plainly."""

from __future__ import annotations

import numpy as np

from alarmsift.evidence.ship import Ship
from alarmsift.evidence.span_checks import analyser_named
from alarmsift.timeline.coverage import skipped


def learnt(ship: Ship, counts: dict[str, int]) -> tuple[str, ...]:
    """Return sentences on habits, assumptions and what the logs lack."""
    visits, logs = ship.visits, ship.logs
    out = list(logs.ledger.learnt)
    if len(visits):
        out.append(
            f"A round takes {visits.cycle_hours * 60:.0f} minutes over "
            f"{_counted(len(visits.points), 'point')}."
        )
    if visits.told_apart:
        out += [
            f"The logs name no analyser, but the rounds keep no step: analyser {name} was taken to "
            f"look at {', '.join(_points_of(ship, code))}."
            for code, name in enumerate(visits.analysers)
        ]
    inferred = ship.setpoints[ship.setpoints["source"] == "inferred"]
    if len(inferred):
        pairs = inferred.drop_duplicates(["gas", "level", "value"])
        said = ", ".join(
            f"{gas} {level} {value:g}"
            for gas, level, value in zip(pairs["gas"], pairs["level"], pairs["value"], strict=True)
        )
        out.append(f"Setpoints were not in the logs and were inferred from the alarms: {said}.")
    out += _zero_words(ship)
    for gas, carry in ship.carry.items():
        if np.isfinite(carry.share):
            out.append(
                f"{gas}: {carry.share:.1%} of a high sample is still there at the next point "
                f"(from {carry.pairs} readings)."
            )
    if ship.line.columns != "flow and suction":
        out.append(
            "Line health rests on "
            + (
                "nothing: no flow, no suction logged."
                if ship.line.columns == "none"
                else f"{ship.line.columns} alone."
            )
        )
    if not ship.operations.logged:
        out.append("There is no operations log: what people did is not known.")
    if len(visits) and skipped(visits).any():
        out.append("Skipped points leave rows marked as not sampled.")
    out += _odd_words(counts)
    return tuple(out)


def _points_of(ship: Ship, analyser: int) -> list[str]:
    here = np.unique(ship.visits.point[ship.visits.analyser == analyser])
    return [ship.visits.points[p] for p in here]


def _odd_words(counts: dict[str, int]) -> list[str]:
    """Return what was odd in the alarm list."""
    table = (
        ("repeats", "alarm", "raised again while open, counted as repeats"),
        ("clears_without_raise", "clearing", "without a raise, counted and left out"),
        ("inferred_clears", "episode", "without a clearing row, ended where the reading fell back"),
        ("still_open", "episode", "still open at the end of the logs"),
    )
    return [
        f"{_counted(counts[key], noun)} {words}." for key, noun, words in table if counts.get(key)
    ]


def _counted(number: int, noun: str) -> str:
    return f"{number} {noun}" if number == 1 else f"{number} {noun}s"


def _zero_words(ship: Ship) -> list[str]:
    out = []
    for (gas, _), model in ship.zeros.items():
        if not model.anchored:
            out.append(f"{gas}: there is no valid reading, so the detector's zero is not known.")
            continue
        out.append(f"{gas}: the detector's zero is tied to the {model.anchored}.")
        if model.clipped:
            out.append(
                f"{gas}: the display never shows less than nought, so a negative zero is seen "
                "only at zero checks."
            )
    return list(dict.fromkeys(out)) + _unplaced_checks(ship)


def _unplaced_checks(ship: Ship) -> list[str]:
    """Return which zero checks could not be told to belong to one of several analysers."""
    known = () if ship.visits.told_apart else ship.visits.analysers
    rows = ship.operations.of("zero_check", "zero_adjust").drop_duplicates("position")
    named = [str(name) for name in analyser_named(ship, rows)]
    strange = [n for n in named if n and n.casefold() not in {k.casefold() for k in known}]
    if len(ship.visits.analysers) < 2 or not strange:
        return []
    names = ", ".join(dict.fromkeys(strange))
    return [
        f"{_counted(len(strange), 'row')} of zero checks and adjustments name an analyser that the "
        f"readings do not name ({names}): no detector's zero is tied to them."
    ]
