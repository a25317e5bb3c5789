"""Low sensitivity: every reading of a detector is too small, and every alarm comes too late.

Seen only at span checks, so its start is a bracket: between the last good check and the first bad
one. Counted from a sensitivity under 0.85.
"""

import numpy as np
import pandas as pd

from alarmsift.evidence.condition import Condition, detector_name, found
from alarmsift.evidence.ship import Ship
from alarmsift.evidence.zero import zero_at

LIMIT = 0.85


def find(ship: Ship, episodes: pd.DataFrame) -> pd.DataFrame:
    """Return the spans in which the sensitivity was too low, by the span checks."""
    rows = []
    visits = ship.visits
    first = 0.0
    for gas, analyser in ship.zeros:
        checks = span_checks(ship, gas, analyser)
        if not len(checks):
            continue
        hours, sensitivity, adjust = (checks[c].to_numpy() for c in ("hours", "sens", "adjust"))
        open_from, at = np.nan, -1
        bracket = (np.nan, np.nan)
        last_hours, last_value = first, 1.0
        for i in range(len(checks)):  # a check a month
            if np.isnan(open_from) and sensitivity[i] < LIMIT and not adjust[i]:
                share = np.clip(
                    (last_value - LIMIT) / max(last_value - sensitivity[i], 1e-6), 0.0, 1.0
                )
                open_from = last_hours + share * (hours[i] - last_hours)
                bracket, at = (last_hours, hours[i]), i
            elif not np.isnan(open_from) and sensitivity[i] >= LIMIT:
                rows.append(
                    _row(ship, gas, analyser, open_from, float(hours[i]), bracket, sensitivity[at])
                )
                open_from = np.nan
            last_hours, last_value = float(hours[i]), float(min(sensitivity[i], 1.0))
        if not np.isnan(open_from):
            rows.append(_row(ship, gas, analyser, open_from, np.inf, bracket, sensitivity[at]))
    return found(rows)


def span_checks(ship: Ship, gas: str, analyser: int) -> pd.DataFrame:
    """Return the span checks of a gas: ``hours``, ``sens`` (zero taken out), ``adjust``."""
    ops = ship.operations.of("span_check", "span_adjust")
    ops = ops[((ops["gas"] == gas) | (ops["gas"] == "")) & ops["reference"].gt(0)]
    ops = ops[ops["value"].notna()].drop_duplicates("position")
    if not len(ops):
        return pd.DataFrame({"hours": [], "sens": [], "adjust": []})
    hours = ops["hours"].to_numpy(float)
    adjust = (ops["action"] == "span_adjust").to_numpy()
    zero = zero_at(ship.zeros[gas, analyser], np.zeros(0), hours)
    adjusted = ship.operations.of("zero_adjust")["hours"].to_numpy(float)
    # The zero is set before the span: a zero adjusted within the same hour is nought.
    near = (
        (np.abs(hours[:, None] - adjusted[None, :]) < 1.0).any(axis=1) if len(adjusted) else False
    )
    zero = np.where(near | ~np.isfinite(zero), 0.0, zero)
    sens = (ops["value"].to_numpy(float) - zero) / ops["reference"].to_numpy(float)
    return pd.DataFrame({"hours": hours, "sens": sens, "adjust": adjust})


def _row(  # noqa: PLR0913  (the facts of one span)
    ship: Ship,
    gas: str,
    analyser: int,
    start: float,
    end: float,
    bracket: tuple[float, float],
    sensitivity: float,
) -> tuple[str, float, float, float, str, str]:
    limits = ship.setpoints[ship.setpoints["gas"] == gas].drop_duplicates(["level", "value"])
    true = ", ".join(
        f"{level} {value:g} is really {value / sensitivity:.1f}"
        for level, value in zip(limits["level"], limits["value"], strict=True)
    )
    clock = ship.logs.clock
    shown = [clock.show(ship.visits.time(h)[0]) for h in bracket]
    return (
        detector_name(ship, gas, analyser),
        start,
        end,
        0.9,
        f"a span check found {sensitivity:.0%} of the test gas; it began between {shown[0]} and "
        f"{shown[1]}" + (f"; setpoints: {true}" if true else ""),
        "Check the span again with a cylinder in date, adjust, and write down as found and as left.",
    )


CONDITION = Condition("low_sensitivity", "Detector too insensitive", find)
