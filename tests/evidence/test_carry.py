import numpy as np
import pytest

from alarmsift.tables.schema import TABLES
from alarmsift.tables.schema import empty as empty_table
from alarmsift.timeline.kin import kin_of, neighbours_of
from tests.measured import measured
from tests.ten_rows import history, logs_of, quiet, table

POINTS = ("VOID", "DECKSTORE", "COFFERDAM", "PAINT", "AIR")


def ship(share, *, highs=True):
    """Return a ship on which each point shows a share of what the point before it showed."""
    rounds = 72 * 8
    values = quiet(POINTS, rounds)
    if highs:
        for i in range(6):
            values["DECKSTORE", "HC"][60 + 80 * i : 66 + 80 * i] = 60.0
    else:
        return measured(logs_of({"readings": history(values)}))[0]
    before = values["DECKSTORE", "HC"] - 1.0
    values["COFFERDAM", "HC"] = np.round(values["COFFERDAM", "HC"] + share * before, 1)
    return measured(logs_of({"readings": history(values)}))[0]


@pytest.mark.parametrize("share", [0.02, 0.05, 0.15])
def test_share_of_the_previous_sample_comes_back(share):
    found = ship(share).carry["HC"]
    assert found.share == pytest.approx(share, abs=0.01)
    assert found.pairs >= 6


def test_no_high_sample_no_share():
    found = ship(0.05, highs=False).carry["HC"]
    assert np.isnan(found.share)
    assert np.isnan(found.by_point).all()


def test_carry_over_is_taken_out_of_the_rounds_that_others_look_at():
    after = ship(0.15)
    column = after.grid["HC"][:, after.visits.points.index("COFFERDAM")]
    assert np.nanmax(column) < 3.0  # 9 %LFL were carried over


def test_points_of_one_space_are_kin_and_need_a_table_or_their_names():
    points = ("BT1 UP", "BT1 LO", "VOID A", "PUMP")
    stated = table("points", 'point space\n"BT1 UP" "BT 1"\nPUMP "BT 1"')
    found = kin_of(points, stated)
    assert found[0, 3]
    assert found[3, 0]
    named = kin_of(points, empty_table(TABLES["points"]))
    assert named[0, 1]
    assert not named[0, 3]


def test_neighbours_are_so_both_ways_and_nobody_is_its_own():
    found = neighbours_of(("A", "B", "C"), table("points", "point neighbours\nA B"))
    assert found.tolist() == [[False, True, False], [True, False, False], [False] * 3]


def test_numbered_holds_are_spaces_of_their_own():
    found = kin_of(("HOLD 1", "HOLD 2", "VOID SPACE 1"), empty_table(TABLES["points"]))
    assert not found.any()
