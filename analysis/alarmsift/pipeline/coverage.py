"""The coverage table: gaps in the readings, and spans in which a line delivered no own air."""

from __future__ import annotations

import numpy as np
import pandas as pd

from alarmsift.evidence.ship import Ship
from alarmsift.tables.diagnosis import COVERAGE_COLUMNS
from alarmsift.timeline.coverage import explained_gaps
from alarmsift.timeline.never_read import never_read, whole_span
from alarmsift.timeline.visits import Visits


def coverage_table(ship: Ship, conditions: pd.DataFrame) -> pd.DataFrame:
    """Return every span in which a point went unwatched longer than the cycle limit."""
    visits = ship.visits
    limit = ship.logs.site.cycle_limit_min / 60.0
    gaps = _joined_slow(explained_gaps(ship.logs, visits, ship.operations, limit))
    names = np.array([*visits.points, ""], dtype=object)
    frame = pd.DataFrame(
        {
            "point": names[gaps["point"].to_numpy("int64")],
            "start": gaps["start"].to_numpy(float),
            "end": gaps["end"].to_numpy(float),
            "reason": gaps["reason"].to_numpy(object),
        }
    )
    last = float(visits.hours[-1]) if len(visits) else 0.0
    extra = conditions[conditions["condition"].isin(["water", "blocked"])]
    lines = pd.DataFrame(
        {
            "point": extra["point"].to_numpy(object),
            "start": visits.since(extra["start"]),
            "end": np.nan_to_num(visits.since(extra["end"]), nan=last),
            "reason": extra["condition"].to_numpy(object),
        }
    )
    never = never_read(ship.logs, visits)
    begin, end = whole_span(visits) if never else (0.0, 0.0)
    unread = pd.DataFrame({"point": never, "start": begin, "end": end, "reason": "not_sampled"})
    frame = _split_left(frame, conditions, visits, last)
    parts = [frame, lines[lines["end"] - lines["start"] > limit]] + ([unread] if never else [])
    both = pd.concat(parts, ignore_index=True)
    both["minutes"] = (both["end"] - both["start"]) * 60.0
    for name in ("start", "end"):
        both[name] = pd.Series(visits.time(both[name].to_numpy(float))).to_numpy()
        both[name] = pd.to_datetime(both[name], utc=True).astype("datetime64[us, UTC]")
    return both[COVERAGE_COLUMNS].sort_values(
        ["point", "start", "reason"], kind="stable", ignore_index=True
    )


def _joined_slow(gaps: pd.DataFrame) -> pd.DataFrame:
    """Join slow rounds that follow each other without a break into one span."""
    slow = gaps["reason"] == "slow_cycle"
    rest, part = gaps[~slow], gaps[slow].sort_values(["point", "start"])
    if part.empty:
        return gaps
    new = (part["point"] != part["point"].shift()) | (part["start"] > part["end"].shift() + 1e-6)
    joined = part.groupby(new.cumsum()).agg(
        point=("point", "first"),
        start=("start", "first"),
        end=("end", "last"),
        reason=("reason", "first"),
    )
    return pd.concat([rest, joined], ignore_index=True)


def _split_left(
    frame: pd.DataFrame, conditions: pd.DataFrame, visits: Visits, last: float
) -> pd.DataFrame:
    """Cut a disconnected span where the space was empty again: from there it was left off."""
    left = conditions[conditions["condition"] == "left_disconnected"]
    if left.empty or frame.empty:
        return frame
    spans = pd.DataFrame(
        {
            "point": left["point"].to_numpy(object),
            "left_start": visits.since(left["start"]),
            "left_end": np.nan_to_num(visits.since(left["end"]), nan=last),
        }
    )
    off = frame[frame["reason"] == "disconnected"].reset_index()
    hit = off.merge(spans, on="point")
    hit = hit[(hit["left_start"] < hit["end"]) & (hit["left_end"] > hit["start"])]
    hit = hit.drop_duplicates("index")
    before = hit.assign(end=hit["left_start"].clip(lower=hit["start"]))
    after = hit.assign(start=before["end"], reason="left_disconnected")
    pieces = pd.concat([before, after])[frame.columns]
    kept = frame.drop(index=hit["index"])
    return pd.concat([kept, pieces[pieces["end"] > pieces["start"]]], ignore_index=True)
