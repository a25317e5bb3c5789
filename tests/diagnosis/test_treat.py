from itertools import product

import numpy as np
import pytest

from alarmsift.diagnosis.treat import NUISANCE_BELOW, treat_as
from alarmsift.tables.schema import CAUSES, UNDETERMINED

REAL = {"gas", "ambient_vapour"}


def one(cause, real, *, fault=False, supported=True, settled=True, **more):
    (answer,) = treat_as(
        np.array([cause], object),
        np.array([real]),
        is_fault=np.array([fault]),
        supported=np.array([supported]),
        settled=np.array([settled]),
        **more,
    )
    return answer


@pytest.mark.parametrize(
    ("cause", "real", "supported", "settled", "answer"),
    [
        ("spike", 0.001, True, True, "nuisance"),
        ("spike", 0.001, False, True, "unresolved"),
        ("spike", 0.001, True, False, "unresolved"),
        ("spike", 0.02, True, True, "unresolved"),
        ("gas", 0.9, True, True, "gas"),
        ("gas", 0.001, True, True, "gas"),
        ("ambient_vapour", 0.9, True, True, "gas"),
        (UNDETERMINED, 0.001, True, True, "unresolved"),
    ],
)
def test_truth_table(cause, real, supported, settled, answer):
    assert one(cause, real, supported=supported, settled=settled) == answer


def test_nuisance_needs_every_condition_at_once():
    for cause, real, supported, settled in product(
        [*CAUSES, UNDETERMINED], [0.0, 0.0099, 0.01, 0.5], [True, False], [True, False]
    ):
        said = one(cause, real, supported=supported, settled=settled)
        may = real < NUISANCE_BELOW and supported and settled
        may &= cause not in REAL and cause != UNDETERMINED
        assert (said == "nuisance") == may


def test_one_in_a_hundred_is_the_bound_and_stands_itself_for_gas():
    # Costs of 1 : 99 (needless response : gas dismissed) give 1/(1 + 99): decision theory.
    assert pytest.approx(1 / (1 + 99)) == NUISANCE_BELOW
    assert one("spike", 0.01) == "unresolved"
    assert one("spike", 0.00999) == "nuisance"


def test_bound_can_be_lowered():
    assert one("spike", 0.005, bound=0.001) == "unresolved"


def test_bound_of_nought_dismisses_nothing():
    assert one("spike", 0.0, bound=0.0) == "unresolved"


@pytest.mark.parametrize("bound", [0.011, 0.5, 1.0, np.inf])
def test_bound_can_never_be_raised(bound):
    assert one("spike", 0.0105, bound=bound) == "unresolved"


def test_unknown_probability_is_no_nuisance():
    assert one("spike", np.nan) == "unresolved"


@pytest.mark.parametrize("cause", ["water", "blocked", "pump", UNDETERMINED])
def test_fault_is_a_point_unwatched_and_never_a_nuisance(cause):
    assert one(cause, 0.0, fault=True) == "unwatched"
