"""Alarm episodes: from raised to cleared, with what was missing on the way."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from alarmsift.tables.logs import Logs
from alarmsift.timeline.in_force import in_force
from alarmsift.timeline.visits import Visits

KEY = ["kind", "point", "gas", "level"]


@dataclass(frozen=True)
class Episodes:
    """Episodes and what was odd about the alarm list.

    Attributes
    ----------
    table : DataFrame
        A row an episode in order of time raised: ``kind``, ``point``, ``gas``, ``level``,
        ``raised``, ``cleared``, ``acknowledged`` (UTC), ``inferred_clear`` (bool), ``by_reset``
        (bool), ``repeats`` (raises while open), ``value`` (at the raise, as the list says),
        ``source_file``, ``first_row``, ``last_row``.
    counts : dict
        ``repeats``, ``clears_without_raise``, ``inferred_clears``, ``still_open``.
    """

    table: pd.DataFrame
    counts: dict[str, int]


def build_episodes(logs: Logs, visits: Visits, setpoints: pd.DataFrame) -> Episodes:
    """Return the episodes of the alarm list.

    A raise while open is a repeat, unless the readings went back under the setpoint less the
    deadband in between: then the old episode ends at that reading and a new one starts.
    """
    events = _keyed(logs.events)
    moves = events[events["state"].isin(["raised", "cleared", "reset"])]
    if not (moves["state"] == "raised").any():
        clears = int((moves["state"] == "cleared").sum())
        return Episodes(_empty(), _counts(_empty(), 0, clears))
    moves = moves.sort_values([*KEY, "time", "position"], kind="stable", ignore_index=True)
    same_key = ~_changed(moves)
    raised = (moves["state"] == "raised").to_numpy()
    before_open = np.zeros(len(moves), bool)
    before_open[1:] = raised[:-1] & same_key[1:]
    back_under = _first_back_under(moves, before_open & raised, visits, setpoints)
    repeat = raised & before_open & np.isnan(back_under)
    # A run of repeats keeps the first raise open: look back past the repeats.
    opens = raised & ~repeat
    closes = ~raised & _open_before(opens, ~raised, same_key)
    table = _pair(moves, opens, closes, back_under, visits)
    table = _acknowledge(table, events)
    stray = int((~raised & ~closes & (moves["state"] == "cleared")).sum())
    table = table.sort_values(["raised", *KEY], kind="stable", ignore_index=True)
    return Episodes(table, _counts(table, int(repeat.sum()), stray))


def _keyed(events: pd.DataFrame) -> pd.DataFrame:
    """Return events with plain text keys; a reset or clear of everything is spread over all."""
    frame = pd.DataFrame(
        {
            "time": events["time"],
            "kind": events["event"].astype(object),
            "point": events["point"].astype(object).fillna("").str.strip(),
            "gas": events["gas"].astype(object).fillna(""),
            "level": events["level"].astype(object).fillna("").str.strip().str.lower(),
            "state": events["state"].astype(object),
            "value": events["value"],
            "source_file": events["source_file"].astype(object),
            "source_row": events["source_row"],
            "position": np.arange(len(events)),
        }
    )
    frame.loc[frame["kind"] == "fault", "gas"] = ""
    frame = frame[frame["time"].notna()]
    raised = frame[frame["state"] == "raised"]
    keys = raised[KEY].drop_duplicates()
    known = pd.MultiIndex.from_frame(keys)
    general = frame["state"].isin(["reset", "acknowledged", "cleared"]) & ~pd.MultiIndex.from_frame(
        frame[KEY]
    ).isin(known)
    if not general.any() or keys.empty:
        return frame
    loose = frame[general].reset_index(drop=True)
    pairs = loose.merge(keys, how="cross", suffixes=("", "_key"))
    fits = np.ones(len(pairs), bool)
    for name in KEY:
        fits &= ((pairs[name] == "") | (pairs[name] == pairs[f"{name}_key"])).to_numpy()
    spread = pairs[fits].drop(columns=KEY).rename(columns={f"{name}_key": name for name in KEY})
    kept = loose[~loose["position"].isin(spread["position"])]
    return pd.concat([frame[~general], spread[frame.columns], kept], ignore_index=True)


def _changed(frame: pd.DataFrame) -> np.ndarray:
    new = np.ones(len(frame), bool)
    new[1:] = False
    for name in KEY:
        column = frame[name].to_numpy()
        new[1:] |= column[1:] != column[:-1]
    return new


def _open_before(opens: np.ndarray, closes: np.ndarray, same_key: np.ndarray) -> np.ndarray:
    """Tell for each row whether an episode of its key is open just before it."""
    index = np.arange(len(opens))
    start = np.maximum.accumulate(np.where(~same_key, index, 0))
    last_open = _last_before(opens)
    last_close = _last_before(closes)
    return (last_open >= start) & (last_open > np.where(last_close >= start, last_close, -1))


def _last_before(flag: np.ndarray) -> np.ndarray:
    index = np.where(flag, np.arange(len(flag)), -1)
    out = np.full(len(flag), -1)
    out[1:] = np.maximum.accumulate(index)[:-1]
    return out


def _first_back_under(
    moves: pd.DataFrame, repeated: np.ndarray, visits: Visits, setpoints: pd.DataFrame
) -> np.ndarray:
    """Return, for raises while open, when a reading was back under; NaN where none was.

    Shape (rows of moves,), hours since origin.
    """
    out = np.full(len(moves), np.nan)
    rows = np.flatnonzero(repeated & (moves["kind"] == "alarm").to_numpy())
    if not len(rows):
        return out
    hours = visits.since(moves["time"])
    spans = in_force(setpoints, visits)
    for (point, gas, level), group in moves.iloc[rows].groupby(["point", "gas", "level"]):
        if point not in visits.points or gas not in visits.value:
            continue
        span = spans.get((point, gas, level))
        if span is None:
            continue
        mine = visits.of(visits.points.index(point))
        when, value = visits.hours[mine], visits.value[gas][mine]
        limit, band = span.value_at(when), span.deadband_at(when)
        under = value > limit + band if span.falling else value < limit - band
        seen = when[under]
        which = group.index.to_numpy()
        after = np.searchsorted(seen, hours[which - 1], "right")
        padded = np.append(seen, np.nan)
        first = padded[after]
        out[which] = np.where(first < hours[which], first, np.nan)
    return out


def _pair(
    moves: pd.DataFrame,
    opens: np.ndarray,
    closes: np.ndarray,
    back_under: np.ndarray,
    visits: Visits,
) -> pd.DataFrame:
    """Pair each opening raise with the close that follows it within its key."""
    start = np.flatnonzero(opens)
    ends = np.flatnonzero(opens | closes)
    after = np.searchsorted(ends, start, "right")
    after_row = np.where(after < len(ends), ends[np.minimum(after, len(ends) - 1)], -1)
    key = np.cumsum(_changed(moves))
    has = (after_row >= 0) & (key[np.maximum(after_row, 0)] == key[start])
    closing = has & closes[np.maximum(after_row, 0)]
    inferred = has & ~closing
    cleared = moves["time"].to_numpy()[np.maximum(after_row, 0)]
    cleared_series = pd.Series(pd.DatetimeIndex(cleared), dtype="datetime64[us, UTC]")
    guess = pd.Series(visits.time(back_under[np.maximum(after_row, 0)])).astype(
        "datetime64[us, UTC]"
    )
    cleared_series = cleared_series.where(~inferred, guess).where(has)
    repeats = np.diff(np.append(np.searchsorted(np.flatnonzero(~opens & ~closes), start), 0))
    table = moves.iloc[start][[*KEY, "time", "value", "source_file", "source_row"]]
    table = table.rename(columns={"time": "raised", "source_row": "first_row"})
    table = table.reset_index(drop=True)
    table["cleared"] = cleared_series
    table["inferred_clear"] = inferred
    table["by_reset"] = closing & (moves["state"].to_numpy()[np.maximum(after_row, 0)] == "reset")
    rows = moves["source_row"].to_numpy()
    same_file = (
        moves["source_file"].to_numpy()[np.maximum(after_row, 0)]
        == moves["source_file"].to_numpy()[start]
    )
    last = np.where(closing & same_file, rows[np.maximum(after_row, 0)], rows[start])
    table["last_row"] = np.maximum(last, rows[start])
    table["repeats"] = np.maximum(repeats, 0)
    return table


def _acknowledge(table: pd.DataFrame, events: pd.DataFrame) -> pd.DataFrame:
    """Add the first acknowledgement after each raise and before the next raise of its key."""
    table = table.assign(position=np.arange(len(table)))
    acks = events[events["state"].isin(["acknowledged"])]
    acks = acks[[*KEY, "time"]].rename(columns={"time": "acknowledged"})
    if acks.empty:
        missing = pd.Series(pd.NaT, index=table.index, dtype="datetime64[us, UTC]")
        return table.assign(acknowledged=missing).drop(columns="position")
    left = table[[*KEY, "raised", "position"]].sort_values("raised", kind="stable")
    right = acks.sort_values("acknowledged", kind="stable")
    found = pd.merge_asof(
        left, right, left_on="raised", right_on="acknowledged", by=KEY, direction="forward"
    ).set_index("position")["acknowledged"]
    table["acknowledged"] = found.reindex(table["position"]).to_numpy()
    table["acknowledged"] = pd.to_datetime(table["acknowledged"], utc=True).astype(
        "datetime64[us, UTC]"
    )
    following = table.sort_values("raised", kind="stable").groupby(KEY)["raised"].shift(-1)
    late = (table["acknowledged"] >= following.reindex(table.index)).fillna(False)
    table.loc[late, "acknowledged"] = pd.NaT
    return table.drop(columns="position")


def _counts(table: pd.DataFrame, repeats: int, stray: int) -> dict[str, int]:
    return {
        "repeats": repeats,
        "clears_without_raise": stray,
        "inferred_clears": int(table["inferred_clear"].sum()),
        "still_open": int(table["cleared"].isna().sum()),
    }


def _empty() -> pd.DataFrame:
    blank = pd.Series([], dtype="datetime64[us, UTC]")
    text = pd.Series([], dtype=object)
    return pd.DataFrame(
        {
            **dict.fromkeys(KEY, text),
            "raised": blank,
            "value": pd.Series([], dtype=float),
            "source_file": text,
            "first_row": pd.Series([], dtype="int64"),
            "cleared": blank,
            "inferred_clear": pd.Series([], dtype=bool),
            "by_reset": pd.Series([], dtype=bool),
            "last_row": pd.Series([], dtype="int64"),
            "repeats": pd.Series([], dtype="int64"),
            "acknowledged": blank,
        }
    )
