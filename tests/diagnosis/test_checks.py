import numpy as np
import pytest

from alarmsift.diagnosis.checks import CHECKS, information_gain, next_check
from alarmsift.diagnosis.treat import NUISANCE_BELOW
from alarmsift.tables.schema import CAUSES

WIPES_EVIDENCE = {"purge_and_resample", "drain_trap", "zero_check", "span_check"}


def entropy(p):
    p = np.asarray(p, float)
    return float(-(p[p > 0] * np.log2(p[p > 0])).sum())


def test_information_gain_of_the_worked_example():
    """Expected information of an experiment (D. V. Lindley, 1956, from memory).

    Four causes at 56, 40, 6, 24 of 126; the test is positive in .95 .3 .1 .6: P(+) = .636508.
    """
    p = np.array([[56, 40, 6, 24]]) / 126
    likelihood = np.array([0.95, 0.3, 0.1, 0.6])
    assert information_gain(p, likelihood)[0] == pytest.approx(0.331205, abs=5e-7)


def test_information_gain_is_entropy_before_less_entropy_after():
    p = np.array([0.5, 0.2, 0.3])
    likelihood = np.array([0.9, 0.5, 0.1])
    first = float(p @ likelihood)
    after = first * entropy(p * likelihood / first)
    after += (1 - first) * entropy(p * (1 - likelihood) / (1 - first))
    found = information_gain(p[None, :], likelihood)[0]
    assert found == pytest.approx(entropy(p) - after, rel=1e-9)


def test_a_check_that_answers_alike_under_every_cause_tells_nothing():
    p = np.array([[0.5, 0.5]])
    assert information_gain(p, np.array([0.7, 0.7]))[0] == pytest.approx(0.0, abs=1e-12)
    assert information_gain(p, np.array([1.0, 0.0]))[0] == pytest.approx(1.0, abs=1e-9)


def sure_of(cause, gas=0.0):
    p = np.full(len(CAUSES), 1e-6)
    p[CAUSES.index(cause)] = 0.8
    p[CAUSES.index("gas")] += gas
    return p / p.sum()


@pytest.mark.parametrize("cause", CAUSES)
def test_resample_comes_first_while_gas_is_possible(cause):
    p = sure_of(cause, gas=0.02)[None, :]
    real = p[:, [CAUSES.index("gas"), CAUSES.index("ambient_vapour")]].sum(axis=1)
    assert real[0] >= NUISANCE_BELOW
    assert next_check(p, real, np.array([False]), CAUSES).tolist() == ["resample"]


@pytest.mark.parametrize("cause", ["water", "blocked", "pump"])
def test_fault_asks_for_a_look_at_the_line(cause):
    p = sure_of(cause)[None, :]
    (found,) = next_check(p, np.zeros(1), np.array([True]), CAUSES)
    assert found in {"purge_and_resample", "drain_trap", "sound_tank", "compare_flow"}


def test_check_between_two_causes_is_one_that_tells_them_apart():
    p = np.zeros((1, len(CAUSES)))
    p[0, CAUSES.index("zero_drift")] = p[0, CAUSES.index("tight_setpoint")] = 0.5
    (found,) = next_check(p, np.zeros(1), np.array([False]), CAUSES)
    assert found in {"reference_then_point", "zero_check", "background_survey"}


def test_every_check_is_done_from_outside_and_its_figures_are_probabilities():
    for check in CHECKS:
        assert set(check.likelihood) <= set(CAUSES)
        assert all(0 < value < 1 for value in [*check.likelihood.values(), check.other])
        assert check.effort > 0
        assert len(check.outcomes) == len(check.means) == 2
        assert "enter" not in check.words.lower()


def test_resample_keeps_the_point_in_the_scan():
    resample = CHECKS[0]
    assert resample.key == "resample"
    assert "kept in the scan" in resample.words
    assert resample.key not in WIPES_EVIDENCE
