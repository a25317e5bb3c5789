"""Replay: what each setting would have raised on the readings of one point.

Only visits within reach of the lowest setting can matter, and the few after them on which a rule
still looks back: the rest are all clean for every setting and are left out before the replay.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from alarmsift.setpoints.candidate import Setting

CELLS = 4_000_000  # of one block of settings x visits: keeps the memory small


def within_reach(danger: np.ndarray, settings: Sequence[Setting], sign: float) -> np.ndarray:
    """Return the visits that can change the state of any setting, shape (k,), in order.

    Parameters
    ----------
    danger : ndarray, shape (n,)
        Valid readings in order of time, turned so that more is worse.
    settings : sequence of Setting
        Values in the gas's unit.
    sign : float
        1 for rising alarms, -1 for falling ones.
    """
    reach = min(sign * one.value - one.deadband for one in settings)
    back = max(max(one.of, one.off) for one in settings)
    hot = danger >= reach
    near = hot.copy()
    for shift in range(1, back + 1):
        near[shift:] |= hot[:-shift]
    return np.flatnonzero(near)


def replay(
    danger: np.ndarray, settings: Sequence[Setting], sign: float
) -> Iterator[tuple[slice, np.ndarray]]:
    """Yield for blocks of settings whether each visit is in alarm.

    Parameters
    ----------
    danger : ndarray, shape (k,)
        Readings, turned so that more is worse.
    settings : sequence of Setting
        Length c.
    sign : float
        1 for rising alarms, -1 for falling ones.

    Yields
    ------
    (slice, ndarray of bool, shape (block, k))
        Which settings, and their state.
    """
    value = sign * np.array([one.value for one in settings])
    band = np.array([one.deadband for one in settings])
    rule = np.array([(one.needed, one.of, one.off) for one in settings])
    step = max(1, CELLS // max(len(danger), 1))
    for start in range(0, len(settings), step):
        part = slice(start, min(start + step, len(settings)))
        over = danger[None, :] >= value[part, None] - 1e-9
        under = danger[None, :] < (value - band)[part, None] - 1e-9
        yield part, _state(over, under, rule[part])


def _state(over: np.ndarray, under: np.ndarray, rule: np.ndarray) -> np.ndarray:
    """Return the state of a switch with memory, shape (c, k)."""
    # A window rule has no memory: it stands as long as enough of its visits are over.
    window = rule[:, 0] < rule[:, 1]
    enough = _of_last(over, rule[:, 1]) >= rule[:, :1]
    off = _of_last(under, rule[:, 2]) >= rule[:, 2:]
    off[window] = ~enough[window] & under[window]
    mark = np.where(enough, 1, np.where(off, 0, -1)).astype(np.int8)
    last = np.maximum.accumulate(np.where(mark >= 0, np.arange(mark.shape[1]), 0), axis=1)
    return np.asarray(np.take_along_axis(mark, last, axis=1) == 1)


def _of_last(flag: np.ndarray, count: np.ndarray) -> np.ndarray:
    """Return how many of the last ``count`` visits were so, shape (c, k)."""
    total = flag.astype(np.int16)
    for back in range(1, int(count.max(initial=1))):
        use = (count > back)[:, None]
        total[:, back:] += flag[:, :-back] & use
    return total


def raised(state: np.ndarray) -> np.ndarray:
    """Return where an alarm is raised: in alarm and not at the visit before, shape as given."""
    out = state.copy()
    out[:, 1:] &= ~state[:, :-1]
    return out
