import numpy as np
import pytest

from alarmsift.evidence.kept_now import kept_now
from tests.signs.case_file import Case, windows_of

# A valve that keeps a quarter: B after A, D after C two hours later.
HIGH = [60.0] * 4
REST = [1.0 + 0.25 * 59.0] * 4
NEXT = [1.0 + 0.25**2 * 59.0] * 4
COURSES = [
    {"point": "A", "values": HIGH},
    {"point": "B", "values": REST},
    {"point": "C", "values": NEXT},
    {"point": "C", "values": HIGH, "from": 6},
    {"point": "D", "values": REST, "from": 6},
    {"point": "E", "values": NEXT, "from": 6},
]


def kept(**given):
    w, row = windows_of(Case("share_now", 0, {"alarmed": "B", "courses": COURSES, **given}))
    found = kept_now(w)
    return found.own[row], found.others[row]


def test_share_that_the_valve_keeps_comes_back_at_the_point_and_at_the_others():
    assert kept() == (pytest.approx(0.25, abs=0.02), pytest.approx(0.25, abs=0.02))


def test_gas_at_neighbours_is_no_share_that_the_others_keep():
    leak = {"from": 5, "values": [60.0] * 8}
    spread = [*COURSES[:3], *({"point": point, **leak} for point in "CDE")]
    assert kept(courses=spread, points="point neighbours\nA -")[1] > 0.5
    # What D showed of C and E of D is out; AIR kept nothing of E.
    assert kept(courses=spread, points='point neighbours\nD "C E"')[1] < 0.1


def test_fewer_than_three_samples_of_others_tell_nothing():
    courses = [
        {"point": "A", "values": HIGH[:2]},
        {"point": "B", "values": REST[:2]},
    ]
    own, others = kept(courses=courses)
    assert own == pytest.approx(0.25, abs=0.02)
    assert np.isnan(others)


def test_want_of_oxygen_is_not_looked_at():
    courses = [{"point": "A", "values": [15.0] * 4}, {"point": "B", "values": [19.0] * 4}]
    own, others = kept(gases=["O2"], setpoints="gas level value\nO2 low 19.5", courses=courses)
    assert np.isnan(own)
    assert np.isnan(others)
