import pytest

from tests.signs.case_file import Case, windows_of

A_DAY = 72  # rounds


def known(days, turns="AB", value=40.0, points=None):
    """Return the cylinders told from tests that nobody wrote down, a day apart."""
    courses = [
        {"point": point, "values": [value + i], "from": day * A_DAY}
        for day in range(days)
        for i, point in enumerate(turns)
    ]
    w, _ = windows_of(Case("cylinder_value", 0, {"courses": courses, "points": points}))
    return w.ship.cylinders["HC"].tolist()


@pytest.mark.parametrize(("days", "turns"), [(2, "ABC"), (3, "AB")])
def test_value_that_comes_back_at_whatever_points_are_in_turn_is_the_usual_cylinder(days, turns):
    (value,) = known(days, turns)
    assert value == pytest.approx(40.0, rel=0.06)


def test_two_points_of_one_space_show_its_own_gas():
    assert known(3, points='point space\nA "WBT 1"\nB "WBT 1"') == []


@pytest.mark.parametrize(("days", "turns"), [(1, "ABC"), (2, "AB"), (3, "A")])
def test_fewer_days_or_one_turn_only_tell_none(days, turns):
    assert known(days, turns) == []
