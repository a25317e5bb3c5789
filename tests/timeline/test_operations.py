import numpy as np
import pytest

from alarmsift.timeline.operations import read_operations
from alarmsift.timeline.visits import build_visits
from tests.ten_rows import history, logs_of, quiet

POINTS = """
point space
UP    "BT 1"
LO    "BT 1"
V     "VOID"
"""


def read(operations, *, points=POINTS):
    readings = history(quiet(("UP", "LO", "V"), 150))
    logs = logs_of({"readings": readings, "operations": operations, "points": points})
    visits = build_visits(logs)
    return visits, read_operations(logs, visits)


def spans(visits, found):
    return sorted(
        ((visits.points[p] if p >= 0 else "all", a, b))
        for p, a, b in zip(found.point, found.start, found.end, strict=True)
    )


def test_disconnect_and_reconnect_make_a_span():
    visits, ops = read("""
        time action     point
        1:00 disconnect UP
        9:00 reconnect  UP
    """)
    assert spans(visits, ops.disconnected) == [("UP", 1.0, 9.0)]
    assert ops.disconnected.active(
        np.array([visits.points.index("UP")] * 3), np.array([0.5, 5.0, 9.5])
    ).tolist() == [False, True, False]


def test_a_space_means_both_its_points():
    visits, ops = read("""
        time action     point
        1:00 disconnect "BT 1"
        9:00 reconnect  "BT 1"
    """)
    assert spans(visits, ops.disconnected) == [("LO", 1.0, 9.0), ("UP", 1.0, 9.0)]


def test_blank_point_ends_the_span_of_every_point():
    visits, ops = read("""
        time action     point
        1:00 disconnect UP
        2:00 disconnect LO
        9:00 reconnect  -
    """)
    assert spans(visits, ops.disconnected) == [("LO", 2.0, 9.0), ("UP", 1.0, 9.0)]


def test_missing_reconnect_leaves_the_line_off():
    visits, ops = read("""
        time action     point
        1:00 disconnect UP
    """)
    assert spans(visits, ops.disconnected) == [("UP", 1.0, np.inf)]


def test_second_disconnect_without_reconnect_changes_nothing():
    visits, ops = read("""
        time action     point
        1:00 disconnect UP
        3:00 disconnect UP
        9:00 reconnect  UP
    """)
    assert spans(visits, ops.disconnected) == [("UP", 1.0, 9.0)]


def test_fill_and_cargo_without_an_end_do_not_last_for_ever():
    visits, ops = read("""
        time action             point
        1:00 ballast_fill_start UP
        2:00 cargo_start        -
        3:00 ventilation_on     V
    """)
    for found in (ops.filling, ops.cargo, ops.ventilated):
        assert np.isfinite(found.end).all()
    assert spans(visits, ops.cargo)[0][0] == "all"


def test_space_is_full_from_fill_to_discharge():
    visits, ops = read("""
        time  action                  point
        1:00  ballast_fill_start      UP
        5:00  ballast_fill_end        UP
        30:00 ballast_discharge_start UP
        34:00 ballast_discharge_end   UP
    """)
    # Ballast is about the whole tank: its lower point is meant, too.
    assert spans(visits, ops.filling) == [("LO", 1.0, 5.0), ("UP", 1.0, 5.0)]
    assert spans(visits, ops.full) == [("LO", 1.0, 34.0), ("UP", 1.0, 34.0)]


def test_sea_state_holds_until_the_next_entry():
    visits, ops = read("""
        time  action    value
        2:00  sea_state 7
        6:00  sea_state 3
        10:00 sea_state 6
    """)
    found = spans(visits, ops.heavy_sea)
    assert [span[:2] for span in found] == [("all", 2.0), ("all", 10.0)]
    assert found[0][2] == pytest.approx(6.0)


def test_rows_of_a_point_that_no_reading_has_are_left_out():
    visits, ops = read("""
        time action     point
        1:00 disconnect NOWHERE
        1:00 disconnect UP
    """)
    assert [span[0] for span in spans(visits, ops.disconnected)] == ["UP"]


def test_a_space_without_a_sampled_point_does_no_harm():
    points = POINTS + '\nGONE "BT 9"'
    visits, ops = read(
        """
        time action     point
        1:00 disconnect "BT 9"
        """,
        points=points,
    )
    assert spans(visits, ops.disconnected) == []


def test_no_log_is_not_the_same_as_an_empty_action():
    _, none = read(None)
    assert not none.logged
    assert len(none.of("purge")) == 0
