"""The merged timeline, response times and what each point was doing, counted by hand."""

from __future__ import annotations

from pathlib import Path

import pandas as pd
import pytest

from alarmsift.incident.crossings import crossings
from alarmsift.reading.folder import read_logs
from alarmsift.tables.incident import Asked, Incident


def test_the_night_is_told_in_order(told: Incident):
    line = told.timeline[told.timeline["kind"] != "unwatched"]
    have = [f"{t:%H:%M} {kind} {p}" for t, kind, p in line[["time", "kind", "point"]].to_numpy()]
    assert have == [
        "06:00 disconnection WBT 1P",
        "07:25 reading WBT 1S",
        "07:25 alarm WBT 1S",
        "07:31 acknowledgement WBT 1S",
        "07:40 operation WBT 1S",
        "08:10 operation WBT 1S",
        "09:00 disconnection WBT 1P",
        "10:45 alarm WBT 1S",
        "11:05 reading WBT 1S",
        "12:00 finding WBT 1S",
    ]


def test_every_fact_stands_at_its_row_of_its_file(told: Incident, night: Path):
    facts = told.timeline[told.timeline["basis"] == "fact"]
    assert len(facts) == 10
    for row in facts.itertuples():
        lines = (night / row.source_file).read_text(encoding="utf-8").splitlines()
        assert lines[int(row.source_row) - 1].startswith(f"{row.time:%Y-%m-%dT%H:%M:%SZ}")


def test_ship_time_stands_beside_utc(told: Incident):
    alarm = told.timeline[told.timeline["kind"] == "alarm"].iloc[0]
    assert alarm["ship_time"] == "2026-03-02 09:25:00"  # UTC+2
    assert alarm["time"] == pd.Timestamp("2026-03-02T07:25Z")


def test_why_a_gap_came_is_an_inference_and_its_source_the_last_reading(
    told: Incident, night: Path
):
    gap = told.timeline[told.timeline["kind"] == "unwatched"]
    assert set(gap["basis"]) == {"inference"}
    gone = gap.iloc[0]
    assert gone["point"] == "WBT 1P"
    assert "disconnected" in gone["what"]
    lines = (night / "readings.csv").read_text(encoding="utf-8").splitlines()
    assert lines[int(gone["source_row"]) - 1].startswith("2026-03-02T05:40:00Z,WBT 1P,")


def test_response_times_are_counted_from_the_raise(told: Incident):
    (row,) = told.responses.to_dict("records")
    assert row["acknowledge_minutes"] == 6
    assert row["resample_minutes"] == 15
    assert row["ventilate_minutes"] == 45
    assert row["clear_minutes"] == 200
    assert (row["acknowledge_file"], row["acknowledge_row"]) == ("events.csv", 3)
    assert (row["ventilate_file"], row["ventilate_row"]) == ("operations.csv", 6)


def test_watched_and_unwatched_minutes_make_up_the_window(told: Incident):
    points = told.points.set_index("point")
    assert (points["watched_minutes"] + points["unwatched_minutes"] == 480).all()
    assert points.loc["WBT 1P", "unwatched_minutes"] == pytest.approx(180, abs=21)  # a round
    assert points.loc["WBT 1P", "unwatched_why"].startswith("disconnected")
    assert points.loc["WBT 1S", "unwatched_minutes"] == 0
    assert points.loc["WBT 1S", "visits"] == 24  # three an hour


def test_the_last_calibration_is_told_with_its_age_and_error(told: Incident):
    checks = told.detectors.set_index("check")
    assert checks.loc["zero_check", "error"] == pytest.approx(0.4)
    assert checks.loc["span_check", "error"] == -2
    assert checks.loc["span_check", "age_days"] == pytest.approx(22 / 24 + 50 / 1440)
    assert "span_adjust" not in checks.index  # it came after the window
    (alarm,) = told.verdicts.to_dict("records")
    assert alarm["span_error"] == -2
    assert alarm["zero_age_days"] == pytest.approx(25 / 24 + 25 / 1440)


def test_a_reading_within_the_deadband_crosses_nothing():
    times = pd.to_datetime([f"2026-03-02T0{h}:00Z" for h in range(6)], utc=True)
    readings = pd.DataFrame(
        {
            "time": times.astype("datetime64[us, UTC]"),
            "point": "P",
            "gas": "HC",
            "status": ["ok", "ok", "ok", "fault", "ok", "over_range"],
            "value": [5.0, 10.0, 9.0, 0.0, 7.0, float("nan")],
            "source_file": "r.csv",
            "source_row": range(2, 8),
        }
    )
    limits = pd.DataFrame(
        {
            "gas": "HC", "level": "low", "value": 10.0, "unit": "%LFL", "point": "P",
            "deadband": 2.0, "direction": "rising", "start": pd.NaT, "end": pd.NaT,
            "source": "table",
        },
        index=[0],
    )  # fmt: skip
    limits["start"] = pd.Series([None], dtype="datetime64[us, UTC]")
    found = crossings(readings, limits, Asked(times[0], times[-1]))
    assert found[["source_row", "past"]].to_numpy().tolist() == [[3, True], [6, False], [7, True]]


def test_one_point_leaves_the_others_and_keeps_what_is_the_whole_ships(night: Path):
    from alarmsift.incident.build import build_incident

    asked = Asked(pd.Timestamp("2026-03-01T05:00Z"), pd.Timestamp("2026-03-02T13:00Z"), ("WBT 1P",))
    one = build_incident(read_logs(night), asked)
    assert set(one.timeline["point"]) == {"WBT 1P", ""}
    assert (one.timeline["kind"] == "calibration").sum() == 2
    assert one.verdicts.empty
    assert set(one.rows["readings"]["point"]) == {"WBT 1P"}
