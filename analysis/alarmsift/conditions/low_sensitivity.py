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
# Share of the time between the checks: a fault that begins at any moment and grows passes the limit
# late rather than early (CP).
LATE = 2.0 / 3.0


def find(ship: Ship, episodes: pd.DataFrame) -> pd.DataFrame:
    """Return the spans in which the sensitivity was too low, by the span checks."""
    rows: list[tuple[str, float, float, float, str, str]] = []
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
                open_from = last_hours + max(share, LATE) * (hours[i] - last_hours)
                bracket, at = (last_hours, hours[i]), i
            elif not np.isnan(open_from) and sensitivity[i] >= LIMIT:
                span = (open_from, float(hours[i]))
                rows.append(_row(ship, (gas, analyser), span, bracket, sensitivity[at]))
                open_from = np.nan
            last_hours, last_value = float(hours[i]), float(min(sensitivity[i], 1.0))
        if not np.isnan(open_from):
            rows.append(_row(ship, (gas, analyser), (open_from, np.inf), bracket, sensitivity[at]))
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
    # What the zero was found or left at within the hour before says it better.
    checks = ship.operations.of("zero_check", "zero_adjust")
    checks = checks[(checks["gas"] == gas) | (checks["gas"] == "")]
    done = checks["hours"].to_numpy(float)
    shown = checks["value"].to_numpy(float)
    left = np.where(checks["action"] == "zero_adjust", 0.0, shown)
    at = np.searchsorted(done, hours + 0.05, "right") - 1
    if len(done):
        near = (at >= 0) & (hours - done[np.maximum(at, 0)] < 1.5)
        told = left[np.maximum(at, 0)]
        zero = np.where(near & np.isfinite(told), told, zero)
    # Oxygen's zero is set in air; its span stands on its own.
    zero = np.zeros(len(hours)) if gas == "O2" else np.where(np.isfinite(zero), zero, 0.0)
    sens = (ops["value"].to_numpy(float) - zero) / ops["reference"].to_numpy(float)
    return pd.DataFrame({"hours": hours, "sens": sens, "adjust": adjust})


def _row(
    ship: Ship,
    detector: tuple[str, int],
    span: tuple[float, float],
    bracket: tuple[float, float],
    sensitivity: float,
) -> tuple[str, float, float, float, str, str]:
    gas, analyser = detector
    limits = ship.setpoints[ship.setpoints["gas"] == gas].drop_duplicates(["level", "value"])
    true = ""
    if sensitivity > 0.0:
        true = ", ".join(
            f"{level} {value:g} is really {value / sensitivity:.1f}"
            for level, value in zip(limits["level"], limits["value"], strict=True)
        )
    clock = ship.logs.clock
    shown = [clock.show(ship.visits.time(h)[0]) for h in bracket]
    return (
        detector_name(ship, gas, analyser),
        span[0],
        span[1],
        0.9,
        f"a span check found {max(sensitivity, 0.0):.0%} of the test gas; it began between "
        f"{shown[0]} and {shown[1]}" + (f"; setpoints: {true}" if true else ""),
        "Check the span again with a cylinder in date, adjust, and write down as found and as "
        "left.",
    )


CONDITION = Condition("low_sensitivity", "Detector too insensitive", find)
