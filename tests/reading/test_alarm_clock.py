"""Two systems, two clocks: seen from the alarms, told, and changed only when site.toml says so."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from tests.reading.conftest import Read

START = pd.Timestamp("2026-03-01T00:00")
SETPOINTS = "gas,level,value,unit\nHC,low,30,%LFL\n"


def _ship(ahead_min: float, alarms: int = 12) -> dict[str, str]:
    """Return a visit every 20 min to two points, each alarm 40 s after its reading."""
    rng = np.random.default_rng(5)
    high = {
        (p, int(k)) for p in range(2) for k in rng.choice(np.arange(5, 900), alarms // 2, False)
    }
    rows, events = ["time,point,gas,value,unit"], ["time,point,gas,event,level,state"]
    for visit in range(1000):
        for point in range(2):
            when = START + pd.Timedelta(minutes=20 * visit + 10 * point)
            value = 45.0 if (point, visit) in high else 1.0
            rows.append(f"{when:%Y-%m-%dT%H:%M:%SZ},P{point},HC,{value},%LFL")
            if value > 30:
                told = when + pd.Timedelta(minutes=ahead_min, seconds=40)
                back = told + pd.Timedelta(minutes=20)
                for time, state in ((told, "raised"), (back, "cleared")):
                    events.append(f"{time:%Y-%m-%dT%H:%M:%SZ},P{point},HC,alarm,low,{state}")
    return {"r.csv": "\n".join(rows), "e.csv": "\n".join(events), "s.csv": SETPOINTS}


def _told(warnings: tuple[str, ...]) -> list[str]:
    return [one for one in warnings if "alarm list's clock" in one]


@pytest.mark.parametrize(
    ("ahead", "words"),
    [(180, "180.7 min (+/- 1.0 min) ahead of"), (-67, "66.3 min (+/- 1.0 min) behind")],
)
def test_a_difference_of_clocks_is_told_and_nothing_shifted(
    read: Read, ahead: int, words: str
) -> None:
    files = _ship(ahead)
    logs = read(files)
    assert any(words in one for one in _told(logs.ledger.warnings))
    assert f"{logs.events['time'].iloc[0]:%Y-%m-%dT%H:%M:%SZ}" in files["e.csv"]


def test_site_toml_shifts_the_alarm_list(read: Read) -> None:
    straight = read(_ship(0)).events["time"].tolist()
    shifted = read(_ship(180) | {"site.toml": "alarm_clock_min = 180\n"})
    assert shifted.events["time"].tolist() == straight
    assert _told(shifted.ledger.warnings) == []


@pytest.mark.parametrize("files", [_ship(0), _ship(180, alarms=4)], ids=["one clock", "few alarms"])
def test_clocks_that_agree_and_too_few_alarms_are_passed_over(read: Read, files: dict) -> None:
    assert _told(read(files).ledger.warnings) == []
