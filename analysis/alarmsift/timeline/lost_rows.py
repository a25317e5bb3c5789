"""Lost rows: a point that seems skipped, but for whose turn the round did wait."""

from __future__ import annotations

import numpy as np

from alarmsift.timeline.visits import Visits

# A row goes missing now and then; a point whose turns stay empty for longer than this is another
# matter, be the round waiting or not [turns] (CP).
MOST_LOST = 3
# A step of this many usual ones holds another turn; the turn was due within so many steps (CP).
HOLE_STEPS, DUE_STEPS = 1.5, 1.6
# What is usual is told from this many steps together: a short one of them [-] (CP).
STEPS, SHORT = 64, 0.4
# A round may take this much longer than the middle one (CP).
LONGER = 2.0


def turn_was_kept(
    visits: Visits, point: np.ndarray, start: np.ndarray, end: np.ndarray
) -> np.ndarray:
    """Tell for which short gaps the round left room at each missing turn of the point, shape (n,).

    A point that is skipped gives its time to the next one. Where the rows just before and after
    stand apart by a turn more, the analyser drew there and the row was lost on its way.

    Parameters
    ----------
    point : ndarray of int, shape (n,)
    start, end : ndarray, shape (n,)
        Valid readings of the point on both sides [h since origin].
    """
    out = np.zeros(len(point), bool)
    owner = np.zeros(max(len(visits.points), 1), "int64")
    owner[visits.point] = visits.analyser
    for code in np.unique(owner[point]):
        hours = np.unique(visits.hours[visits.analyser == code])
        mine = np.flatnonzero(owner[point] == code)
        step = np.diff(hours)
        if len(step) < 2:
            continue
        usual = _usual_about(step)
        length = end[mine] - start[mine]
        for missing in range(1, MOST_LOST + 1):  # the round may be shorter just now than usual
            kept = length < LONGER * (missing + 1) * visits.cycle_hours
            for turn in range(1, missing + 1):
                due = start[mine] + length * turn / (missing + 1)
                kept &= _room(hours, step, due, usual)
            out[mine] |= kept
    return out


def _usual_about(step: np.ndarray) -> np.ndarray:
    """Return the usual step about each step [h], shape (n,): rounds can be slow for days.

    A short one of the steps about it, since lost rows make long ones.
    """
    whole = len(step) // STEPS * STEPS
    short = np.quantile(step[:whole].reshape(-1, STEPS), SHORT, axis=1)
    if whole < len(step):
        short = np.append(short, np.quantile(step[whole:], SHORT))
    return np.repeat(short, STEPS)[: len(step)]


def _room(hours: np.ndarray, step: np.ndarray, due: np.ndarray, usual: np.ndarray) -> np.ndarray:
    """Tell where a hole of a turn lies at or beside each time, shape (n,)."""
    before = np.clip(np.searchsorted(hours, due, "right") - 1, 0, len(step) - 1)
    found = np.zeros(len(due), bool)
    for shift in (-1, 0, 1):
        at = np.clip(before + shift, 0, len(step) - 1)
        wide = step[at] > HOLE_STEPS * usual[at]
        reach = DUE_STEPS * usual[at]
        near = (due >= hours[at] - reach) & (due <= hours[at + 1] + reach)
        found |= wide & near
    return found
