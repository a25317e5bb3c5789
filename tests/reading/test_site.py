from __future__ import annotations

import pytest

from alarmsift.errors import InputError
from alarmsift.reading.site_file import read_site
from alarmsift.tables.site import Site, SiteSetpoint
from tests.reading.conftest import write

FULL = """
name = "Example"
clock = "Europe/Oslo"
cycle_limit_min = 20
calibration_days = 14
reference_point = "Cabinet"
[lfl]
gas = "propane"
vol_percent = 2.1
[units]
suction = "mbar"
[aliases]
"TANK 1" = "BT1P"
[tolerance]
HC = 2.5
[ceiling]
H2S = 50
[columns]
Amount = "value"
[[setpoint]]
gas = "HC"
level = "Low"
value = 30
"""


def test_every_setting_is_read(tmp_path) -> None:
    site = read_site(write(tmp_path, {"site.toml": FULL}))
    assert site.name == "Example"
    assert (site.clock, site.cycle_limit_min, site.calibration_days) == ("Europe/Oslo", 20.0, 14.0)
    assert site.lfl == ("propane", 2.1)
    assert (site.tolerance, site.ceiling) == ({"HC": 2.5}, {"H2S": 50.0})
    assert site.setpoints == (SiteSetpoint(gas="HC", level="low", value=30.0),)
    assert "clock" in site.given


def test_no_file_means_the_defaults(tmp_path) -> None:
    assert read_site(tmp_path) == Site()


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ('clok = "UTC"', "Did you mean 'clock'?"),
        ("clock = UTC", "can't be read"),
        ('clock = "Mars/Olympus"', "'clock' is 'Mars/Olympus'"),
        ("clock = 3", "a text in quotes"),
        ("cycle_limit_min = -1", "a number above zero"),
        ("cycle_limit_min = true", "a number"),
        ('lfl = "propane"', "a section"),
        ("[lfl]\nvol_percnt = 2.1", "Did you mean 'lfl.vol_percent'?"),
        ("[setpoint]\ngas = 'HC'", "double brackets"),
        ("[[setpoint]]\ngas = 'HC'", "has no level"),
        ("[[setpoint]]\ngas = 'HC'\nlevel = 'low'\nvalue = 30\nhysteresis = 1", "no setting"),
        ("[tolerance]\nXe = 1", "a gas"),
        ('date_order = "dmx"', "day-first"),
    ],
)
def test_a_wrong_setting_is_named_with_the_right_one(tmp_path, text: str, words: str) -> None:
    with pytest.raises(InputError) as told:
        read_site(write(tmp_path, {"site.toml": text + "\n"}))
    assert words in str(told.value)
    assert "site.toml" in str(told.value)


@pytest.mark.parametrize(
    ("text", "clock"),
    [("UTC+3", "UTC+3"), ("+3", "UTC+3"), ("utc +5.5", "UTC+5:30"), ("GMT-03:30", "UTC-3:30")],
)
def test_clocks_may_be_written_loosely(tmp_path, text: str, clock: str) -> None:
    assert read_site(write(tmp_path, {"site.toml": f'clock = "{text}"\n'})).clock == clock
