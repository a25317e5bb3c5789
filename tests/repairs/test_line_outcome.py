import numpy as np
import pytest

from alarmsift.repairs.line_outcome import Line, foreseen, line_levels, line_outcome

WORK = 48.0
BAD, GOOD = np.log(0.4), np.log(0.95)


def outcome(days, level):
    """Half-hourly visits for two days before the work and some days after; scatter of 5 %."""
    hours = np.arange(0.0, WORK + 24.0 * days, 0.5)
    since = (hours - WORK) / 24.0
    health = np.where(since < 0.0, BAD, level(since))
    health = health + np.random.default_rng(3).normal(0.0, 0.05, len(hours))
    line, job, window = Line(hours, health), (WORK, WORK), (0.0, float(hours[-1]) + 0.1)
    return line_outcome(line_levels(line, job, window), line, job, until=window[1])


def well(since):
    return np.full(len(since), GOOD)


def test_half_a_day_is_too_early():
    assert outcome(0.5, well).outcome == "too_early"


def test_day_and_a_half_of_a_steady_level_held():
    assert outcome(1.5, well).outcome == "held"


def test_line_on_its_way_back_is_too_early_before_it_is_lost():
    # over the first day it won 0.86 - 0.11; 60 % of that is lost after 2.5 days
    falling = outcome(2.0, lambda since: GOOD - 0.22 * since)
    assert falling.outcome == "too_early"


def test_line_that_fell_back_is_dated_by_the_day_on_which_it_was_lost():
    # over the first day it won 0.86 - 0.10; 60 % of that is lost after 0.56 / 0.2 = 2.8 days
    found = outcome(4.0, lambda since: GOOD - 0.2 * since)
    assert found.outcome == "came_back"
    assert found.days == pytest.approx(2.8, abs=0.3)


def test_line_lost_within_the_first_day_was_won_before():
    found = outcome(5.0, lambda since: np.where(since < 0.3, GOOD, BAD))
    assert found.outcome == "came_back"
    assert found.days == pytest.approx(0.3, abs=0.1)


def test_straight_line_without_scatter_leads_on():
    days = np.arange(1.0, 3.0, 0.25)
    assert foreseen(days, -0.1 * days, ahead=2.0) == pytest.approx(-0.1 * (days[-1] + 2.0))
