import numpy as np

from alarmsift.repairs.rates import in_clusters


def test_alarms_that_come_by_chance_are_mostly_counted_one_by_one():
    # a Poisson course of 2 a day has 12 % of its gaps under 1.5 hours: 1 - exp(-2 / 24 * 1.5)
    rng = np.random.default_rng(8)
    courses = [np.sort(rng.uniform(0.0, 240.0, 20)) for _ in range(200)]
    assert np.mean([in_clusters(one) for one in courses]) < 0.25


def test_alarms_by_threes_are_clusters():
    rng = np.random.default_rng(8)
    courses = [np.sort(rng.uniform(0.0, 240.0, 7)) for _ in range(200)]
    courses = [np.sort(np.add.outer([0.0, 0.4, 0.8], one).ravel()) for one in courses]
    assert np.mean([in_clusters(one) for one in courses]) > 0.95


def test_levels_of_one_visit_are_no_cluster():
    assert not in_clusters(np.repeat([1.0, 20.0, 50.0], 2))


def test_gap_over_the_repair_is_none():
    assert not in_clusters(np.array([1.0, 20.0]), np.array([20.5, 44.0]))
