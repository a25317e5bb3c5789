"""Replay: what each setting would have raised on the readings of one point.

For one setpoint only those stretches of visits can matter in which a reading reaches it, up to the
clean visits that clear it again: the rest are calm under every deadband and rule and are left out
before the replay.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from alarmsift.setpoints.candidate import Setting

CELLS = 4_000_000  # of one block of settings x visits: keeps the memory small


def stretches(danger: np.ndarray, value: float, *, band: float, back: int) -> np.ndarray:
    """Return the visits that can change the state under one setpoint, shape (k,), in order.

    Parameters
    ----------
    danger : ndarray, shape (n,)
        Valid readings in order of time, turned so that more is worse.
    value : float
        Setpoint, turned likewise.
    band : float
        The widest deadband in question.
    back : int
        Visits on which a rule looks back at most.
    """
    hot = danger >= value - band - 1e-9
    near = hot.copy()
    for shift in range(1, back + 1):
        near[shift:] |= hot[:-shift]
    number = np.cumsum(near & ~np.concatenate([[False], near[:-1]]))
    reached = np.zeros(int(number[-1]) + 1 if len(number) else 1, bool)
    reached[number[danger >= value - 1e-9]] = True
    return np.flatnonzero(near & reached[number])


def replay(
    danger: np.ndarray, settings: Sequence[Setting], sign: float
) -> Iterator[tuple[np.ndarray, np.ndarray, np.ndarray]]:
    """Yield for blocks of settings of one setpoint whether each visit that matters is in alarm.

    Parameters
    ----------
    danger : ndarray, shape (n,)
        Readings, turned so that more is worse.
    settings : sequence of Setting
        Values in the gas's unit.
    sign : float
        1 for rising alarms, -1 for falling ones.

    Yields
    ------
    (ndarray, ndarray, ndarray of bool, shape (block, k))
        Which settings, which visits (ascending; at all others none is in alarm), and their state.
    """
    value = np.array([sign * one.value for one in settings])
    band = np.array([one.deadband for one in settings])
    rule = np.array([(one.needed, one.of, one.off) for one in settings])
    for level in np.unique(value):
        mine = np.flatnonzero(value == level)
        rows = stretches(danger, level, band=band[mine].max(), back=int(rule[mine, 1:].max()))
        step = max(1, CELLS // max(len(rows), 1))
        for start in range(0, len(mine), step):
            part = mine[start : start + step]
            yield part, rows, _state(danger[rows], level, band[part], rule[part])


def state_of(danger: np.ndarray, setting: Setting, sign: float) -> np.ndarray:
    """Return whether each visit is in alarm under one setting, shape (n,)."""
    out = np.zeros(len(danger), bool)
    for _, rows, state in replay(danger, [setting], sign):
        out[rows] = state[0]
    return out


def _state(danger: np.ndarray, level: float, band: np.ndarray, rule: np.ndarray) -> np.ndarray:
    """Return the state of a switch with memory, shape (c, k)."""
    over = danger >= level - 1e-9
    code = (rule[:, 0] * 10 + rule[:, 1]) * 10 + rule[:, 2]
    _, kinds, of_rule = np.unique(code, return_index=True, return_inverse=True)
    enough = np.array([_of_last(over, of) >= needed for needed, of, _ in rule[kinds]])
    # np.unique sorts complex numbers by real and then imaginary part.
    _, backs, of_back = np.unique(band + 1j * rule[:, 2], return_index=True, return_inverse=True)
    off = np.array(
        [_of_last(danger < level - band[i] - 1e-9, rule[i, 2]) >= rule[i, 2] for i in backs]
    )
    on, clear = enough[of_rule], off[of_back]
    # Each visit says on, off or nothing; the last that said something stands. A window rule has no
    # memory: it stands as long as enough of its visits are over, and on goes before off.
    at = 2 * np.arange(len(danger), dtype=np.int32)
    mark = np.where(on, at + 1, np.where(clear, at, 0))
    return np.asarray(np.maximum.accumulate(mark, axis=1) & 1, dtype=bool)


def _of_last(flag: np.ndarray, count: int) -> np.ndarray:
    """Return how many of the last ``count`` visits were so, shape (k,)."""
    total = flag.astype(np.int16)
    for back in range(1, count):
        total[back:] += flag[:-back]
    return total


def raised(state: np.ndarray) -> np.ndarray:
    """Return where an alarm is raised: in alarm and not at the visit before, shape as given."""
    out = state.copy()
    out[:, 1:] &= ~state[:, :-1]
    return out
