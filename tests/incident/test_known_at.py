"""As known at a moment: whatever later rows say, no figure of the pack may move."""

from __future__ import annotations

import random
import re
import tempfile
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from alarmsift.incident.asked import utc_of
from alarmsift.incident.build import build_incident
from alarmsift.incident.payload import write_computed
from alarmsift.reading.folder import read_logs
from alarmsift.tables.clock import ShipClock
from alarmsift.tables.incident import Asked
from tests.incident.night import START, write_night

# Whole packs many times: other tests cover the same lines, and the tracer costs half again.
pytestmark = pytest.mark.no_cover

SAMPLE = Path(__file__).resolve().parents[2] / "sample_logs" / "amber_heron"
MOMENT = "2026-03-02T08:00:00Z"
TIMED = ("readings.csv", "events.csv", "operations.csv", "findings.csv")
LATER = {
    "readings.csv": "2026-03-02T21:{m:02d}:00Z,{p},HC,{v:.1f},%LFL,ok,1.5,30.0",
    "events.csv": "2026-03-02T21:{m:02d}:00Z,{p},HC,alarm,low,raised,{v:.1f},later",
    "operations.csv": "2026-03-02T21:{m:02d}:00Z,zero_adjust,,HC,0,0,%LFL,later",
    "findings.csv": "2026-03-02T21:{m:02d}:00Z,WBT 1S,HC,water,later",
}


def computed(folder: Path, target: Path) -> dict[str, bytes]:
    """Every table, row file and page as known at the moment, by name."""
    clock = ShipClock()
    asked = Asked(
        utc_of(START, clock, "--from"),
        utc_of("2026-03-03T12:00Z", clock, "--to"),
        known_at=utc_of(MOMENT, clock, "--as-known-at"),
    )
    write_computed(build_incident(read_logs(folder), asked), target)
    files = sorted(path for path in target.rglob("*") if path.is_file())
    return {path.relative_to(target).as_posix(): path.read_bytes() for path in files}


@pytest.fixture(scope="module")
def told_then(night: Path, tmp_path_factory: pytest.TempPathFactory) -> dict[str, bytes]:
    """What the night's own logs tell as known at the moment."""
    return computed(night, tmp_path_factory.mktemp("then") / "before")


def alter_later(folder: Path, seed: int) -> int:
    """Drop, alter and add rows after the moment; return how many lines are not as before."""
    luck, altered = random.Random(seed), 0
    for name in TIMED:
        path = folder / name
        head, *rows = path.read_text(encoding="utf-8").splitlines()
        out = []
        for row in rows:
            if not row.startswith("2026") or row[:20] <= MOMENT:
                out.append(row)
                continue
            lot = luck.random()
            altered += lot < 0.4
            if lot < 0.2:
                continue
            out.append(row.replace("WBT 1S", "WBT 1P").replace(",1.", ",41.") if lot < 0.4 else row)
        for minute in range(0, 60, 7):
            point = luck.choice(["WBT 1S", "NEW POINT", "CABINET"])
            out.append(LATER[name].format(m=minute, p=point, v=luck.uniform(0, 90)))
            altered += 1
        path.write_text("\n".join([head, *out]) + "\n", encoding="utf-8", newline="\n")
    return altered


@settings(max_examples=8, deadline=None)
@given(seed=st.integers(0, 10_000))
def test_no_later_row_influences_any_figure(told_then: dict[str, bytes], seed: int):
    with tempfile.TemporaryDirectory() as place:
        logs = write_night(Path(place) / "logs")
        assert alter_later(logs, seed) > 30
        assert computed(logs, Path(place) / "after") == told_then


def test_at_the_moment_the_alarm_was_open_and_nobody_had_looked(told_then: dict[str, bytes]):
    files = told_then
    verdicts = files["tables/verdicts.csv"].decode().splitlines()
    assert len(verdicts) == 2
    assert ",log_end," in verdicts[1]
    assert b"ventilation on" not in files["tables/timeline.csv"]  # 08:10, ten minutes later
    assert files["rows/findings.csv"].count(b"\n") == 1  # the header
    page = files["report/index.html"].decode()
    assert re.search(r"As known at <time[^>]*>2026-03-02 10:00<", page)  # ship's time


def test_the_whole_log_tells_no_more_than_the_log_that_ended_there(tmp_path: Path):
    """An invented ship with two weeks of faults, checks and findings, cut in the middle."""
    moment = "2026-03-27T12:00:00Z"
    asked = Asked(
        utc_of("2026-03-26T20:00Z", ShipClock(), "--from"),
        utc_of("2026-03-28T12:00Z", ShipClock(), "--to"),
        known_at=utc_of(moment, ShipClock(), "--as-known-at"),
    )
    cut = tmp_path / "cut"
    cut.mkdir()
    for path in SAMPLE.iterdir():
        if path.is_file():
            head, *rows = path.read_text(encoding="utf-8").splitlines()
            kept = [row for row in rows if not row[:4].isdigit() or row[:20] <= moment]
            text = "\n".join([head, *kept]) + "\n"
            if kept:
                (cut / path.name).write_text(text, encoding="utf-8", newline="\n")
    made = {}
    for name, logs in (("whole", SAMPLE), ("cut", cut)):
        write_computed(build_incident(read_logs(logs), asked), tmp_path / name / "made")
        files = sorted(f for f in (tmp_path / name / "made").rglob("*") if f.is_file())
        made[name] = {f.relative_to(tmp_path / name).as_posix(): f.read_bytes() for f in files}
    assert len(made["whole"]["made/tables/verdicts.csv"].splitlines()) > 3
    assert made["whole"] == made["cut"]
