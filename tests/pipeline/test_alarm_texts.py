"""Alarm lists that say little: nothing in them is lost, and nothing is settled by them."""

import pytest

import alarmsift
from alarmsift.reading.alarm_words import read_message
from tests.ten_rows import history, quiet

TEXTS = """time;message
2026-03-01 06:00;A HC alarm low
2026-03-01 07:00;FOREPEAK HC alarm high
2026-03-01 08:00;FOREPEAK HC gas detected
2026-03-01 08:10;B low flow fault
2026-03-01 09:00;Fire detector deck 3
"""


@pytest.fixture(scope="module")
def found(tmp_path_factory):
    folder = tmp_path_factory.mktemp("texts")
    readings = history(quiet(("A", "B", "C"), 300), cycle_min=10.0)
    readings = readings.assign(unit="%LFL")
    readings.to_csv(folder / "readings.csv", index=False)
    (folder / "alarms.csv").write_text(TEXTS, encoding="utf-8")
    return alarmsift.diagnose(alarmsift.read_logs(folder))


def test_alarm_without_a_level_at_a_point_without_readings_is_kept_and_not_settled(found):
    there = found.episodes[found.episodes["point"] == "FOREPEAK"]
    assert len(there) == 2
    assert (there["treat_as"] == "unresolved").all()


def test_alarm_of_another_system_is_refused_with_its_own_words(found):
    (row,) = found.logs.ledger.rejected.to_dict("records")
    assert row["text"] == "Fire detector deck 3"


@pytest.mark.parametrize("text", ["A HC HIGH not normal", "A HC HIGH ALARM NOT CLEARED"])
def test_alarm_that_is_not_over_is_not_read_as_over(text):
    assert read_message(text).state == "raised"
    assert read_message(text.replace("not ", "").replace("NOT ", "")).state == "cleared"
