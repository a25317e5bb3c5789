"""False alarms, missed alarms and delay of delay timers, deadbands and m-of-n rules.

Probabilities are those of one visit: ``p`` a normal reading stands at or over the setpoint, ``q``
an abnormal one does, ``r`` a reading lies under setpoint less deadband. Delay counts visits after
the first abnormal one. FAR is the share of normal visits in alarm, not a number of alarms: the
raises are told beside it.

References
----------
.. [1] J. Xu, J. Wang, I. Izadi, T. Chen, "Performance assessment and design for univariate alarm
   systems based on FAR, MAR, and AAD", IEEE T-ASE 9(2), 2012, 296-307.
.. [2] N. A. Adnan, I. Izadi, T. Chen, "On expected detection delays for alarm systems with
   deadbands and delay-timers", J. Process Control 21(9), 2011, 1318-1331.
.. [3] N. A. Adnan, Y. Cheng, I. Izadi, T. Chen, "Study of generalized delay-timers in alarm
   configuration", J. Process Control 23(3), 2013, 382-395.

The papers treat these very designs; the formulas below are worked out from the alternating renewal
process and not copied from them.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from math import comb

import numpy as np
from scipy.special import roots_legendre
from scipy.stats import norm

QUADRATURE_NODES = 400  # Gauss-Legendre; 12 digits for the orthants of the tests
TAIL_SD = 9.0  # a normal reading lies above this with 1e-19: the integral ends here [sd]


@dataclass(frozen=True)
class Expected:
    """What a design does, visit by visit.

    Attributes
    ----------
    share : float
        Of normal visits in alarm (FAR) [-].
    raises : float
        Alarms a normal visit [-].
    missed : float
        Share of abnormal visits not in alarm (MAR) [-].
    delay : float
        Mean visits from the first abnormal one to the alarm (EDD).
    """

    share: float
    raises: float
    missed: float
    delay: float


def mean_wait(chance: float, run: int) -> float:
    """Return the mean number of visits until ``run`` successes in a row, infinity if never."""
    if chance <= 0.0:
        return float("inf")
    if chance >= 1.0:
        return float(run)
    return float((1.0 - chance**run) / ((1.0 - chance) * chance**run))


def delay_timer(
    normal: tuple[float, float], abnormal: tuple[float, float], *, on: int = 1, off: int = 1
) -> Expected:
    """Return what an on-delay, an off-delay and a deadband do together [1]_, [2]_.

    Parameters
    ----------
    normal, abnormal : (float, float)
        Chance of a reading at or over the setpoint, and of one under setpoint less deadband.
    on, off : int
        Visits in a row that raise and that clear.
    """
    clear, alarm = mean_wait(normal[0], on), mean_wait(normal[1], off)
    late, stay = mean_wait(abnormal[0], on), mean_wait(abnormal[1], off)
    missed = 1.0 if np.isinf(late) else 0.0 if np.isinf(stay) else late / (late + stay)
    share = 0.0 if np.isinf(clear) else 1.0 if np.isinf(alarm) else alarm / (alarm + clear)
    return Expected(share, 1.0 / (clear + alarm), missed, late - 1.0)


def window_rule(p: float, q: float, *, needed: int, of: int) -> Expected:
    """Return what an alarm does that stands while ``needed`` of the last ``of`` visits are over.

    The delay is the first passage of the chain of window states, starting from none over
    [3]_.
    """

    def over(chance: float) -> float:
        return sum(
            comb(of, k) * chance**k * (1 - chance) ** (of - k) for k in range(needed, of + 1)
        )

    raises = comb(of - 1, needed - 1) * p**needed * (1 - p) ** (of - needed + 1)
    return Expected(over(p), raises, 1.0 - over(q), _first_passage(q, needed, of) - 1.0)


def _first_passage(chance: float, needed: int, of: int) -> float:
    """Return the mean visits to ``needed`` hits within ``of`` visits, from an empty window."""
    if chance <= 0.0:
        return float("inf")
    states = [s for s in range(2 ** (of - 1)) if s.bit_count() < needed]
    place = {state: row for row, state in enumerate(states)}
    moves = np.eye(len(states))
    mask = 2 ** (of - 1) - 1
    for state, row in place.items():
        moves[row, place[(state << 1) & mask]] -= 1.0 - chance
        if state.bit_count() + 1 < needed:
            moves[row, place[((state << 1) | 1) & mask]] -= chance
    return float(np.linalg.solve(moves, np.ones(len(states)))[place[0]])


def run_over(limit: float, run: int, *, correlation: float) -> float:
    """Return the chance that ``run`` readings in a row lie over a limit, for an AR(1) series.

    Parameters
    ----------
    limit : float
        In standard deviations over the mean.
    run : int
        Readings in a row; 0 gives 1.
    correlation : float
        Of a reading with the one before [-], above -1 and under 1.

    Notes
    -----
    The orthant integral step by step, by Gauss-Legendre. An on-delay of ``run`` visits has
    this as its FAR, and ``run_over(run) - run_over(run + 1)`` as its raises a visit.
    """
    if run <= 1:
        return float(norm.sf(limit)) if run else 1.0
    node, weight = _nodes()
    half = max(TAIL_SD - limit, 1.0) / 2.0
    at, weight = limit + half * (node + 1.0), weight * half
    density = norm.pdf(at)
    spread = np.sqrt(1.0 - correlation**2)
    step = norm.pdf((at[None, :] - correlation * at[:, None]) / spread) / spread
    for _ in range(run - 1):
        density = (density * weight) @ step
    return float(density @ weight)


@cache
def _nodes() -> tuple[np.ndarray, np.ndarray]:
    """Return Gauss-Legendre nodes and weights on (-1, 1): found once, for they cost most."""
    node, weight = roots_legendre(QUADRATURE_NODES)
    return node, weight


def count_inflation(limit: float, *, correlation: float, lags: int = 400) -> float:
    """Return how much autocorrelation widens the variance of a count of readings over a limit [-].

    ``1 + 2 sum rho_k`` over the lags of an AR(1) series, ``rho_k`` that of the 0/1 series.
    """
    p = float(norm.sf(limit))
    total = 0.0
    for lag in range(1, lags):
        rho = (run_over(limit, 2, correlation=correlation**lag) - p * p) / (p * (1.0 - p))
        total += rho
        if abs(rho) < 1e-7:
            break
    return 1.0 + 2.0 * total
