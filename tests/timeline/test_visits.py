from dataclasses import replace
from itertools import permutations

import numpy as np
import pandas as pd
import pytest

from alarmsift.reading.folder import read_logs
from alarmsift.tables.schema import TABLES
from alarmsift.timeline.two_rounds import rounds_of
from alarmsift.timeline.visits import OVER, build_visits
from tests.ten_rows import START, canonical, logs_of, table


def visits_of(readings, **tables):
    return build_visits(logs_of({"readings": readings, **tables}))


def names(visits):
    return [visits.points[code] for code in visits.point]


ROUND = """
time point gas value
0:00 A     HC  1.0
0:00 A     H2S 0.1
0:05 B     HC  2.0
0:05 B     H2S 0.2
0:10 A     HC  3.0
0:10 A     H2S 0.3
"""


def test_two_gases_of_one_turn_are_one_visit():
    visits = visits_of(ROUND)
    assert names(visits) == ["A", "B", "A"]
    assert visits.value["HC"].tolist() == [1.0, 2.0, 3.0]
    assert visits.value["H2S"].tolist() == [0.1, 0.2, 0.3]
    assert visits.hours == pytest.approx([0.0, 5 / 60, 10 / 60])


def test_row_order_within_a_turn_makes_no_difference():
    rows = table("readings", ROUND)
    for first in permutations(range(2)):
        for second in permutations((2, 3)):
            mixed = canonical(rows.iloc[[*first, *second, 4, 5]], TABLES["readings"])
            visits = visits_of(mixed)
            assert names(visits) == ["A", "B", "A"]
            assert visits.value["HC"].tolist() == [1.0, 2.0, 3.0]


def test_gases_logged_some_seconds_apart_are_one_visit():
    visits = visits_of("""
        time    point gas value
        0:00:00 A     HC  1
        0:00:09 A     H2S 0.1
        0:02:00 B     HC  2
        0:02:09 B     H2S 0.2
        0:04:00 C     HC  3
        0:04:09 C     H2S 0.3
        0:06:00 A     HC  4
        0:06:09 A     H2S 0.4
        0:08:00 B     HC  5
        0:08:09 B     H2S 0.5
    """)
    assert names(visits) == ["A", "B", "C", "A", "B"]
    assert visits.value["H2S"].tolist() == [0.1, 0.2, 0.3, 0.4, 0.5]


def test_a_point_read_twice_in_one_minute_makes_two_visits_in_the_order_of_the_file():
    visits = visits_of("""
        time point gas value
        0:00 A     HC  1
        0:00 A     H2S 0.1
        0:00 A     HC  7
        0:00 A     H2S 0.7
        0:02 B     HC  2
        0:02 B     H2S 0.2
    """)
    assert names(visits) == ["A", "A", "B"]
    assert visits.value["HC"].tolist() == [1.0, 7.0, 2.0]
    assert visits.value["H2S"].tolist() == [0.1, 0.7, 0.2]


def test_visit_before_is_the_last_one_that_drew_air():
    visits = visits_of("""
        time point gas value status
        0:00 A     HC  1     ok
        0:02 B     HC  -     not_sampled
        0:04 C     HC  3     ok
        0:06 A     HC  4     fault
        0:08 B     HC  5     ok
    """)
    assert visits.previous.tolist() == [-1, 0, 0, 2, 3]
    assert visits.drawn.tolist() == [True, False, True, True, True]
    assert visits.valid.tolist() == [True, False, True, False, True]


def test_two_analysers_have_rounds_of_their_own():
    visits = visits_of("""
        time point gas value analyser
        0:00 A     HC  1     port
        0:00 X     HC  9     starboard
        0:02 B     HC  2     port
        0:02 Y     HC  8     starboard
    """)
    assert names(visits) == ["A", "X", "B", "Y"]
    assert visits.analysers == ("port", "starboard")
    assert visits.previous.tolist() == [-1, -1, 0, 1]


def test_analyser_comes_from_the_points_table_where_readings_do_not_say():
    visits = visits_of(
        """
        time point gas value
        0:00 A     HC  1
        0:01 X     HC  9
        0:02 B     HC  2
        """,
        points="""
        point analyser
        A     port
        B     port
        X     starboard
        """,
    )
    assert visits.previous.tolist() == [-1, -1, 0]


def test_over_range_without_a_number_counts_as_the_top_ever_shown():
    visits = visits_of("""
        time point gas value status
        0:00 A     HC  1     ok
        0:02 B     HC  100   over_range
        0:04 A     HC  -     over_range
        0:06 B     HC  2     ok
    """)
    assert visits.value["HC"].tolist() == [1.0, 100.0, 100.0, 2.0]
    assert np.isnan(visits.raw["HC"][2])
    assert visits.status["HC"][2] == OVER


def test_numbers_shown_in_tests_and_faults_are_kept_but_are_no_readings():
    visits = visits_of("""
        time point gas value status
        0:00 A     HC  50    test
        0:02 B     HC  60    fault
        0:04 A     HC  3     ok
    """)
    assert np.isnan(visits.value["HC"][:2]).all()
    assert visits.raw["HC"].tolist() == [50.0, 60.0, 3.0]


def test_every_reading_finds_its_row_again():
    logs = logs_of({"readings": ROUND})
    visits = build_visits(logs)
    for gas in visits.gases:
        rows = visits.reading[gas]
        assert (logs.readings["value"].to_numpy()[rows] == visits.value[gas]).all()
        assert (logs.readings["gas"].astype(str).to_numpy()[rows] == gas).all()


def test_no_reading_at_all_gives_no_visit():
    visits = build_visits(logs_of({}))
    assert len(visits) == 0
    assert visits.points == ()
    assert not visits.drawn.any()


def test_round_takes_the_middle_time_between_turns_of_a_point():
    visits = visits_of("""
        time point gas value
        0:00 A     HC  1
        0:20 A     HC  1
        0:40 A     HC  1
        5:00 A     HC  1
    """)
    assert visits.cycle_hours == pytest.approx(20 / 60)


def test_hours_and_times_are_inverse():
    visits = visits_of(ROUND)
    times = visits.time(np.array([0.0, 0.5, np.nan]))
    assert times[1] == START + pd.Timedelta(minutes=30)
    assert pd.isna(times[2])
    assert visits.since(pd.Series(times))[:2] == pytest.approx([0.0, 0.5])


def test_a_clock_put_back_leaves_visits_an_even_round_apart(tmp_path):
    """Local time 01:00-02:00 comes twice; in UTC the rounds run on."""
    rows = ["time,point,gas,value,unit"]
    for minute in range(0, 120, 20):
        rows.append(f"2026-03-01T{1 + minute // 60:02d}:{minute % 60:02d}:00,A,HC,1.0,%LFL")
    for minute in range(0, 120, 20):
        rows.append(f"2026-03-01T{2 + minute // 60:02d}:{minute % 60:02d}:00,A,HC,2.0,%LFL")
    (tmp_path / "readings.csv").write_text("\n".join(rows) + "\n", encoding="utf-8")
    (tmp_path / "operations.csv").write_text(
        "time,action,value\n2026-03-01T03:00:00,clock,1\n", encoding="utf-8"
    )
    (tmp_path / "site.toml").write_text('clock = "UTC+2"\n', encoding="utf-8")
    visits = build_visits(read_logs(tmp_path))
    assert visits.time(0.0)[0] == pd.Timestamp("2026-02-28T23:00:00Z")
    assert np.diff(visits.hours) == pytest.approx(np.full(11, 20 / 60))
    assert visits.value["HC"].tolist() == [1.0] * 6 + [2.0] * 6


def test_unused_category_of_a_point_makes_no_point():
    logs = logs_of({"readings": ROUND})
    cut = logs.readings[logs.readings["point"] == "A"].reset_index(drop=True)
    assert build_visits(replace(logs, readings=cut)).points == ("A",)


def _two_rounds(cycles: tuple[float, float], turns: int = 300) -> tuple[np.ndarray, np.ndarray]:
    """Return hours and points of two rounds of five points each, in order of time."""
    hours, points = [], []
    for analyser, cycle in enumerate(cycles):
        for place in range(5):
            hours.append((np.arange(turns) + place / 5) * cycle / 60)
            points.append(np.full(turns, 5 * analyser + place))
    hour, point = np.concatenate(hours), np.concatenate(points)
    order = np.argsort(hour, kind="stable")
    return hour[order], point[order]


def test_points_whose_rounds_keep_no_step_belong_to_two_analysers() -> None:
    group = rounds_of(*_two_rounds((10.0, 11.3)), 10)
    assert len(set(group[:5])) == len(set(group[5:])) == 1
    assert group[0] != group[5]


def test_points_of_one_round_belong_to_one_analyser_even_when_some_are_skipped_for_days() -> None:
    hour, point = _two_rounds((10.0, 10.0))
    away = (point == 3) & (hour > 10) & (hour < 30)
    assert not rounds_of(hour[~away], point[~away], 10).any()


def every_second_row_lost(seed=3, rounds=400, points=6):
    """Return visits of a round of six points, two minutes each, of which half were not logged."""
    rng = np.random.default_rng(seed)
    turn = np.arange(rounds * points)
    rows = pd.DataFrame(
        {
            "time": START + pd.to_timedelta(2.0 * turn, unit="min"),
            "point": np.array(list("ABCDEF"))[turn % points],
            "gas": "HC",
            "value": 1.0,
        }
    )
    return visits_of(canonical(rows[rng.random(len(rows)) < 0.5], TABLES["readings"]))


def test_a_round_is_as_long_when_every_second_row_is_lost():
    assert every_second_row_lost().cycle_hours * 60 == pytest.approx(12.0)


def test_what_was_drawn_just_before_is_known_only_without_a_hole():
    visits = every_second_row_lost()
    known = visits.previous >= 0
    step = np.diff(visits.hours, prepend=np.nan) * 60
    assert known[np.isclose(step, 2.0)].all()
    assert known[step > 3.0].mean() < 0.05
    before = visits.point[visits.previous[known]]
    assert ((visits.point[known] - before) % 6 == 1).mean() > 0.95


def test_what_was_drawn_just_before_is_known_where_the_round_waits_at_points_that_are_off():
    rows = pd.DataFrame({"turn": np.arange(2400)}).assign(point=lambda f: f["turn"] % 6)
    rows = rows[~rows["point"].isin([2, 3])]  # C and D are off; their turns pass unused
    visits = visits_of(
        canonical(
            pd.DataFrame(
                {
                    "time": START + pd.to_timedelta(2.0 * rows["turn"], unit="min"),
                    "point": np.array(list("ABCDEF"))[rows["point"]],
                    "gas": "HC",
                    "value": 1.0,
                }
            ),
            TABLES["readings"],
        )
    )
    assert (visits.previous[1:] >= 0).all()
