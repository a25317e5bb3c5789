"""A row a detector and kind of check: how it drifts, when it is due, when it leaves tolerance."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

import numpy as np
import pandas as pd

from alarmsift.calibration.detector_words import why
from alarmsift.calibration.drift import Drift, drift
from alarmsift.calibration.forecast import (
    CONFIDENCE,
    NO_FORECAST,
    STEADY_DAILY,
    STEADY_MONTHLY,
    Forecast,
    crossing_forecast,
)
from alarmsift.calibration.tolerance import SPAN_SHARE, zero_tolerance
from alarmsift.tables.diagnosis import DETECTOR_COLUMNS
from alarmsift.tables.logs import Logs
from alarmsift.tables.schema import GAS_UNITS

# With so many values since the last adjustment they stand alone; with fewer the periods before help
# out: a detector drifts much as it did (common practice, no source).
ENOUGH_ALONE: Final = 7
# The level of a zero by the readings alone, one standard deviation [of the tolerance], as found on
# simulated ships; and how near a check must be to a day's value to be compared with it [d].
LEVEL_UNSURE: Final = 0.20
SAME_DAY: Final = 1.5
# Ranks of fewer slopes leave no room for a 90 % interval (four values of one period make six).
FEWEST_PAIRS: Final = 6
_DAY: Final = pd.Timedelta(days=1)


@dataclass(frozen=True)
class Course:
    """The error of one detector over time.

    Attributes
    ----------
    days, values : ndarray, shape (n,)
        [d since the first row of the logs], [unit].
    resets : ndarray, shape (m,)
        Adjustments [d].
    basis : str
        ``readings`` or ``checks``; blank where there is nothing.
    level_error : float
        How far all of `values` may be off together, one standard deviation [of the tolerance].
    """

    days: np.ndarray
    values: np.ndarray
    resets: np.ndarray
    basis: str
    level_error: float = 0.0


def detector_table(
    logs: Logs, ledger: pd.DataFrame, zeros: pd.DataFrame, *, ends: tuple[Any, Any]
) -> pd.DataFrame:
    """Return how each detector stands and when it will leave its tolerance.

    Parameters
    ----------
    logs : Logs
        For the site's limits and the ship's clock.
    ledger : DataFrame
        LEDGER_COLUMNS.
    zeros : DataFrame
        ``time``, ``analyser``, ``gas``, ``zero``: one value a day [unit of the gas].
    ends : pair of Timestamp
        First and last row of the logs.

    Returns
    -------
    DataFrame
        DETECTOR_COLUMNS. The span counts in per cent of the span gas.
    """
    names = pd.concat([zeros[["analyser", "gas"]], ledger[["analyser", "gas"]]]).drop_duplicates()
    names = names[names["gas"].isin(list(GAS_UNITS))]
    # A round that names no analyser is about the only one there is.
    told = names["analyser"].ne("").groupby(names["gas"]).transform("any")
    names = names[names["analyser"].ne("") | ~told].sort_values(["gas", "analyser"])
    several = names["analyser"].nunique() > 1
    rows = []
    for analyser, gas in names.itertuples(index=False):  # a few a ship
        mine = ledger[(ledger["gas"] == gas) & ledger["analyser"].isin([analyser, ""])]
        shown = f"{gas} ({analyser})" if several and analyser else str(gas)
        seen = zeros[(zeros["gas"] == gas) & (zeros["analyser"] == analyser)]
        for kind in ("zero", "span"):
            part = mine[mine["kind"] == kind]
            course = _zero_course(part, seen, ends) if kind == "zero" else _span(part, ends)
            limit = zero_tolerance(str(gas), logs.site) if kind == "zero" else 100.0 * SPAN_SHARE
            head = {"detector": shown, "analyser": analyser, "gas": gas, "kind": kind}
            unit = GAS_UNITS[str(gas)] if kind == "zero" else "%"
            row = head | {"unit": unit, "tolerance": limit} | _row(part, course, ends, logs)
            row |= _forecast(course, limit, ends)
            rows.append(row | {"why": why(row, logs.site, logs.clock)})
    return pd.DataFrame(rows, columns=DETECTOR_COLUMNS) if rows else _none()


def _none() -> pd.DataFrame:
    return pd.DataFrame(columns=DETECTOR_COLUMNS)


def _zero_course(checks: pd.DataFrame, zeros: pd.DataFrame, ends: tuple[Any, Any]) -> Course:
    """Return the zero's course: from the readings, where they tell it, else from the checks."""
    if not len(zeros):
        return _by_checks(checks, checks["true_error"], ends)
    resets = _since(checks.loc[checks["check"] == "zero_adjust", "time"], ends)
    days, values = _since(zeros["time"], ends), zeros["zero"].to_numpy(float)
    off, unsure = _offset(checks, (days, values), resets, ends)
    return Course(days, values + off, resets, "readings", unsure)


def _offset(
    checks: pd.DataFrame,
    course: tuple[np.ndarray, np.ndarray],
    resets: np.ndarray,
    ends: tuple[Any, Any],
) -> tuple[float, float]:
    """Return what the checks add to the zero by the readings, and how unsure that leaves it.

    Readings show how a zero moves better than where it stands: what a point always shows may be
    background or zero. A check in clean air says where it stood that day, about as well as the
    readings do before any check.
    """
    days, values = course
    shown = checks["as_found"].fillna(checks["as_left"]).to_numpy(float)
    at = _since(checks["time"], ends)
    apart = np.abs(at[:, None] - days[None, :])
    same = np.searchsorted(resets, at, "right")[:, None] == np.searchsorted(resets, days, "right")
    apart[~same | np.isnan(shown)[:, None]] = np.inf
    near = np.flatnonzero(apart.min(axis=1, initial=np.inf) <= SAME_DAY)
    if not len(near):
        return 0.0, LEVEL_UNSURE
    gap = shown[near] - values[apart[near].argmin(axis=1)]
    count = len(near)
    return float(np.median(gap)) * count / (count + 1.0), LEVEL_UNSURE / np.sqrt(count + 1.0)


def _span(checks: pd.DataFrame, ends: tuple[Any, Any]) -> Course:
    """Return the error of the span [% of span gas], the zero taken out where it was looked at."""
    usable = checks[checks["verdict"] != "not_valid"]
    share = usable["sensitivity"].fillna(1.0 + usable["true_error"] / usable["reference_true"])
    return _by_checks(usable, 100.0 * (share - 1.0), ends)


def _by_checks(checks: pd.DataFrame, error: pd.Series, ends: tuple[Any, Any]) -> Course:
    resets = _since(checks.loc[checks["check"].str.endswith("adjust"), "time"], ends)
    days, values = _since(checks["time"], ends), error.to_numpy(float)
    good = np.isfinite(values)
    return Course(days[good], values[good], resets, "checks" if good.any() else "")


def _since(times: pd.Series, ends: tuple[Any, Any]) -> np.ndarray:
    # An empty table has no kind of its own.
    return np.asarray((pd.to_datetime(times, utc=True) - ends[0]) / _DAY, dtype=float)


def _row(
    checks: pd.DataFrame, course: Course, ends: tuple[Any, Any], logs: Logs
) -> dict[str, object]:
    """Return what is known of one detector's zero or span, but for its names."""
    every = logs.site.calibration_days
    last = checks["time"].max() if len(checks) else pd.NaT
    due = last + pd.Timedelta(days=every) if len(checks) else pd.NaT
    overdue = (ends[1] - (due if len(checks) else ends[0] + pd.Timedelta(days=every))) / _DAY
    found = drift(course.days, course.values, course.resets, confidence=CONFIDENCE)
    return {
        "checks": len(checks),
        "out": int(((checks["verdict"] == "out") & checks["check"].str.endswith("check")).sum()),
        "not_held": int((checks["held"] == "did_not_hold").sum()),
        "last_check": last,
        "due": due,
        "overdue_days": overdue if overdue > 0.0 else np.nan,
        "pairs": found.pairs,
        "confidence": CONFIDENCE,
        "basis": course.basis,
    } | _slope(found)


def _slope(found: Drift) -> dict[str, object]:
    told = found.pairs >= FEWEST_PAIRS
    ends = (found.low, found.high) if told else (np.nan, np.nan)
    return {"slope": found.slope, "slope_low": ends[0], "slope_high": ends[1]}


def _forecast(course: Course, limit: float, ends: tuple[Any, Any]) -> dict[str, object]:
    """Return where it stands, what is foreseen of it, and the days."""
    found = forecast_of(course, limit=limit, now=float((ends[1] - ends[0]) / _DAY))
    key = "no_data" if not found.used else "passed" if found.passed else _outlook(found)
    days = {"crosses": found.crosses, "crosses_low": found.low, "crosses_high": found.high}
    if found.passed:
        days = dict.fromkeys(days, np.nan)
    times = {
        name: ends[0] + (day * _DAY).round("min") if np.isfinite(day) else pd.NaT
        for name, day in days.items()
    }
    return {"level": found.level, "forecast": key} | times


def _outlook(found: Forecast) -> str:
    """Return ``expected``, ``no_finite_end`` or ``beyond`` (not within a year, most likely)."""
    if np.isfinite(found.high):
        return "expected"
    return "no_finite_end" if np.isfinite(found.crosses) else "beyond"


def forecast_of(course: Course, *, limit: float, now: float) -> Forecast:
    """Return when a course leaves its tolerance, by what was seen since the last adjustment.

    Where that is little, the periods before it lend their slope.
    """
    if not len(course.days):
        return NO_FORECAST
    period = np.searchsorted(np.sort(course.resets), course.days, side="right")
    if period.max() < len(course.resets):
        return NO_FORECAST  # put right since, and nothing seen after
    alone = period == period.max()
    use = alone if alone.sum() >= ENOUGH_ALONE else np.ones(len(period), bool)
    return crossing_forecast(
        course.days[use],
        course.values[use],
        period=period[use],
        limit=limit,
        now=now,
        level_error=course.level_error * limit,
        steady=STEADY_DAILY if course.basis == "readings" else STEADY_MONTHLY,
    )
