"""A row a point: what a reader must know of it first."""

from __future__ import annotations

import numpy as np
import pandas as pd

from alarmsift.evidence.ship import Ship
from alarmsift.timeline.clean_reading import is_clean
from alarmsift.timeline.never_read import never_read
from alarmsift.timeline.visits import OK

# Most serious first.
TREAT_ORDER = ("gas", "unresolved", "unwatched", "nuisance")
ENDED_BY_HAND = ("disconnect", "setpoint")


def points_table(ship: Ship, episodes: pd.DataFrame, conditions: pd.DataFrame) -> pd.DataFrame:
    """Return the points in the order of the round, with headline and next check."""
    visits, table = ship.visits, ship.logs.points
    unread = never_read(ship.logs, visits)
    names = list(dict.fromkeys([*visits.points, *unread, *episodes["point"].astype(str)]))
    about = table.drop_duplicates("point").set_index("point")
    alarms, failures = (frame.groupby("point").indices for frame in (episodes, conditions))
    none = np.zeros(0, int)
    rows = []
    for name in names:  # a row a point
        code = visits.points.index(name) if name in visits.points else -1
        mine = episodes.iloc[alarms.get(name, none)]
        own = conditions.iloc[failures.get(name, none)]
        known = about.loc[name] if name in about.index else None
        row: dict[str, object] = {
            "point": name,
            "space": _cell(known, "space"),
            "kind": _cell(known, "kind"),
            "order": _cell(known, "order"),
            "analyser": _analyser(ship, code),
            "visits": int(len(visits.of(code))) if code >= 0 else 0,
            "clean_flow": ship.line.clean_flow[code] if code >= 0 else np.nan,
            "episodes": len(mine),
        }
        for gas in visits.gases:
            row[f"background_{gas}"] = ship.background[gas][code] if code >= 0 else np.nan
            row[f"noise_{gas}"] = ship.noise[gas][code] if code >= 0 else np.nan
        rows.append({**row, **_headline(mine, own, _cut_off(ship, mine, code))})
    frame = pd.DataFrame(rows)
    if frame.empty:
        return frame
    frame["order"] = _round_order(ship, frame)
    return frame.sort_values(["order", "point"], kind="stable", ignore_index=True)


def _cell(known: pd.Series | None, name: str) -> object:
    if known is None or pd.isna(known[name]):
        return np.nan
    return known[name]


def _analyser(ship: Ship, code: int) -> str:
    mine = ship.visits.of(code) if code >= 0 else np.zeros(0, int)
    return ship.visits.analysers[int(ship.visits.analyser[mine[0]])] if len(mine) else ""


def _round_order(ship: Ship, frame: pd.DataFrame) -> np.ndarray:
    """Return the stated order, else the order in which a round really visits the points."""
    stated = frame["order"].astype(float).to_numpy()
    if np.isfinite(stated).all():
        return stated
    visits = ship.visits
    position = {name: float(len(frame)) for name in frame["point"]}
    for analyser in range(len(visits.analysers)):
        mine = np.flatnonzero((visits.analyser == analyser) & visits.drawn)
        if not len(mine):
            continue
        anchor = visits.point[mine[0]]
        starts = np.flatnonzero(visits.point[mine] == anchor)
        within = (
            np.arange(len(mine))
            - starts[np.searchsorted(starts, np.arange(len(mine)), "right") - 1]
        )
        middle = pd.Series(within).groupby(visits.point[mine]).median()
        for code, place in middle.items():
            position[visits.points[int(code)]] = analyser * 1000.0 + float(place)
    seen = frame["point"].map(position)
    return seen.rank(method="first").to_numpy(float)


def _cut_off(ship: Ship, mine: pd.DataFrame, code: int) -> pd.DataFrame:
    """Return the alarms of one point that people ended and no clean reading has followed."""
    by_hand = mine[mine["ended_by"].isin(ENDED_BY_HAND) & (mine["kind"] == "alarm")]
    if not len(by_hand) or code < 0:
        return by_hand
    visits, limits = ship.visits, ship.setpoints
    limits = limits[limits["point"] == visits.points[code]]
    at, cleared = visits.of(code), visits.since(by_hand["cleared"])
    followed = np.zeros(len(by_hand), bool)
    for gas in visits.gases:
        clean = is_clean(visits.value[gas][at], limits[limits["gas"] == gas])
        last = visits.hours[at[clean & (visits.status[gas][at] == OK)]].max(initial=-np.inf)
        followed |= (by_hand["gas"] == gas).to_numpy() & (last > cleared)
    return by_hand[~followed]


def _headline(mine: pd.DataFrame, own: pd.DataFrame, cut_off: pd.DataFrame) -> dict[str, object]:
    """Return worst, headline, next_check and needs_person of one point."""
    for treat in TREAT_ORDER[:2]:
        part = mine[mine["treat_as"] == treat]
        if len(part):
            last = part.iloc[-1]
            count = "1 alarm" if len(part) == 1 else f"{len(part)} alarms"
            words = "possible gas" if treat == "gas" else "not settled, treat as gas"
            return _row(treat, f"{count}: {words}. {last['why']}", last, True)
    if len(cut_off):
        last = cut_off.iloc[-1]
        how = (
            "disconnecting the line" if last["ended_by"] == "disconnect" else "raising the setpoint"
        )
        return _row(
            str(last["treat_as"]),
            f"An alarm was ended by {how} with no clean reading since. {last['why']}",
            last,
            True,
        )
    if len(own):
        last = own.iloc[-1]
        still = pd.isna(last["end"])
        return _row(
            str(last["condition"]), f"{last['why'][0].upper()}{last['why'][1:]}.", last, still
        )
    if len(mine):
        last = mine.iloc[-1]
        return _row(str(last["treat_as"]), str(last["why"]), last, last["treat_as"] == "unwatched")
    return {
        "worst": "",
        "headline": "No alarm and no silent failure found.",
        "next_check": "",
        "needs_person": False,
    }


def _row(worst: str, headline: str, last: pd.Series, needs: bool) -> dict[str, object]:
    return {
        "worst": worst,
        "headline": headline,
        "next_check": last["next_check"],
        "needs_person": bool(needs),
    }
