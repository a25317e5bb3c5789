"""Weighing against hand-computed Bayes.

Weights of evidence in decibans: I. J. Good, *Probability and the Weighing of Evidence* (1950), from
memory. The two examples are worked by hand below with Bayes' theorem.
"""

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from alarmsift.diagnosis import weighing
from alarmsift.diagnosis.cause import Cause
from alarmsift.diagnosis.weighing import FAMILY_CAP, weigh
from alarmsift.pipeline.signs_read import all_signs, weights_table
from alarmsift.pipeline.verdicts import all_causes


def cause(key, prior, applies="alarm"):
    return Cause(key, key, "", (), prior, "", applies)


def sign_table(names, family=None, applies="alarm"):
    return pd.DataFrame({"sign": names, "family": family or names, "applies": applies})


def decibans(ratio):
    return 10.0 * np.log10(ratio)


def probabilities(priors, ratios, strengths, **more):
    """Weigh signs whose likelihood ratios (one a cause) are given in linear terms."""
    causes = tuple(cause(f"c{i}", decibans(p)) for i, p in enumerate(priors))
    names = [f"s{i}" for i in range(len(ratios))]
    weights = pd.DataFrame(
        [
            {"sign": name, "cause": f"c{i}", "present": decibans(r), "absent": 0.0}
            for name, row in zip(names, ratios, strict=True)
            for i, r in enumerate(row)
        ]
    )
    strength = np.atleast_2d(np.asarray(strengths, float))
    faults = np.zeros(len(strength), bool)
    table = sign_table(names, **more)
    return weigh(strength, faults, signs=table, weights=weights, causes=causes).probability


@pytest.fixture
def plain_bayes(monkeypatch):
    """Take away the allowance for signs that depend on each other."""
    monkeypatch.setattr(weighing, "FAMILY_CAP", np.inf)


def test_odds_of_one_to_nine_times_three_ratios(plain_bayes):
    # (1/9) * 8 * 0.5 * 4 = 16/9, so P = 16/25: -9.5424 + 9.0309 - 3.0103 + 6.0206 = 2.4988 dB.
    found = probabilities([1, 9], [[8, 1], [0.5, 1], [4, 1]], [1, 1, 1])
    assert found[0, 0] == pytest.approx(0.64, rel=1e-9)


def test_four_causes_and_two_signs(plain_bayes):
    # .1*.8*.7 = 56, .4*.2*.5 = 40, .3*.1*.2 = 6, .2*.3*.4 = 24, over 126 (all in thousandths).
    found = probabilities(
        [0.1, 0.4, 0.3, 0.2], [[0.8, 0.2, 0.1, 0.3], [0.7, 0.5, 0.2, 0.4]], [1, 1]
    )
    assert found[0] == pytest.approx(np.array([56, 40, 6, 24]) / 126, rel=1e-9)


def test_a_family_of_signs_is_capped_and_two_families_are_not():
    much = [[1e9, 1.0], [1e9, 1.0]]
    cap = 10 ** (FAMILY_CAP / 10)
    together = probabilities([1, 1], much, [1, 1], family=["same", "same"])
    apart = probabilities([1, 1], much, [1, 1], family=["one", "other"])
    assert together[0, 0] == pytest.approx(cap / (1 + cap), rel=1e-9)
    assert apart[0, 1] == pytest.approx(1 / (1 + cap**2), rel=1e-6)


def test_no_data_leaves_the_prior():
    found = probabilities([1, 3], [[8, 1]], [np.nan])
    odds = 1 / 3
    assert found[0, 0] == pytest.approx(odds / (1 + odds), rel=1e-9)


def test_half_a_strength_is_half_the_decibans():
    ratio = 10 ** (0.5 * decibans(8) / 10)
    found = probabilities([1, 1], [[8, 1]], [0.5])
    assert found[0, 0] == pytest.approx(ratio / (1 + ratio), rel=1e-9)


def test_absent_has_a_weight_of_its_own():
    causes = (cause("a", 0.0), cause("b", 0.0))
    weights = pd.DataFrame({"sign": ["s"], "cause": ["a"], "present": [20.0], "absent": [-10.0]})
    found = weigh(
        np.array([[-1.0]]), np.zeros(1, bool), signs=sign_table(["s"]), weights=weights,
        causes=causes,
    )  # fmt: skip
    odds = 10**-1.0
    assert found.probability[0, 0] == pytest.approx(odds / (1 + odds), rel=1e-9)
    assert found.decibans[0, 0].tolist() == [-10.0, 0.0]


def test_faults_and_alarms_keep_to_their_own_causes_and_signs():
    causes = (cause("gas", 0.0), cause("pump", 0.0, "fault"), cause("water", 0.0, "both"))
    weights = pd.DataFrame({"sign": ["s"], "cause": ["water"], "present": [10.0], "absent": [0.0]})
    found = weigh(
        np.ones((2, 1)), np.array([False, True]), signs=sign_table(["s"]), weights=weights,
        causes=causes,
    )  # fmt: skip
    alarm, fault = found.probability
    assert alarm[1] < 1e-12 < alarm[0]
    assert fault[0] < 1e-12
    assert fault[1] == pytest.approx(fault[2])  # the sign is about alarms only
    assert alarm[2] > alarm[0]


def test_a_cause_left_out_gets_nothing():
    causes = (cause("gas", 0.0), cause("zero_drift", 30.0), cause("spike", 0.0))
    weights = pd.DataFrame({"sign": ["s"], "cause": ["gas"], "present": [0.0], "absent": [0.0]})
    found = weigh(
        np.zeros((1, 1)), np.zeros(1, bool), signs=sign_table(["s"]), weights=weights,
        causes=causes, without=("zero_drift",),
    )  # fmt: skip
    assert found.probability[0] == pytest.approx([0.5, 0.0, 0.5], abs=1e-9)


@settings(max_examples=50, deadline=None)
@given(arrays(float, (3, 4), elements=st.one_of(st.just(np.nan), st.floats(-1, 1))))
def test_probabilities_add_up_to_one_whatever_the_signs_say(strength):
    signs = all_signs()
    wide = np.full((3, len(signs)), np.nan)
    wide[:, :4] = strength
    table = sign_table(
        [s.key for s in signs], [s.family for s in signs], [s.applies for s in signs]
    )
    found = weigh(
        wide, np.array([False, True, False]), signs=table, weights=weights_table(signs),
        causes=all_causes(),
    ).probability  # fmt: skip
    assert found.sum(axis=1) == pytest.approx(np.ones(3))
    assert (found >= 0).all()
