"""When a line was really off: the log's rows, mended by the readings.

Rows are written late, rounded or not at all: a line that is drawn again is connected, whatever the
log lacks, and be it that no flow comes and every reading is a fault; and a reconnect row at the end
of a gap says that the line was off before it.
"""

from __future__ import annotations

import numpy as np

from alarmsift.timeline.visits import Visits

# A line is back when this many of its visits in a row have readings (a lone one may be a trial).
BACK_VISITS = 3
# Rows of the log are this far off at most, as a rule (common practice, no source) [h].
ROW_SLACK = 1.0


def taken_off(
    visits: Visits, logged: tuple[np.ndarray, np.ndarray, np.ndarray], reconnects: np.ndarray
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Return the spans in which lines were off: point, start, end, each of shape (n,).

    Parameters
    ----------
    logged : tuple of ndarray, shape (k,)
        Point, start and end (inf = never put back) by the log's rows.
    reconnects : ndarray, shape (m, 2)
        Point and hour of the reconnect rows.
    """
    valid, slack = visits.valid, max(ROW_SLACK, 2.5 * visits.cycle_hours)
    out: list[tuple[int, float, float]] = []
    for p in np.unique(np.concatenate([logged[0], reconnects[:, 0]])).astype(int):
        mine = logged[0] == p
        if p < 0:
            out += [
                (p, float(a), float(b)) for a, b in zip(*(x[mine] for x in logged[1:]), strict=True)
            ]
            continue
        rows = visits.of(p)
        hours, drawn = visits.hours[rows][valid[rows]], visits.hours[rows][visits.drawn[rows]]
        start = logged[1][mine]
        end = np.minimum(logged[2][mine], _back(visits, drawn, start))
        # A row while the line was off already is a repeat.
        new = np.append(True, start[1:] >= np.maximum.accumulate(end)[:-1])[: len(start)]
        start, end = start[new], end[new]
        out += [(p, float(a), float(b)) for a, b in zip(start, end, strict=True)]
        back = reconnects[reconnects[:, 0] == p, 1]
        # By the visits, or else by their readings: an unplugged line may go on drawing air.
        for seen in (drawn, hours):
            gaps = _only_put_back(visits, seen, back, start, slack)
            out += [(p, a, b) for a, b in gaps]
            start = np.concatenate([start, [a for a, _ in gaps]])
            back = back[[not any(a <= x <= b + slack for a, b in gaps) for x in back]]
    array = np.array(sorted(out), dtype=float).reshape(-1, 3)
    return array[:, 0].astype("int64"), array[:, 1], array[:, 2]


def _back(visits: Visits, hours: np.ndarray, off: np.ndarray) -> np.ndarray:
    """Return when visits were back for good after each disconnect; inf for never."""
    if len(hours) < BACK_VISITS:
        return np.full(len(off), np.inf)
    last = BACK_VISITS - 1
    close = hours[last:] - hours[: len(hours) - last] <= 3.0 * last * visits.cycle_hours
    # The first of a row of visits after a gap: visits that never stopped prove nothing (an
    # unplugged line may go on drawing the cabinet's air).
    fresh = np.append(True, np.diff(hours) > 2.5 * visits.cycle_hours)[: len(close)]
    resumed = hours[: len(close)][close & fresh]
    at = np.searchsorted(resumed, off, "right")
    return np.append(resumed, np.inf)[at]


def _only_put_back(
    visits: Visits, hours: np.ndarray, back: np.ndarray, starts: np.ndarray, slack: float
) -> list[tuple[float, float]]:
    """Return the gaps that a reconnect row ends and no disconnect row began."""
    first, last = (float(visits.hours[0]), float(visits.hours[-1])) if len(visits) else (0.0, 0.0)
    edges = np.concatenate([[first], hours, [last]])
    wide = np.diff(edges) > max(2.5 * visits.cycle_hours, 0.5)
    a, b = edges[:-1][wide], edges[1:][wide]
    ended = ((b[:, None] - back[None, :] > -slack) & (back[None, :] > b[:, None] - 2 * slack)).any(
        axis=1
    )
    known = ((starts[None, :] > a[:, None] - slack) & (starts[None, :] < b[:, None])).any(axis=1)
    take = ended & ~known
    return list(zip(a[take].tolist(), b[take].tolist(), strict=True))
