import pandas as pd
import pytest

from alarmsift.tables.schema import TABLES
from alarmsift.timeline.episodes import build_episodes
from alarmsift.timeline.setpoints import setpoints_in_force
from alarmsift.timeline.visits import build_visits
from tests.ten_rows import SETPOINTS, at, canonical, history, logs_of, quiet, table

HEADER = "time point gas event level state value\n"


def episodes(events, readings=None, setpoints=SETPOINTS):
    readings = history(quiet(("A", "B"), 30)) if readings is None else readings
    events = events if isinstance(events, pd.DataFrame) else HEADER + events
    logs = logs_of({"readings": readings, "events": events, "setpoints": setpoints})
    visits = build_visits(logs)
    return build_episodes(logs, visits, setpoints_in_force(logs, visits))


def test_raise_clear_and_acknowledgement_make_one_episode():
    found = episodes("""
        1:00 A HC alarm low raised       12
        1:05 A HC alarm low acknowledged -
        3:00 A HC alarm low cleared      8
    """)
    (row,) = found.table.itertuples()
    assert (row.raised, row.acknowledged, row.cleared) == (at("1:00"), at("1:05"), at("3:00"))
    assert (row.point, row.gas, row.level, row.kind) == ("A", "HC", "low", "alarm")
    assert not row.inferred_clear
    assert found.counts == {
        "repeats": 0,
        "clears_without_raise": 0,
        "inferred_clears": 0,
        "still_open": 0,
    }


def test_missing_clear_leaves_the_episode_open():
    found = episodes("1:00 A HC alarm low raised 12")
    assert found.table["cleared"].isna().all()
    assert found.counts["still_open"] == 1


def high(*spans):
    """Return readings of A that are at 15 in some rounds (20 min each) and at rest else."""
    values = quiet(("A", "B"), 30)
    for a, b in spans:
        values["A", "HC"][a:b] = 15.0
    return history(values)


def test_raise_while_open_and_still_high_is_a_repeat():
    found = episodes(
        """
        1:00 A HC alarm low raised  12
        2:00 A HC alarm low raised  13
        4:00 A HC alarm low cleared 8
        """,
        high((3, 12)),
    )
    (row,) = found.table.itertuples()
    assert (row.raised, row.cleared) == (at("1:00"), at("4:00"))
    assert found.counts["repeats"] == 1


def test_raise_after_readings_went_back_under_starts_a_new_episode():
    found = episodes(
        """
        1:00 A HC alarm low raised  12
        3:00 A HC alarm low raised  13
        4:00 A HC alarm low cleared 8
        """,
        high((3, 5), (9, 12)),
    )
    first, second = found.table.itertuples()
    assert first.cleared == at("1:40")  # round 5 is the first one under the setpoint
    assert first.inferred_clear
    assert (second.raised, second.cleared) == (at("3:00"), at("4:00"))
    assert found.counts["inferred_clears"] == 1
    assert found.counts["repeats"] == 0


def test_readings_inside_the_deadband_are_not_back_under():
    values = quiet(("A", "B"), 30)
    values["A", "HC"][3:12] = 15.0
    values["A", "HC"][5:7] = 9.5  # setpoint 10, deadband 1
    found = episodes(
        """
        1:00 A HC alarm low raised 12
        3:00 A HC alarm low raised 13
        """,
        history(values),
    )
    assert len(found.table) == 1
    assert found.counts["repeats"] == 1


def test_clear_without_a_raise_is_counted_and_is_no_episode():
    found = episodes("""
        0:30 A HC alarm low cleared 8
        1:00 B HC alarm low raised  12
        2:00 B HC alarm low cleared 8
        2:10 B HC alarm low cleared 8
    """)
    assert found.table["point"].tolist() == ["B"]
    assert found.counts["clears_without_raise"] == 2


def test_clears_alone_are_counted_too():
    found = episodes("0:30 A HC alarm low cleared 8")
    assert found.table.empty
    assert found.counts["clears_without_raise"] == 1


def test_reset_ends_an_episode():
    found = episodes("""
        1:00 A HC alarm low raised 12
        2:00 A HC alarm low reset  -
    """)
    (row,) = found.table.itertuples()
    assert row.cleared == at("2:00")
    assert row.by_reset


def test_reset_of_everything_ends_all_that_is_open():
    found = episodes("""
        1:00 A  HC alarm low  raised 12
        1:10 B  HC alarm high raised 40
        2:00 "" "" alarm ""   reset  -
    """)
    assert found.table["cleared"].tolist() == [at("2:00")] * 2
    assert found.table["by_reset"].all()


def test_muting_ends_nothing():
    found = episodes("""
        1:00 A HC alarm low raised 12
        1:01 A HC alarm low muted  -
    """)
    assert found.counts["still_open"] == 1


def test_fault_has_no_gas_and_keeps_its_name():
    found = episodes("""
        1:00 A HC fault "Low Flow" raised  -
        2:00 A -  fault "low flow" cleared -
    """)
    (row,) = found.table.itertuples()
    assert (row.kind, row.gas, row.level) == ("fault", "", "low flow")
    assert row.cleared == at("2:00")


def test_levels_are_lower_case_and_meet_each_other():
    found = episodes("""
        1:00 A HC alarm LOW   raised  12
        2:00 A HC alarm "Low" cleared 8
    """)
    (row,) = found.table.itertuples()
    assert row.level == "low"
    assert row.cleared == at("2:00")


def test_levels_and_gases_are_episodes_of_their_own():
    found = episodes("""
        1:00 A HC  alarm low  raised  12
        1:20 A HC  alarm high raised  31
        1:20 A H2S alarm low  raised  6
        2:00 A HC  alarm high cleared 25
        3:00 A HC  alarm low  cleared 8
    """)
    got = {(r.gas, r.level): r.cleared for r in found.table.itertuples()}
    assert got["HC", "high"] == at("2:00")
    assert got["HC", "low"] == at("3:00")
    assert pd.isna(got["H2S", "low"])


def test_acknowledgement_belongs_to_the_raise_before_it():
    found = episodes("""
        1:00 A HC alarm low raised       12
        2:00 A HC alarm low cleared      8
        3:00 A HC alarm low raised       12
        3:10 A HC alarm low acknowledged -
        4:00 A HC alarm low cleared      8
    """)
    first, second = found.table["acknowledged"]
    assert pd.isna(first)
    assert second == at("3:10")


TEN = """
1:00 A HC alarm low raised  12
1:00 B HC alarm low raised  12
2:00 A HC alarm low cleared 8
2:30 B HC alarm low cleared 8
3:00 A HC alarm low raised  12
"""


def test_episodes_stand_in_order_of_time_raised():
    found = episodes(TEN).table
    assert found["raised"].is_monotonic_increasing
    assert found["point"].tolist() == ["A", "B", "A"]


def test_order_of_rows_at_one_time_does_not_change_the_list():
    rows = table("events", HEADER + TEN)
    swapped = canonical(rows.iloc[[1, 0, 2, 3, 4]], TABLES["events"])
    keep = ["point", "gas", "level", "raised", "cleared"]
    pd.testing.assert_frame_equal(episodes(rows).table[keep], episodes(swapped).table[keep])


def test_raised_is_the_rows_own_time():
    found = episodes("1:07 A HC alarm low raised 12")
    assert found.table["raised"].tolist() == [at("1:07")]


def test_alarm_of_a_point_without_readings_is_still_an_episode():
    found = episodes("""
        1:00 NOWHERE HC alarm low raised  12
        2:00 NOWHERE HC alarm low cleared 8
    """)
    assert found.table["cleared"].tolist() == [at("2:00")]


@pytest.mark.parametrize("raises", [2, 3, 5])
def test_each_raise_is_an_episode_or_a_repeat(raises):
    text = "".join(f"{hour}:00 A HC alarm low raised 12\n" for hour in range(1, 1 + raises))
    found = episodes(text, high((0, 30)))
    assert len(found.table) + found.counts["repeats"] == raises
