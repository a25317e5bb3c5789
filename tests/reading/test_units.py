from __future__ import annotations

import pytest

from alarmsift.errors import InputError
from alarmsift.reading.units import beside_unit, to_canonical
from tests.reading.conftest import HEADER, Read, line

BARE = "time,point,gas,value\n2026-01-01T00:00:00Z,P,{gas},{value}\n"


def test_cell_unit_of_lel_is_lfl(read: Read) -> None:
    logs = read({"a.csv": HEADER + line(0, unit="% LEL", value="12.5")})
    assert logs.readings[["value", "unit"]].values.tolist() == [[12.5, "%LFL"]]


def test_unit_from_the_header(read: Read) -> None:
    logs = read({"a.csv": BARE.format(gas="HC", value=3).replace("value", "value [%LEL]")})
    assert logs.readings["value"].tolist() == [3.0]


def test_unit_from_the_setpoints(read: Read) -> None:
    setpoints = "gas,level,value,unit\nHC,low,30,%LEL\n"
    logs = read({"a.csv": BARE.format(gas="HC", value=3), "s.csv": setpoints})
    assert logs.readings["unit"].tolist() == ["%LFL"]


def test_unit_from_site_toml(read: Read) -> None:
    logs = read({"a.csv": BARE.format(gas="HC", value=3), "site.toml": '[units]\nHC = "%LFL"\n'})
    assert logs.readings["value"].tolist() == [3.0]


def test_unit_behind_the_number(read: Read) -> None:
    logs = read({"a.csv": BARE.format(gas="H2S", value="3.5 ppm")})
    assert logs.readings["value"].tolist() == [3.5]


@pytest.mark.parametrize("gas", ["HC", "H2S", "O2", "CO"])
def test_stops_and_asks_when_no_one_says_the_unit(read: Read, gas: str) -> None:
    with pytest.raises(InputError) as told:
        read({"a.csv": BARE.format(gas=gas, value=0.5)})
    assert "could be" in str(told.value)
    assert f'[units], the line: {gas} = "' in str(told.value)


def test_a_bare_per_cent_sign_of_a_flammable_gas_is_asked_about(read: Read) -> None:
    with pytest.raises(InputError, match="'%' does not say the unit of HC"):
        read({"a.csv": HEADER + line(0, unit="%")})
    logs = read({"a.csv": HEADER + line(0, unit="%"), "site.toml": '[units]\nHC = "%LFL"\n'})
    assert logs.readings["value"].tolist() == [1.0]


def test_volume_per_cent_goes_through_the_lower_flammable_limit(read: Read) -> None:
    # LFL of propane 2.1 %vol (NFPA 497, 2012, table 4.4.2; from memory): 0.5 %vol is 23.8 %LFL.
    files = {"a.csv": HEADER + line(0, unit="vol%", value="0.5")}
    with pytest.raises(InputError, match="lower flammable limit"):
        read(files)
    site = '[lfl]\ngas = "propane"\nvol_percent = 2.1\n'
    logs = read({**files, "site.toml": site})
    assert logs.readings["value"].tolist() == [pytest.approx(23.81, abs=0.005)]
    assert any("propane" in sentence for sentence in logs.ledger.learnt)


def test_ppm_of_a_flammable_gas_too(read: Read) -> None:
    site = '[lfl]\ngas = "propane"\nvol_percent = 2.1\n'
    logs = read({"a.csv": HEADER + line(0, unit="ppm", value="2100"), "site.toml": site})
    assert logs.readings["value"].tolist() == [pytest.approx(10.0)]


def test_hydrogen_sulphide_in_milligrams() -> None:
    # NIOSH Pocket Guide, hydrogen sulfide: 1 ppm = 1.40 mg/m3 (at 25 degC; 1.42 at 20 degC).
    assert 1 / to_canonical("H2S", "mg/m3", None) == pytest.approx(1.42, abs=0.005)
    # NIOSH Pocket Guide, carbon monoxide: 1 ppm = 1.15 mg/m3 (at 25 degC; 1.16 at 20 degC).
    assert 1 / to_canonical("CO", "mg/m3", None) == pytest.approx(1.16, abs=0.005)


@pytest.mark.parametrize(
    ("text", "column", "factor"),
    # NIST SP 811 (2008), appendix B.8, in kPa.
    [("mbar", "suction", 0.1), ("mmH2O", "suction", 9.80665e-3), ("inHg", "suction", 3.386389),
     ("mmHg", "suction", 0.1333224), ("psi", "suction", 6.894757), ("l/h", "flow", 1 / 60)],
)  # fmt: skip
def test_factors_of_pressure_and_flow(text: str, column: str, factor: float) -> None:
    assert beside_unit(text, column) == (pytest.approx(factor, rel=1e-6), 0.0)


def test_suction_and_flow_are_converted_by_their_headers(read: Read) -> None:
    head = HEADER.replace("flow", "Flow (l/h)").replace("suction", "suction_mbar")
    logs = read({"a.csv": head + line(0, flow="60", suction="120")})
    assert logs.readings[["flow", "suction"]].values.tolist() == [[1.0, 12.0]]


def test_suction_from_site_toml(read: Read) -> None:
    logs = read({"a.csv": HEADER + line(0), "site.toml": '[units]\nsuction = "mbar"\n'})
    assert logs.readings["suction"].tolist() == [pytest.approx(1.2)]


def test_a_vacuum_without_unit_is_asked_about(read: Read) -> None:
    with pytest.raises(InputError, match=r"(?s)unit of suction.*vacuum = \"kPa\""):
        read({"a.csv": HEADER.replace("suction", "Vacuum") + line(0)})


def test_negative_gauge_pressure_is_turned_round(read: Read) -> None:
    logs = read({"a.csv": HEADER + line(0, suction="-12")})
    assert logs.readings["suction"].tolist() == [12.0]


def test_a_unit_of_another_gas_is_refused_as_a_cell(read: Read) -> None:
    logs = read({"a.csv": HEADER + "".join(line(i) for i in range(20)) + line(30, unit="kPa")})
    assert len(logs.readings) == 21
    assert logs.ledger.rejected[["row", "column"]].values.tolist() == [[22, "unit"]]


def test_checks_and_setpoints_are_converted_too(read: Read) -> None:
    site = (
        '[lfl]\ngas = "methane"\nvol_percent = 5.0\n'
        '[[setpoint]]\ngas = "HC"\nlevel = "High"\nvalue = 2.5\nunit = "vol%"\n'
    )
    ops = (
        "time,action,gas,value,reference,unit\n"
        "2026-01-01T00:00:00Z,span_check,HC,2.4,2.5,%vol\n"
        "2026-01-01T01:00:00Z,level,,7.5,,m\n"
    )
    logs = read({"a.csv": HEADER + line(0), "o.csv": ops, "site.toml": site})
    assert logs.operations["value"].tolist() == [pytest.approx(48.0), 7.5]
    assert logs.operations["reference"].tolist()[0] == pytest.approx(50.0)
    row = logs.setpoints.iloc[0]
    assert (row["gas"], row["level"], row["value"]) == ("HC", "high", pytest.approx(50.0))
    assert (row["source_file"], row["source_row"]) == ("site.toml", 4)
