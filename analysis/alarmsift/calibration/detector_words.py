"""What the table of detectors says of one of them, as a sentence for the page."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np
import pandas as pd

from alarmsift.tables.clock import ShipClock
from alarmsift.tables.site import Site

# The published guidance behind the monthly interval.
GUIDANCE = "monthly and after any fault by IMO MSC.1/Circ.1370, 4.1.1"


def why(row: Mapping[str, Any], site: Site, clock: ShipClock) -> str:
    """Return how a detector stands: overdue, adjustments that did not hold, the forecast."""
    parts = [_due(row, site, clock), _held(row), _out(row), _outlook(row, clock)]
    return "; ".join(part for part in parts if part)


def _due(row: Mapping[str, Any], site: Site, clock: ShipClock) -> str:
    rule = GUIDANCE
    if "calibration_days" in site.given:
        rule = f"every {site.calibration_days:g} days by site.toml"
    if not row["checks"]:
        return f"no {row['kind']} check stands in the logs ({rule})"
    if np.isfinite(row["overdue_days"]):
        late = row["overdue_days"]
        days = f"{late:.0f} day{'s' * (round(late) != 1)}" if late >= 1.0 else "less than a day"
        return f"the {row['kind']} check is {days} overdue ({rule})"
    return f"the next {row['kind']} check is due by {_day(row['due'], clock)}"


def _held(row: Mapping[str, Any]) -> str:
    count = row["not_held"]
    return f"{count} adjustment{'s' * (count != 1)} did not hold" if count else ""


def _out(row: Mapping[str, Any]) -> str:
    count = row["out"]
    return f"found out of tolerance {count} time{'s' * (count != 1)}" if count else ""


def _outlook(row: Mapping[str, Any], clock: ShipClock) -> str:
    limit = f"{row['tolerance']:g} {row['unit']}" + " of the span gas" * (row["kind"] == "span")
    share = f"{row['confidence']:.0%}"
    key = row["forecast"]
    if key == "passed":
        return f"it stands at {row['level']:+.2g}, beyond the {limit} allowed"
    if key == "no_data":
        return "too little was seen since the last adjustment to foresee anything"
    early = "" if pd.isna(row["crosses_low"]) else _day(row["crosses_low"], clock)
    if key == "beyond":
        words = f"it is not likely to leave {limit} within a year"
        return words + (f", but could from {early} on (1 chance in 20)" if early else "")
    middle = _day(row["crosses"], clock)
    if key == "no_finite_end":
        return (
            f"if it goes on so it leaves {limit} about {middle}, at the earliest {early} "
            f"({share} interval; no latest day can be told)"
        )
    return (
        f"if it goes on so it leaves {limit} about {middle} "
        f"({share} interval {early} to {_day(row['crosses_high'], clock)})"
    )


def _day(time: pd.Timestamp, clock: ShipClock) -> str:
    return clock.show(time, "%Y-%m-%d")
