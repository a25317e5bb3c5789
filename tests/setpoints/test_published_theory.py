"""Closed forms for alarm designs against worked values and simulation.

The papers treat these designs (Xu, Wang, Izadi, Chen 2012, IEEE T-ASE 9(2) 296-307; Adnan, Izadi,
Chen 2011, J. Process Control 21(9) 1318-1331; Adnan et al. 2013, J. Process Control 23(3) 382-395).
The values are worked from the alternating renewal process and agree with a Markov chain and with
simulation made apart from this code; they are no copies of printed tables.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import multivariate_normal, norm

from alarmsift.setpoints.candidate import Setting
from alarmsift.setpoints.replay import raised, state_of
from alarmsift.setpoints.theory import (
    count_inflation,
    delay_timer,
    mean_wait,
    run_over,
    window_rule,
)

STANDARD_ERRORS = 4.5


def gaussian(on, band, shift=3.0):
    """Chances of N(0,1) against N(shift,1)."""
    low = on - band
    return (norm.sf(on), norm.cdf(low)), (norm.sf(on - shift), norm.cdf(low - shift))


def test_mean_wait_for_a_run_of_heads_is_feller_s():
    # Feller, An Introduction to Probability Theory I, XIII.7: 2, 6, 14, 30 for a fair coin.
    assert [mean_wait(0.5, n) for n in (1, 2, 3, 4)] == [2.0, 6.0, 14.0, 30.0]


@pytest.mark.parametrize(
    ("calm", "gas", "limit", "share", "missed", "delay"),
    [
        ((0, 1), (3, 1), 1.0, 0.158655, 0.022750, 0.023280),
        ((0, 1), (3, 1), 1.5, 0.066807, 0.066807, 0.071590),
        ((0, 1), (3, 1), 2.5, 0.006210, 0.308538, 0.446210),
        ((0, 1), (3, 1), 3.0, 0.001350, 0.500000, 1.000000),
        ((2, 1.5), (12, 3), 5.0, 0.0227501, 0.00981533, 0.00991262),
        ((2, 1.5), (12, 3), 7.0, 4.29060e-4, 0.0477904, 0.0501889),
        ((2, 1.5), (12, 3), 10.0, 4.8213e-8, 0.252493, 0.337779),
    ],
)
def test_a_plain_limit(calm, gas, limit, share, missed, delay):  # noqa: PLR0917  (one row)
    over = [norm.sf(limit, *law) for law in (calm, gas)]
    found = delay_timer((over[0], 1 - over[0]), (over[1], 1 - over[1]))
    # To the digits of the worked table.
    assert found.share == pytest.approx(share, rel=2e-5, abs=5.1e-7)
    assert found.missed == pytest.approx(missed, rel=2e-6, abs=5.1e-7)
    assert found.delay == pytest.approx(delay, rel=2e-6, abs=5.1e-7)
    # And to the plain formulas: 1 - q, (1 - q)/q, p (1 - p).
    assert found.missed == pytest.approx(1 - over[1], rel=1e-9)
    assert found.delay == pytest.approx((1 - over[1]) / over[1], rel=1e-9)
    assert found.raises == pytest.approx(over[0] * (1 - over[0]), rel=1e-9)


@pytest.mark.parametrize(
    ("q", "delays"),
    [(0.6, (0.66667, 3.44444, 8.07407, 28.65021)), (0.9, (0.11111, 1.34568, 2.71742, 5.93509))],
)
def test_each_further_visit_in_a_row_waits_longer(q, delays):
    found = [delay_timer((0.1, 0.9), (q, 1 - q), on=n).delay for n in (1, 2, 3, 5)]
    assert found == pytest.approx(delays, abs=5.1e-6)


def test_two_of_three_has_a_closed_first_passage():
    for q in (0.2, 0.6, 0.84134475):
        exact = (1 / q + 2 - q) / (1 - (1 - q) ** 2) - 1
        assert window_rule(0.05, q, needed=2, of=3).delay == pytest.approx(exact, rel=1e-9)


@pytest.mark.parametrize(
    ("p", "n", "share", "per_1000"),
    [(0.02, 2, 8.078335e-4, 0.391840), (0.05, 3, 3.949764e-4, 0.118718),
     (0.1, 2, 0.02087912, 8.90110), (0.2, 3, 0.02982885, 6.25917), (0.5, 3, 0.5, 35.7143)],
)  # fmt: skip
def test_on_and_off_delay_of_n(p, n, share, per_1000):
    found = delay_timer((p, 1 - p), (0.5, 0.5), on=n, off=n)
    assert found.share == pytest.approx(share, rel=1e-6)
    assert 1000 * found.raises == pytest.approx(per_1000, rel=5e-6)


@pytest.mark.parametrize(
    ("on", "band", "timer", "share", "missed", "delay", "normal", "abnormal"),
    [
        (2, 0, (1, 1), 0.02275013, 0.15865525, 0.188573, 22.232563, 133.483764),
        (2, 0, (2, 1), 0.00051757, 0.29213902, 1.601280, 0.505794, 112.305864),
        (2, 1, (1, 1), 0.02632828, 0.02632828, 0.188573, 22.151160, 22.151160),
        (2, 1, (3, 1), 0.00001368, 0.08873809, 3.280386, 0.011507, 20.731329),
        (2.5, 1, (2, 2), 0.00008506, 0.01458495, 2.537734, 0.038319, 4.122682),
        (1.5, 0.5, (3, 2), 0.00072351, 0.00174305, 2.450407, 0.278135, 0.505174),
    ],
)
def test_delay_and_deadband_together(  # noqa: PLR0917  (one row of the table)
    on, band, timer, share, missed, delay, normal, abnormal
):
    calm, gas = gaussian(on, band)
    found = delay_timer(calm, gas, on=timer[0], off=timer[1])
    assert found.share == pytest.approx(share, abs=5.1e-9)
    assert found.missed == pytest.approx(missed, abs=5.1e-9)
    assert found.delay == pytest.approx(delay, abs=5.1e-7)
    assert 1000 * found.raises == pytest.approx(normal, abs=5.1e-7)
    assert 1000 * delay_timer(gas, calm, on=timer[0], off=timer[1]).raises == pytest.approx(
        abnormal, abs=5.1e-7
    )


@pytest.mark.parametrize(
    ("needed", "of", "share", "per_1000", "delay_a", "delay_b"),
    [
        (2, 2, 0.0025, 2.375, 1.601280, 3.444444),
        (2, 3, 0.00725, 4.5125, 1.407838, 2.650794),
        (2, 4, 0.01401875, 6.430313, 1.381913, 2.447293),
        (3, 5, 0.00115813, 0.643031, 2.588129, 4.505866),
        (1, 2, 0.0975, 45.125, 0.188573, 0.666667),
    ],
)
def test_m_of_n(needed, of, share, per_1000, delay_a, delay_b):
    found = window_rule(0.05, 0.84134475, needed=needed, of=of)
    assert found.share == pytest.approx(share, abs=5.1e-9)
    assert 1000 * found.raises == pytest.approx(per_1000, abs=5.1e-7)
    assert found.delay == pytest.approx(delay_a, abs=6e-7)
    assert window_rule(0.05, 0.6, needed=needed, of=of).delay == pytest.approx(delay_b, abs=6e-7)


@pytest.mark.parametrize(
    ("link", "shares"),
    [
        (0.0, (0.0227501, 0.0005176, 0.0000118)),
        (0.5, (0.0227501, 0.0040529, 0.0007948)),
        (0.9, (0.0227501, 0.0133613, 0.0087298)),
    ],
)
def test_runs_over_a_limit_of_an_autocorrelated_series(link, shares):
    found = [run_over(2.0, n, correlation=link) for n in (1, 2, 3)]
    assert found == pytest.approx(shares, abs=5.1e-8)


def test_two_in_a_row_are_scipy_s_bivariate_normal():
    for link in (0.3, 0.8, 0.95):
        other = multivariate_normal.cdf([-2.0, -2.0], cov=[[1, link], [link, 1]])
        assert run_over(2.0, 2, correlation=link) == pytest.approx(other, rel=1e-6)


@pytest.mark.parametrize(("link", "wider"), [(0.5, 1.50015)])  # 0.9 takes minutes
def test_a_count_of_autocorrelated_readings_varies_more(link, wider):
    assert count_inflation(2.0, correlation=link) == pytest.approx(wider, abs=6e-6)


@pytest.mark.parametrize(
    "setting",
    [Setting(2.0), Setting(2.0, 1.0), Setting(1.0, 0.5, 2, 2, 2), Setting(1.0, 0.0, 3, 3, 1)],
    ids=lambda one: f"{one.rule}, deadband {one.deadband:g}",
)
def test_the_replay_of_normal_readings_agrees_with_the_closed_forms(setting):
    rng = np.random.default_rng(7102)
    shares, raises = [], []
    for _ in range(200):
        state = state_of(rng.standard_normal(2000), setting, 1.0)[50:]
        shares.append(state.mean())
        raises.append(raised(state[None, :])[0, 1:].mean())
    calm, gas = gaussian(setting.value, setting.deadband)
    wanted = delay_timer(calm, gas, on=setting.needed, off=setting.off)
    for seen, exact in ((shares, wanted.share), (raises, wanted.raises)):
        error = np.std(seen, ddof=1) / np.sqrt(len(seen))
        assert abs(np.mean(seen) - exact) < STANDARD_ERRORS * error


def test_the_replay_of_two_of_three_agrees_with_the_closed_form():
    rng = np.random.default_rng(7103)
    seen = []
    for _ in range(200):
        state = state_of(rng.standard_normal(2000), Setting(1.0, 0.0, 2, 3), 1.0)[50:]
        seen.append(raised(state[None, :])[0, 1:].mean())
    p = norm.sf(1.0)
    exact = window_rule(p, 0.5, needed=2, of=3).raises
    assert abs(np.mean(seen) - exact) < STANDARD_ERRORS * np.std(seen, ddof=1) / np.sqrt(200)
