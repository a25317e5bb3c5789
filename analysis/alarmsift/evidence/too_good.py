"""Lines that turned better than clean: what only air let in behind the probe does.

A line does not get wider by itself. Where its conductance rises over the level that it kept before
and stays there, a joint lets air in; unless a choked line was blown free, which the length and bore
of the line tell, or a purge at that moment, or how low it was before.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from alarmsift.evidence.blocks import rolling_median
from alarmsift.evidence.ship import Ship
from alarmsift.evidence.shorth import shorth
from alarmsift.evidence.spans import spans_where

# Blocks that are looked at together (half a day), and that show the level at the first row.
SMOOTH_BLOCKS, FIRST_BLOCKS = 7, 12
# Blocks that must have been worse before, for a rise to be one.
LEAST_BEFORE = 4
# Least rise that counts (ln conductance), and in spreads of the series about its course [-] (CP).
LEAST_LN, SPREADS = 0.022, 3.5
# A joint leaks for days; shorter spells are the pump's or the sea's (CP) [h].
SHORTEST_HOURS, CLOSE_HOURS = 24.0, 72.0
# Where all lines have moved this far, what is left over for one is not sure (ln conductance).
SHARED_LIMIT = 0.15
# A rise this small counts where it stays for days and the pump stands still: what all share up to
# the last (ln conductance), since every line takes its own part of it (CP).
SMALL_LN, SMALL_HOURS, SMALL_SHARED = 0.08, 60.0, 0.03
# While a line was off, a leak is taken to have lasted by this share of the time it was seen (CP).
GUESSED = 0.75
# What all share is taken out up to this share of it [-] (CP).
SHARED_UNSURE = 0.35
# Many lines better than clean at once: then the pump's share is off, and no joint leaks.
CROWD, CROWD_LN = 0.2, 0.02
# A line that was this far under was choked before, as long as nothing says otherwise (CP).
CHOKED_LN = float(np.log(1.5))
# A purge this near is what freed the line, were it choked half so far [h].
NEAR_HOURS = 12.0
# How well length and bore tell the conductance of a line against the others (CP) [ln], and how many
# lines that takes.
BUILT_LN, FEWEST_LINES = 0.1, 5


def too_good(ship: Ship) -> list[tuple[int, float, float, float]]:
    """Return point, start, end [h] and rise (ln conductance) of every such span."""
    blocks, shared = ship.line.blocks, ship.line.shared_blocks
    smooth = rolling_median(blocks.median, SMOOTH_BLOCKS)
    seen = np.isfinite(smooth) & np.isfinite(blocks.median)
    crowd = ((smooth > CROWD_LN) & seen).sum(axis=1) > np.maximum(CROWD * seen.sum(axis=1), 2)
    usable = seen & (np.abs(shared) < SHARED_LIMIT) & ~crowd[:, None]
    built = _as_built(ship)
    out: list[tuple[int, float, float, float]] = []
    for point in range(len(ship.visits.points)):
        rows = np.flatnonzero(usable[:, point])
        if len(rows) < 2 * FIRST_BLOCKS or point == ship.reference:
            continue
        course = _Course(
            hours=blocks.hours[rows] - blocks.width / 2.0,
            width=blocks.width,
            level=smooth[rows, point],
            shared=np.abs(shared[rows, point]),
            margin=_margin(blocks.median[rows, point] - smooth[rows, point]),
        )
        base = _base(ship, point, course, built[point])
        out += [(point, *span) for span in _rises(ship, point, course, base)]
    return out


@dataclass(frozen=True)
class _Course:
    """One line in the blocks in which it was drawn, shape (m,) each."""

    hours: np.ndarray
    width: float
    level: np.ndarray
    shared: np.ndarray
    margin: float


def _margin(rough: np.ndarray) -> float:
    return max(LEAST_LN, SPREADS * 1.4826 * float(np.median(np.abs(rough))))


def _rises(
    ship: Ship, point: int, course: _Course, base: float
) -> list[tuple[float, float, float]]:
    """Return start, end and rise of the spans over ``base``."""
    hours, level = course.hours, course.level
    flag = level - base - SHARED_UNSURE * course.shared >= course.margin
    out: list[tuple[float, float, float]] = []
    for start, end in spans_where(hours, flag, close=CLOSE_HOURS, shortest=0.0):
        inside = (hours >= start) & (hours < end)
        first = float(np.median(level[inside][:FIRST_BLOCKS]))
        if start <= hours[LEAST_BEFORE]:
            # Nothing was worse before: it was this good, and may have turned better still.
            if first > base + course.margin:
                part = _Course(
                    hours[inside], course.width, level[inside], course.shared[inside], course.margin
                )
                ended = [(a, min(b, end), r) for a, b, r in _rises(ship, point, part, first)]
                out += [(a, b, r) for a, b, r in ended if a > hours[LEAST_BEFORE]]
            continue
        rise = float(np.median(level[inside])) - base
        before = float(hours[np.flatnonzero(hours < start)[-1]]) + course.width
        after = float(hours[inside][-1]) + course.width
        small = rise < SMALL_LN
        if rise < course.margin or after - start < (SMALL_HOURS if small else SHORTEST_HOURS):
            continue
        if small and np.max(course.shared[inside]) > SMALL_SHARED:
            continue
        reach = GUESSED * (after - start)
        begin = max((before + start) / 2.0, start - reach)
        stop = np.inf if np.isinf(end) else _mended(ship, point, after, float(end), reach)
        out.append((float(begin), stop, rise))
    return out


def _mended(ship: Ship, point: int, last: float, clean: float, reach: float) -> float:
    """Return when a leak ended between the last row with it and the first clean one [h].

    Where the line was off in between, the log may tell; else it is anybody's guess: the middle, at
    most ``reach`` after it was seen.
    """
    work = ship.operations.of("maintenance")
    work = work[(work["point"] == point) & work["hours"].between(last, clean)]
    return float(work["hours"].iloc[0]) if len(work) else min((last + clean) / 2.0, last + reach)


def _base(ship: Ship, point: int, course: _Course, built: float) -> float:
    """Return the level without a leak: the one it keeps to most, or a lower one before."""
    level = course.level
    usual, first = shorth(level), float(np.median(level[:FIRST_BLOCKS]))
    last = float(np.median(level[-FIRST_BLOCKS:]))
    if first > usual - LEAST_LN:
        return usual
    if abs(first - last) < course.margin:  # it ended as it began
        return first
    if np.isfinite(built) and usual - first > 2.0 * BUILT_LN:
        return first if abs(first - built) < abs(usual - built) else usual
    at = int(np.flatnonzero(level > (first + usual) / 2.0)[0])
    rose, before = course.hours[at], course.hours[max(at - 1, 0)]
    purged = ship.operations.of("purge", "maintenance")
    purged = purged[(purged["point"] == point) & ((purged["hours"] - rose).abs() < NEAR_HOURS)]
    # A line that comes back is purged as a matter of course.
    freed = len(purged) > 0 and rose - before < NEAR_HOURS
    choked = CHOKED_LN / 2.0 if freed else CHOKED_LN
    return usual if usual - first > choked else first


def _as_built(ship: Ship) -> np.ndarray:
    """Return the level that length and bore give each line, shape (P,); NaN where not known.

    Conductance goes with bore^4 / length (Hagen-Poiseuille); what the ship's lines have in common
    is taken from the middle of them.
    """
    out = np.full(len(ship.visits.points), np.nan)
    table = ship.logs.points.drop_duplicates("point").set_index("point")
    if ship.line.columns != "flow and suction" or not len(table):
        return out
    length = table["length_m"].reindex(ship.visits.points).to_numpy(float)
    bore = table["bore_mm"].reindex(ship.visits.points).to_numpy(float)
    with np.errstate(all="ignore"):
        law = 4.0 * np.log(bore) - np.log(length)
        clean = np.log(ship.line.clean_flow / ship.line.clean_suction)
    off = law - clean
    known = np.isfinite(off)
    if known.sum() < FEWEST_LINES:
        return out
    off = off - np.median(off[known])
    # Ships whose lines do not follow their own table say nothing.
    return off if 1.4826 * np.median(np.abs(off[known])) < BUILT_LN else out
