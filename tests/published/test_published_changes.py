"""Change points against series whose breaks are published or marked by people."""

import importlib.util

import numpy as np
import pytest

from alarmsift.evidence.steps import change_points


def test_nile_flow_breaks_once_in_1899():
    # R package strucchange, reference manual, breakpoints(Nile ~ 1): break after observation 28
    # (1898), 95 % interval 25 to 32; index 28 is the first year of the new level, 1899
    nile = pytest.importorskip("statsmodels.datasets", reason="statsmodels carries the series").nile
    flow = nile.load_pandas().data["volume"].to_numpy()
    assert change_points(flow) == [28]


def matched(true, found, margin):
    """Count the true changes that have a found one of their own within the margin."""
    left, hits = set(found), 0
    for at in sorted(true):
        near = sorted((abs(at - one), one) for one in left if abs(at - one) <= margin)
        if near:
            hits += 1
            left.remove(near[0][1])
    return hits


def f1(annotations, found, margin=5):
    """Score as van den Burg and Williams (2020) do: index 0 always counts as a change."""
    people = [set(each) | {0} for each in annotations.values()]
    predicted = set(found) | {0}
    precision = matched(set().union(*people), predicted, margin) / len(predicted)
    recall = np.mean([matched(each, predicted, margin) / len(each) for each in people])
    return 2 * precision * recall / (precision + recall)


def marked(name):
    """Return a series that people marked, and their marks, from the package `river`."""
    if importlib.util.find_spec("river") is None:
        pytest.skip("river (extra refdata) carries the annotated series and is not installed")
    module = importlib.import_module("river.drift.datasets")
    data = getattr(module, name)()
    rows = [list(y.values()) if isinstance(y, dict) else [y] for _, y in data]
    return np.array(rows, dtype=float), data.annotations


# van den Burg, G. J. J., Williams, C. K. I., "An evaluation of change point detection algorithms",
# arXiv 2003.06222 (2020); real measurements, five annotators each. Doing nothing scores .341 on
# occupancy and .446 on run_log; the best published default on occupancy is .807.
@pytest.mark.parametrize(
    ("name", "nothing", "asked"), [("Occupancy", 0.341, 0.85), ("RunLog", 0.446, 0.90)]
)
def test_agrees_with_people_on_real_sensors(name, nothing, asked):
    table, annotations = marked(name)
    assert f1(annotations, []) == pytest.approx(nothing, abs=5e-4)
    assert f1(annotations, change_points(table)) >= asked


def test_score_is_one_for_one_and_zero_beyond_the_margin():
    # hand-made: true change 50, found 45 and 80; with index 0, P 2/3, R 1, F1 0.8
    assert f1({"a": [50]}, [45, 80]) == pytest.approx(0.8)
    assert matched({50}, [45, 80], 4) == 0
