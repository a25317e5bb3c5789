"""The next check: which one look would settle the doubt best for the effort.

For each check the table holds how likely each outcome is under each cause; the choice is by
expected information gain (D. V. Lindley, 1956, from memory) per effort. Every check is done from
outside the space. While gas is possible the first check is a resample with the point kept in the
scan: purging, disconnecting and zeroing wipe evidence and leave the point unwatched.

All likelihoods are judgement (common practice, no source).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from alarmsift.diagnosis.treat import NUISANCE_BELOW


@dataclass(frozen=True)
class Check:
    """One check.

    Attributes
    ----------
    key : str
    words : str
        What to do, as one sentence.
    effort : float
        Relative effort; 1 = a resample at the cabinet.
    outcomes : tuple of str
        The outcomes, as the person sees them.
    likelihood : dict
        Cause -> probability of the first outcome; causes not named have ``other``.
    other : float
    means : tuple of str
        What each outcome would mean.
    """

    key: str
    words: str
    effort: float
    outcomes: tuple[str, str]
    likelihood: dict[str, float]
    other: float
    means: tuple[str, str]


RESAMPLE = Check(
    "resample",
    "Resample the point now, with the point kept in the scan.",
    1.0,
    ("high again", "clean"),
    {
        "gas": 0.95,
        "ambient_vapour": 0.8,
        "moisture": 0.8,
        "zero_drift": 0.9,
        "tight_setpoint": 0.5,
        "blocked": 0.5,
        "water": 0.5,
        "carry_over": 0.15,
        "test_gas": 0.03,
        "spike": 0.03,
        "pump": 0.5,
    },
    0.5,
    (
        "it is there: act on it as gas; spike and test gas are out",
        "it was short: spike, test gas or a rest of the previous sample; keep watching the point",
    ),
)
CHECKS: tuple[Check, ...] = (
    RESAMPLE,
    Check(
        "portable_meter",
        "Measure with a portable meter at the vent head or at the line's end, from outside.",
        4.0,
        ("gas there", "no gas there"),
        {"gas": 0.95, "ambient_vapour": 0.7},
        0.03,
        (
            "gas: the company's procedure for gas in that space applies",
            "the space is not the reason: look at line and detector",
        ),
    ),
    Check(
        "reference_then_point",
        "Sample the reference point (clean air), then this point again.",
        1.5,
        ("both read high", "only this point reads high"),
        {"zero_drift": 0.95, "ambient_vapour": 0.6, "moisture": 0.35},
        0.04,
        (
            "the detector's zero, wet optics or vapour at the cabinet",
            "it belongs to this point or its line",
        ),
    ),
    Check(
        "zero_check",
        "Check the zero on clean air and write down the value as found.",
        3.0,
        ("off zero", "on zero"),
        {"zero_drift": 0.97, "moisture": 0.3},
        0.05,
        ("the detector drifts: adjust, then see whether it holds", "the detector's zero is good"),
    ),
    Check(
        "span_check",
        "Check the span with test gas and write down the value as found.",
        4.0,
        ("out of tolerance", "within tolerance"),
        {"zero_drift": 0.5},
        0.1,
        ("every reading since the last good check is in doubt", "the detector reads true"),
    ),
    Check(
        "purge_and_resample",
        "Blow the line through, then resample (only once gas is out of the question).",
        2.5,
        ("flow comes back", "flow stays low"),
        {"blocked": 0.75, "water": 0.7, "pump": 0.05},
        0.5,
        (
            "the line was choked or wet: watch it for the next days",
            "the blockage or the water stays: open the line at the cabinet",
        ),
    ),
    Check(
        "drain_trap",
        "Drain the trap and look at the filter for water.",
        2.0,
        ("water found", "dry"),
        {"water": 0.9, "moisture": 0.4},
        0.05,
        ("water is in the line", "water is unlikely"),
    ),
    Check(
        "sound_tank",
        "Sound the tank and compare with the probe's height.",
        2.5,
        ("water at the probe", "probe clear"),
        {"water": 0.85},
        0.08,
        ("the probe draws water: disconnect until it is empty", "ballast is not the reason"),
    ),
    Check(
        "compare_flow",
        "Compare flow and suction with the neighbouring line.",
        1.2,
        ("this line alone is low", "all lines are low"),
        {"pump": 0.04, "blocked": 0.95, "water": 0.95},
        0.5,
        ("this line is choked or wet", "the pump or the common filter"),
    ),
    Check(
        "reorder_sequence",
        "Sample the points in another order for some rounds.",
        3.0,
        ("the alarm moves with the point before it", "the alarm stays with the point"),
        {"carry_over": 0.92, "blocked": 0.5, "water": 0.4},
        0.03,
        ("a rest of the previous sample", "it belongs to this point"),
    ),
    Check(
        "test_log",
        "Ask who used test gas, and compare the time with the calibration sheet.",
        1.5,
        ("test gas was used then", "nobody used test gas"),
        {"test_gas": 0.93},
        0.02,
        ("it was the test gas: write it into the log", "test gas is out: treat as gas"),
    ),
    Check(
        "background_survey",
        "Compare the point's readings of the past weeks with its setpoint and a portable meter.",
        3.0,
        ("steady background under the setpoint", "level is new or rising"),
        {"tight_setpoint": 0.95, "zero_drift": 0.4},
        0.08,
        (
            "a harmless background may be the reason; the setpoint is for the responsible persons",
            "a slow leak is possible: treat as gas",
        ),
    ),
)
CHECK_BY_KEY = {check.key: check for check in CHECKS}


def information_gain(probability: np.ndarray, likelihood: np.ndarray) -> np.ndarray:
    """Return the expected gain of a two-outcome check [bits], shape (E,).

    Parameters
    ----------
    probability : ndarray, shape (E, C)
    likelihood : ndarray, shape (C,)
        Probability of the first outcome under each cause.

    Examples
    --------
    >>> p = np.array([[56, 40, 6, 24]]) / 126
    >>> float(information_gain(p, np.array([0.95, 0.3, 0.1, 0.6]))[0].round(6))
    0.331205
    """
    first = probability @ likelihood
    within = probability @ _entropy(likelihood)
    return _entropy(first) - within


def _entropy(p: np.ndarray) -> np.ndarray:
    q = np.clip(p, 1e-12, 1 - 1e-12)
    return np.asarray(-(q * np.log2(q) + (1 - q) * np.log2(1 - q)))


def next_check(
    probability: np.ndarray, real: np.ndarray, is_fault: np.ndarray, causes: tuple[str, ...]
) -> np.ndarray:
    """Return the key of the best next check for E alarms, shape (E,).

    A resample first while gas is possible (never for faults, which are about the line).
    """
    gains = []
    for check in CHECKS:
        likelihood = np.array([check.likelihood.get(cause, check.other) for cause in causes])
        gains.append(information_gain(probability, likelihood) / check.effort)
    keys = np.array([check.key for check in CHECKS], dtype=object)
    best = keys[np.argmax(np.stack(gains, axis=1), axis=1)]
    best = np.where(~is_fault & (real >= NUISANCE_BELOW), RESAMPLE.key, best)
    line_checks = ["purge_and_resample", "drain_trap", "sound_tank", "compare_flow"]
    off_line = is_fault & ~np.isin(best.astype(str), line_checks)
    return np.where(off_line, "compare_flow", best)
