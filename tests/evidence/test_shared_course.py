import numpy as np
import pytest

from alarmsift.evidence.shared_course import shared_course
from tests.signs.case_file import Case, windows_of

ROUND = 1 / 3  # [h]
OXYGEN = {"gases": ["O2"], "setpoints": "gas level value\nO2 low 19.5"}


def course(values, *, hold, **given):
    courses = [{"point": "all", "values": values, "hold": hold}]
    w, row = windows_of(Case("shared_went", 0, {"courses": courses, **given}))
    found = shared_course(w)
    return found.came[row], found.went[row], bool(found.adjusted[row])


def test_ramp_takes_half_of_its_length_from_a_quarter_to_three_quarters():
    up = np.linspace(1.0, 16.0, 31)[1:]  # ten hours
    down = up[::-1][1:].tolist()
    came, went, adjusted = course([*up, *[16.0] * 30, *down], hold=0, alarmed="AIR")
    # It counts against its height at the alarm, 10 of 16 %LFL; it went on rising after.
    assert came == pytest.approx(0.5 * 10 * 10 / 16, abs=2 * ROUND)
    assert went > 0.5 * 10 * 10 / 16 - 2 * ROUND
    assert not adjusted


@pytest.mark.parametrize("point", ["A", "C", "AIR"])
def test_jump_that_stays_never_goes_whatever_turn_its_point_has(point):
    came, went, _ = course([16.0], hold=299, rounds=800, alarmed=point)
    assert came <= ROUND + 1e-9
    assert np.isinf(went)


def test_want_of_oxygen_that_all_points_share_has_its_course_turned():
    came, went, _ = course([18.9], hold=29, **OXYGEN)
    assert came <= ROUND + 1e-9
    assert went <= ROUND + 1e-9


def test_adjustment_counts_while_it_fell_and_not_a_day_later():
    def row(clock):
        return f"time action gas value\n{clock} zero_adjust HC 0"

    assert course([16.0], hold=29, operations=row("60:00"))[2]
    assert not course([16.0], hold=29, operations=row("90:00"))[2]


def test_log_that_ends_first_does_not_say_that_it_stayed():
    _, went, _ = course([16.0], hold=49, rounds=200, alarmed="D")
    assert np.isnan(went)
