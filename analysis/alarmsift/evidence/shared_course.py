"""The course of what all points share around each alarm: how it came and how it went."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from alarmsift.evidence.shape import row_nanmedian
from alarmsift.evidence.windows import Windows
from alarmsift.evidence.zero import resets_of

# The course is looked at in steps of this many hours, or of a round where that is longer.
STEP_HOURS = 0.25
BACK_HOURS, AHEAD_HOURS = 192.0, 96.0
# It has come (gone) when it passed from a quarter to three quarters of its height (and back).
LOW, HIGH = 0.25, 0.75
# The shared part must be this much of the reading, and of the usual noise, to have a course.
MATTERS, CLEAR = 0.35, 2.0
HALF_DAY = 12.0
# What dries has lost a good part by then, what stepped has not [h].
KEPT_HOURS = (1.5, 4.0)


@dataclass(frozen=True)
class Course:
    """How the shared part came up and went down again around each alarm, shape (E,) each.

    ``came`` and ``went`` are hours from a quarter to three quarters of its height at the raise
    and back; inf where it did neither within the days looked at, NaN where it can't be told.
    ``adjusted`` tells whether somebody adjusted the detector while it went. ``kept`` is what was
    left of it after ``KEPT_HOURS`` (median share), NaN where it was adjusted or the log ended.
    """

    came: np.ndarray
    went: np.ndarray
    adjusted: np.ndarray
    kept: np.ndarray


@lru_cache(maxsize=2)
def shared_course(w: Windows) -> Course:
    """Return the course of the shared part around each alarm."""
    n = len(w)
    came, went, kept = np.full((3, n), np.nan)
    adjusted = np.zeros(n, bool)
    for gas, rows, course, hours, step in _courses(w):
        before, after = int(BACK_HOURS / step), int(AHEAD_HOURS / step)
        at, top_at, now, clear = _now(w, gas, rows, course, hours)
        back = _passed(course, at, now, -before)
        ahead = _passed(course, top_at, now, after)
        came[rows] = np.where(clear, back[0] * step, np.nan)
        went[rows] = np.where(clear, ahead[0] * step, np.nan)
        resets = np.append(resets_of(w.ship.operations, gas), np.inf)
        until = resets[np.searchsorted(resets, hours[top_at] - 0.3)]
        later = top_at[:, None] + np.arange(*(int(h / step) for h in KEPT_HOURS))[None, :]
        inside = (later < len(course)) & (hours[0] + later * step < until[:, None] - step)
        part = np.where(inside, course[np.minimum(later, len(course) - 1)], np.nan)
        kept[rows] = np.where(clear, row_nanmedian(part) / np.maximum(now, 1e-9), np.nan)
        top, low = hours[top_at] + ahead[1] * step, hours[top_at] + ahead[2] * step
        first = resets[np.searchsorted(resets, np.nan_to_num(top, posinf=1e9) - 1.0)]
        adjusted[rows] = first < np.nan_to_num(low, posinf=-1e9) + 1.0
    return Course(came, went, adjusted, kept)


def daily_likeness(w: Windows) -> np.ndarray:
    """Return how like the course around each alarm is to that of a day nearby, shape (E,).

    The best correlation with one or two days before or after, among those whose swing was between
    half and twice as large; -1 where there is none, NaN where the shared part does not matter or no
    such day was logged.
    """
    out = np.full(len(w), np.nan)
    for gas, rows, course, hours, step in _courses(w):
        at, _, _, clear = _now(w, gas, rows, course, hours)
        half, day = int(HALF_DAY / step), int(24.0 / step)
        offset = np.arange(-half, half + 1)
        here, whole = _cut(course, at[:, None] + offset)
        best = np.full(len(rows), np.nan)
        for days in (-2, -1, 1, 2):
            there, held = _cut(course, at[:, None] + days * day + offset)
            ratio = np.std(there, axis=1) / np.maximum(np.std(here, axis=1), 1e-9)
            both = (here - here.mean(1, keepdims=True)) * (there - there.mean(1, keepdims=True))
            spread = np.std(here, axis=1) * np.std(there, axis=1)
            like = both.mean(axis=1) / np.maximum(spread, 1e-12)
            like = np.where((ratio > 0.5) & (ratio < 2.0), like, -1.0)
            best = np.fmax(best, np.where(whole & held, like, np.nan))
        out[rows] = np.where(clear, best, np.nan)
    return out


def _cut(course: np.ndarray, index: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Return pieces of the course and whether each lies in it whole."""
    held = (index[:, 0] >= 0) & (index[:, -1] < len(course))
    return course[np.clip(index, 0, len(course) - 1)], held


def _courses(
    w: Windows,
) -> Iterator[tuple[str, np.ndarray, np.ndarray, np.ndarray, float]]:
    """Yield (gas, its alarms, course, hours, step) of every detector that has alarms."""
    visits = w.ship.visits
    owner = np.zeros(len(visits.points) + 1, "int64")
    owner[visits.point] = visits.analyser
    grid = w.ship.grid_hours
    if not len(grid):
        return
    step = max(STEP_HOURS, visits.cycle_hours)
    hours = np.arange(grid[0], grid[-1] + step, step)
    for (gas, analyser), model in w.ship.zeros.items():
        rows = (w.gas == gas) & (owner[w.point] == analyser) & np.isfinite(w.value)
        rows = np.flatnonzero(rows & (w.point >= 0))
        if not len(rows):
            continue
        zero = np.interp(grid, model.blocks.hours, model.zero)
        shared = (w.ship.shared_fast[gas] + zero) * (-1.0 if gas == "O2" else 1.0)
        good = np.isfinite(shared)
        if good.any():
            yield gas, rows, _three(np.interp(hours, grid[good], shared[good])), hours, step


def _now(
    w: Windows, gas: str, rows: np.ndarray, course: np.ndarray, hours: np.ndarray
) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """Return where each alarm and its top stand in the course, its height, whether it matters."""
    step = hours[1] - hours[0] if len(hours) > 1 else STEP_HOURS
    at = np.rint((w.raised[rows] - hours[0]) / step).astype(int)
    at = np.clip(at, 0, len(course) - 1)
    # The first points of a round are read before its middle, where the course is taken: what
    # jumped up with them stands in the next step.
    then = np.minimum(at + 1, len(course) - 1)
    top_at = np.where(course[then] > course[at], then, at)
    now = course[top_at]
    total = np.abs(w.value[rows] - (20.9 if gas == "O2" else 0.0))
    noise = float(np.nanmedian(w.ship.noise[gas]))
    return at, top_at, now, (now > MATTERS * total) & (now > CLEAR * noise)


def _three(series: np.ndarray) -> np.ndarray:
    """Return the running median of three: one odd round is no course."""
    out = series.copy()
    if len(series) > 2:
        out[1:-1] = np.sort(np.stack([series[:-2], series[1:-1], series[2:]]), axis=0)[1]
    return out


def _passed(
    course: np.ndarray, at: np.ndarray, now: np.ndarray, reach: int
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Return steps between low and high on one side, and where both are (steps from ``at``).

    inf where it never was low within reach; NaN where the log ends first.
    """
    side = 1 if reach > 0 else -1
    offset = np.arange(abs(reach) + 1)
    index = at[:, None] + side * offset[None, :]
    inside = (index >= 0) & (index < len(course))
    value = np.where(inside, course[np.clip(index, 0, len(course) - 1)], np.nan)
    with np.errstate(invalid="ignore"):
        low = value < LOW * now[:, None]
        high = value >= HIGH * now[:, None]
    ever = low.any(axis=1)
    first_low = np.where(ever, low.argmax(axis=1), 0)
    near = high & (offset[None, :] <= first_low[:, None])
    last_high = np.where(near.any(axis=1), near.shape[1] - 1 - near[:, ::-1].argmax(axis=1), 0)
    none = np.where(inside.all(axis=1), np.inf, np.nan)
    between = np.where(ever, first_low - last_high, none)
    return (
        between,
        np.where(ever, last_high, np.inf).astype(float),
        np.where(ever, first_low, np.inf).astype(float),
    )
