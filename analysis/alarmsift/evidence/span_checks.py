"""Span checks: what share of the test gas a detector showed, its zero taken out.

Not every row tells. Somebody who only puts gas on to see whether the alarm comes writes down what
stands on the cylinder: a lone row that repeats it to the last digit, no zero looked at before and
no adjustment after, says that gas was put on and not what was shown (common practice, no source).
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import pandas as pd

from alarmsift.calibration.named import analyser_of
from alarmsift.evidence.ship import Ship
from alarmsift.evidence.zero import zero_at
from alarmsift.timeline.operations import CALIBRATION_ACTIONS

# One calibration: the zero first, then the span, then the adjustment (CP) [h].
ROUND_HOURS, ADJUST_HOURS = 1.5, 0.75
# Rows have whole minutes at best, and zero and span may be written under one time [h].
SAME_TIME = 0.05
# Share of a zero that was not checked but followed in the readings which may be wrong (CP).
ZERO_UNSURE = 0.25


def checks_by_detector(ship: Ship) -> Iterator[tuple[str, int, str, pd.DataFrame]]:
    """Yield gas, analyser, the analyser's name ('' where there is one) and span checks of each.

    The checks are those of ``span_checks``.
    """
    rows = ship.operations.of(*CALIBRATION_ACTIONS).drop_duplicates("position")
    who = analyser_named(ship, rows)
    for gas, analyser, name in _detectors(ship, who):
        yield gas, analyser, name, span_checks(ship, rows, who, (gas, analyser), name)


def _detectors(ship: Ship, who: np.ndarray) -> list[tuple[str, int, str]]:
    """Return gas, analyser and the analyser's name of each detector.

    Where the readings name no analysers but the checks name several, those are the detectors.
    """
    names = ship.visits.analysers
    told = sorted(set(who) - {""})
    if len(told) < 2 or set(told) <= set(names):
        return [(gas, code, names[code] if names[1:] else "") for gas, code in ship.zeros]
    return [
        (gas, code % len(names), name)
        for gas in ship.visits.gases
        for code, name in enumerate(told)
    ]


def span_checks(
    ship: Ship, rows: pd.DataFrame, who: np.ndarray, detector: tuple[str, int], name: str
) -> pd.DataFrame:
    """Return the span checks of one detector that tell something, in order of time.

    Parameters
    ----------
    rows : DataFrame, n rows
        Checks and adjustments of all detectors, in order of time.
    who : ndarray of str, shape (n,)
        The analyser that each row names, '' for none.
    detector : (str, int)
        Gas and analyser.
    name : str
        The analyser's name: rows that name another one are left out.

    Returns
    -------
    DataFrame
        ``hours``; ``sens``, the share shown; ``unsure``, how far that may be off [-]; ``adjust``.
    """
    rows = rows[(who == "") | (name == "") | (who == name)]
    mine = rows[(rows["gas"] == detector[0]) | (rows["gas"] == "")]
    ops = mine[mine["action"].isin(["span_check", "span_adjust"])]
    ops = ops[ops["reference"].gt(0) & ops["value"].notna()]
    if not len(ops):
        return pd.DataFrame({"hours": [], "sens": [], "unsure": [], "adjust": []})
    hours, shown = ops["hours"].to_numpy(float), ops["value"].to_numpy(float)
    reference = ops["reference"].to_numpy(float)
    adjust = (ops["action"] == "span_adjust").to_numpy()
    zeroed = rows[rows["action"].isin(["zero_check", "zero_adjust"])]["hours"].to_numpy(float)
    adjusted = hours[adjust]
    lone = ~_within(zeroed, hours, -ROUND_HOURS, SAME_TIME)
    lone &= ~_within(adjusted, hours, -SAME_TIME, ADJUST_HOURS)
    keep = adjust | ~(lone & (shown == reference))
    zero, unsure = _zero_then(ship, mine, detector, hours)
    checks = pd.DataFrame(
        {
            "hours": hours,
            "sens": (shown - zero) / reference,
            "unsure": unsure / reference,
            "adjust": adjust,
        }
    )[keep]
    # What is adjusted was looked at first, in whatever order the two were written down.
    order = np.argsort(checks["hours"] + np.where(checks["adjust"], 2 * SAME_TIME, 0.0))
    return checks.iloc[order].reset_index(drop=True)


def analyser_named(ship: Ship, rows: pd.DataFrame) -> np.ndarray:
    """Return the analyser that each row's note names, '' for none, shape (n,)."""
    return analyser_of(ship.logs.operations["note"].iloc[rows["position"].to_numpy("int64")])


def _within(times: np.ndarray, hours: np.ndarray, low: float, high: float) -> np.ndarray:
    """Tell for each of ``hours`` whether one of ``times`` (sorted) lies low to high after it."""
    first = np.searchsorted(times, hours + low, "left")
    return np.asarray(np.searchsorted(times, hours + high, "right") > first)


def _zero_then(
    ship: Ship, checks: pd.DataFrame, detector: tuple[str, int], hours: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    """Return the zero at each span check and how far it may be off [unit], shape (n,) each."""
    if detector[0] == "O2":  # oxygen's zero is set in air; its span stands on its own
        return np.zeros(len(hours)), np.zeros(len(hours))
    model = ship.zeros[detector]
    followed = np.nan_to_num(zero_at(model, np.zeros(0), hours))
    zero, unsure = followed, ZERO_UNSURE * np.abs(followed) + model.step
    # What the zero was found or left at in the same round says it better. People write the rows of
    # a round in any order: where the zero was adjusted, it was left as that row says.
    checks = checks[checks["action"].isin(["zero_check", "zero_adjust"])]
    adjusted = (checks["action"] == "zero_adjust").to_numpy()
    done, shown = checks["hours"].to_numpy(float), checks["value"].to_numpy(float)
    left = np.where(adjusted & np.isnan(shown), 0.0, shown)
    for rows in (~adjusted & np.isfinite(left), adjusted):
        near, told = _last_within(done[rows], left[rows], hours)
        zero, unsure = np.where(near, told, zero), np.where(near, 0.0, unsure)
    return zero, unsure


def _last_within(
    done: np.ndarray, told: np.ndarray, hours: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    """Return whether a row was written in the round before each of ``hours``, and the last one."""
    if not len(done):
        return np.zeros(len(hours), bool), np.zeros(len(hours))
    at = np.maximum(np.searchsorted(done, hours + SAME_TIME, "right") - 1, 0)
    ago = hours - done[at]
    return (ago >= -SAME_TIME) & (ago < ROUND_HOURS), told[at]
