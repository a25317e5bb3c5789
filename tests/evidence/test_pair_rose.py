import pytest

from alarmsift.evidence.pair_rose import pair_rose
from tests.signs.case_file import Case, windows_of

SAME_TANK = 'point space\nA "WBT 1"\nB "WBT 1"\nC "WBT 2"'


def pair(point, values, *, points=SAME_TANK):
    courses = [{"point": "A", "values": [20.0] * 6}, {"point": point, "values": values}]
    w, row = windows_of(Case("both_gases", 0, {"courses": courses, "points": points}))
    return bool(pair_rose(w)[row])


def test_gas_shows_at_both_points_of_a_space():
    assert pair("B", [12.0] * 6)


@pytest.mark.parametrize(("point", "values"), [("B", [1.0] * 6), ("B", [3.0]), ("C", [12.0] * 6)])
def test_a_point_at_rest_or_of_another_space_says_nothing(point, values):
    assert not pair(point, values)
