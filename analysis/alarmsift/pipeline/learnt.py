"""What was learnt of this installation, said plainly."""

from __future__ import annotations

import numpy as np

from alarmsift.evidence.ship import Ship
from alarmsift.timeline.coverage import skipped


def learnt(ship: Ship, counts: dict[str, int]) -> tuple[str, ...]:
    """Return sentences on habits, assumptions and what the logs lack."""
    visits, logs = ship.visits, ship.logs
    out = list(logs.ledger.learnt)
    if len(visits):
        out.append(
            f"A round takes {visits.cycle_hours * 60:.0f} minutes over "
            f"{len(visits.points)} point(s)."
        )
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
    for key, words in (
        ("repeats", "alarm(s) raised again while open, counted as repeats"),
        ("clears_without_raise", "clearing(s) without a raise, counted and left out"),
        ("inferred_clears", "episode(s) without a clearing row, ended where the reading fell back"),
        ("still_open", "episode(s) still open at the end of the logs"),
    ):
        if counts.get(key):
            out.append(f"{counts[key]} {words}.")
    return tuple(out)


def _zero_words(ship: Ship) -> list[str]:
    out = []
    for (gas, _), model in ship.zeros.items():
        out.append(f"{gas}: the detector's zero is tied to the {model.anchored}.")
        if model.clipped:
            out.append(
                f"{gas}: the display never shows less than nought, so a negative zero is seen "
                "only at zero checks."
            )
    return list(dict.fromkeys(out))
