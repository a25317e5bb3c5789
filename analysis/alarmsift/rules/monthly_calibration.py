"""Was every detector's zero and span looked at every month?"""

import numpy as np
import pandas as pd

from alarmsift.evidence.rule import Kept, Rule, Ruling, met, not_decidable, not_met

MONTH_DAYS = 31.0
KINDS = ("zero", "span")


def check(kept: Kept) -> Ruling:
    """Return whether no month of the watch passed without a zero and a span check."""
    ship, done = kept.ship, kept.calibration
    if done.empty or not len(ship.visits):
        return not_decidable("The logs hold no zero or span check; they may be kept elsewhere.")
    start, end = (float(ship.visits.hours[i]) / 24.0 for i in (0, -1))
    late: dict[str, float] = {}
    open_ = []
    for gas in ship.visits.gases:
        for kind in KINDS:
            days = _days(ship.visits.since(done["time"]), done, gas, kind)
            longest = float(np.diff(np.concatenate([[start], np.sort(days), [end]])).max())
            if longest > MONTH_DAYS:
                late[f"detector {gas}"] = max(longest, late.get(f"detector {gas}", 0.0))
            elif not len(days):
                open_.append(f"{gas} {kind}")
    if late:
        return not_met(late, f"Up to {max(late.values()):.0f} days passed without a check.")
    if open_:
        return not_decidable(f"The logs are under a month long and hold no {', '.join(open_)}.")
    return met("Zero and span of every detector were looked at within every month of the logs.")


def _days(hours: np.ndarray, done: pd.DataFrame, gas: str, kind: str) -> np.ndarray:
    mine = done["gas"].isin([gas, ""]) & done["check"].astype(str).str.startswith(kind)
    return np.asarray(hours[mine.to_numpy(bool)] / 24.0)


RULE = Rule(
    key="monthly_calibration",
    title="Zero and span of every detector are calibrated every month",
    source="IMO MSC.1/Circ.1370, 4.1.1",
    check=check,
)
