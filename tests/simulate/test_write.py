import tomllib
from dataclasses import replace

import pandas as pd
import pytest

from alarmsift.errors import OutputError
from alarmsift.reading.folder import read_logs
from alarmsift.simulate.ship import draw_settings, simulate
from alarmsift.simulate.write import ship_clock, write_ship
from alarmsift.tables.marker import marked


@pytest.fixture(scope="module")
def ship():
    drawn = draw_settings(12, days=4.0)
    habits = replace(
        drawn.habits,
        columns=("unit", "status", "flow", "suction"),
        logging="complete",
        utc_times=False,
        time_step_s=1,
    )
    changed = replace(drawn, habits=habits, clock="UTC+5", clock_changes=((40.0, 4.0),))
    return simulate(changed)


def test_truth_is_marked_and_site_is_toml(ship, tmp_path):
    write_ship(ship, tmp_path)
    assert marked(tmp_path / "truth")
    assert not marked(tmp_path)
    site = tomllib.loads((tmp_path / "site.toml").read_text(encoding="utf-8"))
    assert site["name"] == ship.settings.name
    assert site["clock"] == "UTC+5"
    truth = pd.read_csv(tmp_path / "truth" / "episodes.csv")
    assert len(truth) == len(ship.truth_episodes)


def test_ships_times_turn_back_into_utc(ship, tmp_path):
    write_ship(ship, tmp_path)
    local = pd.to_datetime(pd.read_csv(tmp_path / "readings.csv")["time"])
    moment, _ = ship_clock(ship).changes[0]
    utc = ship.tables["readings"]["time"]
    offset = pd.to_timedelta((utc < moment).map({True: 5, False: 4}), unit="h")
    assert ((local - offset).dt.tz_localize("UTC") == utc).all()


def test_clock_row_stands_in_the_old_clock(ship, tmp_path):
    write_ship(ship, tmp_path)
    rows = pd.read_csv(tmp_path / "operations.csv").query("action == 'clock'")
    moment, _ = ship_clock(ship).changes[0]
    assert rows["value"].tolist() == [4.0]
    expected = (moment + pd.Timedelta(hours=5)).tz_localize(None)
    assert pd.to_datetime(rows["time"]).tolist() == [expected]


def test_utc_files_carry_a_z(ship, tmp_path):
    habits = replace(ship.settings.habits, utc_times=True)
    write_ship(replace(ship, settings=replace(ship.settings, habits=habits)), tmp_path)
    first = pd.read_csv(tmp_path / "readings.csv", nrows=1)["time"][0]
    assert first.endswith("Z")


def test_days_per_file_loses_no_row(ship, tmp_path):
    write_ship(ship, tmp_path, days_per_file=1.0)
    parts = sorted(tmp_path.glob("readings-*.csv"))
    assert len(parts) == 4
    assert sum(len(pd.read_csv(part)) for part in parts) == len(ship.tables["readings"])


def test_merged_layout_has_one_row_a_visit_and_vacuum_in_mbar(ship, tmp_path):
    write_ship(ship, tmp_path, layout="merged")
    merged = pd.read_csv(tmp_path / "readings.csv", sep=";", decimal=",")
    plain = ship.tables["readings"].query("gas == 'HC'").reset_index(drop=True)
    assert len(merged) == len(plain)
    assert merged["HC [%LFL]"].to_numpy() == pytest.approx(plain["value"].to_numpy(), nan_ok=True)
    assert merged["Vacuum [mbar]"].to_numpy() == pytest.approx(
        plain["suction"].to_numpy() * 10.0, nan_ok=True
    )
    assert (tmp_path / "readings.csv").read_text(encoding="utf-8").splitlines()[1].count(",") >= 2


def test_wide_layout_has_a_column_a_point_and_gas(ship, tmp_path):
    write_ship(ship, tmp_path, layout="wide")
    wide = pd.read_csv(tmp_path / "readings.csv", low_memory=False)
    plain = ship.tables["readings"]
    assert wide.shape[1] - 1 == len(plain[["point", "gas"]].drop_duplicates())
    name = plain["point"].iloc[0]
    own = plain[(plain["point"] == name) & (plain["gas"] == "HC") & plain["value"].notna()]
    assert wide[f"{name}.HC [%LFL]"].dropna().tolist() == pytest.approx(own["value"].tolist())


def test_unknown_layout_is_refused_with_the_choices(ship, tmp_path):
    with pytest.raises(OutputError, match="plain, merged, wide"):
        write_ship(ship, tmp_path, layout="sideways")


@pytest.mark.parametrize("layout", ["plain", "merged"])
def test_the_reader_gets_back_what_was_simulated(ship, tmp_path, layout):
    write_ship(ship, tmp_path, layout=layout)
    logs = read_logs(tmp_path)
    keys = ["time", "point", "gas"]
    for name in ("readings", "events", "operations"):
        assert len(getattr(logs, name)) == len(ship.tables[name]), name
    back = logs.readings.astype({"point": str, "gas": str})
    back = back.sort_values(keys, ignore_index=True)
    made = ship.tables["readings"].sort_values(keys, ignore_index=True)
    assert (back["time"] == made["time"]).all()
    for column in ("value", "flow", "suction"):
        left, right = back[column].to_numpy(), made[column].to_numpy()
        assert left == pytest.approx(right, abs=1e-6, nan_ok=True), column
