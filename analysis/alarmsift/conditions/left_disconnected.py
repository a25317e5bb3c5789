"""Left disconnected: the space is empty again and its line was not put back."""

import numpy as np
import pandas as pd

from alarmsift.evidence.condition import Condition, found, hours_text
from alarmsift.evidence.ship import Ship
from alarmsift.evidence.single_gaps import SILENCE_HOURS, single_gaps

# Reconnecting takes an hour or two after the tank is empty; longer is forgotten (CP).
GRACE_HOURS = 3.0
# A tank whose lines are off is filled or emptied within a day of it, or it was not for ballast; and
# a line off for longer than this was off for ballast whatever the log lacks (CP).
BALLAST_HOURS = 24.0
SILENCED_HOURS = 72.0
# A level entry at or under this share means empty [in the log's own unit; CP].
EMPTY_LEVEL = 0.05
BALLAST = ("ballast_fill_start", "ballast_fill_end", "ballast_discharge_start")


def find(ship: Ship, episodes: pd.DataFrame) -> pd.DataFrame:
    """Return the spans in which a disconnected line's space was known to be empty."""
    rows: list[tuple[str, float, float, float, str, str]] = []
    visits, ops = ship.visits, ship.operations
    if not len(visits):
        return found(rows)
    rows += _silenced_unlogged(ship, episodes)
    last = float(visits.hours[-1])
    spans = ops.disconnected
    emptied, moved = _emptied(ship), _by_point(ops.of(*BALLAST))
    for p, dry in emptied.items():
        rows += [
            _row(visits.points[p], start, until, last, "the space was logged empty", 0.95)
            for start, until in _empty_and_off(ship, p, dry, moved.get(p, np.zeros(0)))
        ]
    for p, off, back in zip(spans.point, spans.start, spans.end, strict=True):
        until = min(back, last)
        if p < 0 or until - off < GRACE_HOURS:
            continue
        dry = emptied.get(p, np.zeros(0))
        if ((dry > off - 0.5) & (dry < until)).any():
            continue
        if _silenced(ship, int(p), off, until, moved.get(p, np.zeros(0))):
            words = "the line was taken off with no ballast movement"
            rows.append(_row(visits.points[p], off, until, last, words, 0.8))
    return found(rows)


def _row(
    point: str, start: float, until: float, last: float, words: str, sure: float
) -> tuple[str, float, float, float, str, str]:
    stop = np.inf if until >= last else until
    return (
        point,
        start,
        stop,
        sure,
        f"{words} and the line was not put back, {hours_text(start, stop)}",
        "Reconnect the line and watch its first visits for water.",
    )


def _empty_and_off(
    ship: Ship, p: int, dry: np.ndarray, filled: np.ndarray
) -> list[tuple[float, float]]:
    """Return the spans in which the space of a point was empty and its line off all the time.

    Off is what the log says, or, where it lacks the rows, a point that no visit drew from while
    the analyser turned.
    """
    visits, off = ship.visits, ship.operations.disconnected
    last, mine = float(visits.hours[-1]), visits.of(p)
    drawn = visits.hours[mine[visits.drawn[mine]]]
    every = visits.hours[(visits.analyser == visits.analyser[mine[0]]) & visits.drawn]
    logged = off.point == p
    out: list[tuple[float, float]] = []
    for start in dry.tolist():
        spans = logged & (off.start < start + 0.5) & (off.end > start)
        back = float(off.end[spans].max()) if spans.any() else np.inf
        seen = drawn[drawn > start]
        until = min(back, last, *filled[filled > start][:1], *(seen[:1] if back == np.inf else []))
        if until - start < GRACE_HOURS or (out and start < out[-1][1]):
            continue
        if not spans.any():
            turned = (every > start) & (every < until)
            if np.median(np.diff(every[turned], append=until)) > GRACE_HOURS / 2:
                continue
        out.append((start, until))
    return out


def _silenced_unlogged(
    ship: Ship, episodes: pd.DataFrame
) -> list[tuple[str, float, float, float, str, str]]:
    """Return the gaps of single points that began in an alarm of the point, with no row for it."""
    gaps = single_gaps(ship, episodes)
    mine = gaps[gaps["silenced"]]
    return [
        (
            ship.visits.points[int(p)],
            start,
            end,
            0.6,
            "the point fell out of the scan within "
            f"{SILENCE_HOURS:g} h of its own alarm, with no row in the log: somebody may have "
            f"unplugged it, {hours_text(start, end)}",
            "See whether the line is plugged in, and what the alarm was about.",
        )
        for p, start, end, _ in mine.itertuples(index=False)
    ]


def _by_point(rows: pd.DataFrame) -> dict[int, np.ndarray]:
    return {int(str(p)): part["hours"].to_numpy(float) for p, part in rows.groupby("point")}


def _emptied(ship: Ship) -> dict[int, np.ndarray]:
    """Return when each point's space was logged empty: end of discharge, or a level of nought."""
    rows = ship.operations.of("ballast_discharge_end")
    level = ship.operations.of("level")
    level = level[level["value"].notna() & (level["value"] <= EMPTY_LEVEL)]
    return _by_point(pd.concat([rows, level]).sort_values("hours"))


def _silenced(ship: Ship, p: int, off: float, until: float, filled: np.ndarray) -> bool:
    """Tell whether a line came off with no ballast anywhere near, alone.

    Logs lack rows: a point whose space is ballasted at times, off for days or together with
    others, was off for ballast. One whose own space's other point stayed in the scan was not.
    """
    if ((filled > off - 6.0) & (filled < off + BALLAST_HOURS)).any():
        return False
    visits = ship.visits
    kin = np.flatnonzero(ship.kin[p])
    for other in kin:
        mine = visits.of(int(other))
        inside = visits.valid[mine] & (visits.hours[mine] > off) & (visits.hours[mine] < until)
        if inside.sum() * visits.cycle_hours > 0.5 * (until - off):
            return True
    if not len(filled):
        # A space that the log never says was ballasted, on a ship that logs ballast.
        return bool(len(ship.operations.of(*BALLAST))) and not _others_off(ship, p, off)
    return until - off < SILENCED_HOURS and not _others_off(ship, p, off)


def _others_off(ship: Ship, p: int, off: float) -> bool:
    """Tell whether a line of another space came off within half a day."""
    spans = ship.operations.disconnected
    near = (np.abs(spans.start - off) < 12.0) & (spans.point >= 0) & (spans.point != p)
    return bool((near & ~ship.kin[p][np.maximum(spans.point, 0)]).any())


CONDITION = Condition("left_disconnected", "Left disconnected", find)
