"""Low sensitivity: every reading of a detector is too small, and every alarm comes too late.

Seen only at span checks, so its start is a bracket: between the last good check and the first bad
one. Counted from a sensitivity under 0.85.
"""

import numpy as np
import pandas as pd

from alarmsift.evidence.condition import Condition, found
from alarmsift.evidence.ship import Ship
from alarmsift.evidence.span_checks import checks_by_detector

LIMIT = 0.85
# Share of the time between the checks: a fault that begins at any moment and grows passes the limit
# late rather than early (CP).
LATE = 2.0 / 3.0
# Surer the further a check is under the limit.
LEAST, SPREAD = 0.7, 0.1


def find(ship: Ship, episodes: pd.DataFrame) -> pd.DataFrame:
    """Return the spans in which the sensitivity was too low, by the span checks."""
    rows: list[tuple[str, float, float, float, str, str]] = []
    for gas, _, name, checks in checks_by_detector(ship):
        shown = f"detector {gas} ({name})" if name else f"detector {gas}"
        sure = checks["adjust"] | ~(checks["sens"] - LIMIT).abs().le(checks["unsure"])
        told = checks[sure].reset_index(drop=True)
        hours = told["hours"].to_numpy(float)
        for first, last in _bad(told):
            before = told.iloc[first - 1] if first else None
            ended = float(hours[last + 1]) if last + 1 < len(hours) else np.inf
            rows.append(_row(ship, gas, shown, before, told.iloc[first : last + 1], ended))
    return found(rows)


def _bad(checks: pd.DataFrame) -> list[tuple[int, int]]:
    """Return the first and last row of each run of bad checks."""
    bad = ((checks["sens"] < LIMIT) & ~checks["adjust"].astype(bool)).to_numpy()
    edge = np.diff(np.concatenate([[0], bad.astype(int), [0]]))
    return list(zip(np.flatnonzero(edge == 1), np.flatnonzero(edge == -1) - 1, strict=True))


def _row(
    ship: Ship, gas: str, shown: str, before: pd.Series | None, bad: pd.DataFrame, ended: float
) -> tuple[str, float, float, float, str, str]:
    """Return one span: the last good check (None: the first row of the log), the bad ones."""
    first, last = bad.iloc[0], float(bad["sens"].iloc[-1])
    good_at = 0.0 if before is None else float(before["hours"])
    good = 1.0 if before is None else min(float(before["sens"]), 1.0)
    passed = np.clip((good - LIMIT) / max(good - float(first["sens"]), 1e-6), 0.0, 1.0)
    start = good_at + max(float(passed), LATE) * (float(first["hours"]) - good_at)
    worst = float(bad["sens"].min())
    when = [ship.logs.clock.show(ship.visits.time(h)[0]) for h in (good_at, float(first["hours"]))]
    since = "the first row of the logs" if before is None else f"the good check of {when[0]}"
    true = _true_setpoints(ship, gas, float(bad["hours"].iloc[-1]), last)
    return (
        shown,
        start,
        ended,
        float(np.clip(LEAST + (LIMIT - worst) / SPREAD * (1.0 - LEAST), LEAST, 0.99)),
        f"a span check found {max(last, 0.0):.0%} of the test gas; it began between {since} and "
        f"the bad one of {when[1]}" + (f"; setpoints: {true}" if true else ""),
        "Check the span again with a cylinder in date, adjust, and write down as found and as "
        "left.",
    )


def _true_setpoints(ship: Ship, gas: str, hour: float, sensitivity: float) -> str:
    """Return what gas each alarm in force at ``hour`` now needs, in words."""
    if sensitivity <= 0.0:
        return "no alarm can come"
    time = ship.visits.time(hour)[0]
    rows = ship.setpoints[ship.setpoints["gas"] == gas]
    rows = rows[rows["direction"] == "rising"]
    rows = rows[~(rows["start"] > time) & ~(rows["end"] <= time)]
    rows = rows.drop_duplicates(["level", "value"]).sort_values(["value", "level"])
    return ", ".join(
        f"{level} {value:g} is really {value / sensitivity:.1f}"
        for level, value in zip(rows["level"], rows["value"], strict=True)
    )


CONDITION = Condition("low_sensitivity", "Detector too insensitive", find)
