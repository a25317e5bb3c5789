"""Flammable and toxic gas and oxygen against the `chemicals` library and printed values."""

import numpy as np
import pytest

from alarmsift.physics.flammable import (
    PUBLISHED,
    Basis,
    mixture_limit,
    percent_lfl,
    rebased,
    true_percent_lfl,
    vol_percent,
)
from alarmsift.physics.oxygen import diluted, humid_air, inert_share, saturation_pressure
from alarmsift.physics.toxic import MOLAR_MASS, mg_m3, ppm

chemicals = pytest.importorskip(
    "chemicals", reason="chemicals (extra dev) is the outside reference here"
)

METHODS = {"IEC 60079-20-1:2010": "IEC 60079-20-1 (2010)", "NFPA 497:2008": "NFPA 497 (2008)"}


@pytest.mark.parametrize("basis", PUBLISHED, ids=lambda basis: f"{basis.gas}, {basis.source}")
def test_lower_limits_are_those_of_the_chemicals_library(basis):
    number = chemicals.CAS_from_any(basis.gas)
    expected = chemicals.LFL(CASRN=number, method=METHODS[basis.source])
    assert basis.vol_percent == pytest.approx(100 * expected)


def test_mixture_limit_is_fire_mixing_of_the_chemicals_library():
    shares, limits = [0.5, 0.3, 0.2], [0.017, 0.014, 0.011]
    expected = 100 * chemicals.fire_mixing(ys=shares, FLs=limits)
    found = mixture_limit(np.array(shares), 100 * np.array(limits))
    assert found == pytest.approx(expected)


@pytest.mark.parametrize(("gas", "number"), [("H2S", "7783-06-4"), ("CO", "630-08-0")])
def test_molar_masses_are_those_of_the_chemicals_library(gas, number):
    assert chemicals.MW(number) / 1000 == pytest.approx(MOLAR_MASS[gas], abs=5e-7)


@pytest.mark.parametrize("temperature", [273.15, 293.15, 298.15, 313.15])
def test_ppm_to_mass_is_ppmv_to_mgm3_of_the_chemicals_library(temperature):
    expected = chemicals.ppmv_to_mgm3(20.0, 34.0809, T=temperature)
    found = mg_m3(20.0, MOLAR_MASS["H2S"], temperature=temperature)
    assert found == pytest.approx(expected)
    assert ppm(found, MOLAR_MASS["H2S"], temperature=temperature) == pytest.approx(20.0)


def test_h2s_conversion_is_that_of_the_niosh_pocket_guide():
    # NIOSH Pocket Guide, hydrogen sulfide: 1 ppm = 1.40 mg/m3 (value from memory); the digits
    # come from 34.1 g/mol over 24.45 L/mol, so half a unit of the last digit and a bit
    assert mg_m3(1.0, MOLAR_MASS["H2S"]) == pytest.approx(1.40, abs=0.01)


def test_rel_of_10_ppm_h2s_is_printed_as_15_mg_m3_rounded_up():
    # NIOSH IDLH documentation 7783-06-4: REL ceiling 10 ppm (15 mg/m3), the pair as printed
    assert 13.5 < mg_m3(10.0, MOLAR_MASS["H2S"]) < 15.0


def test_vapour_pressure_of_water_is_the_iapws_if97_check_value():
    # IAPWS-IF97 release, table 35: 300 K 0.353658941e-2 MPa, 500 K 2.63889776 MPa
    np.testing.assert_allclose(
        saturation_pressure(np.array([300.0, 500.0])), [3536.58941, 2.63889776e6], rtol=1e-3
    )


def test_saturated_air_at_40_degc_reads_as_oxygen_deficient_by_the_osha_limit():
    # OSHA 29 CFR 1910.146(b): oxygen deficient below 19.5 vol% (value from memory)
    assert humid_air(313.15, 1.0) < 19.5 < humid_air(313.15, 0.9)


def test_gas_at_alarm_level_hardly_moves_oxygen_but_inert_gas_does():
    propane = Basis("propane", 2.1, "NFPA 497:2008")
    at_ten = diluted(vol_percent(10.0, propane) / 100)
    assert 20.89 < at_ten < 20.946
    assert inert_share(diluted(0.2, carried=5.0), carried=5.0) == pytest.approx(0.2)


def test_percent_lfl_and_back_and_the_unsafe_side_of_a_wrong_basis():
    iec, nfpa = Basis("propane", 1.7, "IEC"), Basis("propane", 2.1, "NFPA")
    values = np.array([0.0, 0.5, 1.05, 2.1])
    np.testing.assert_allclose(vol_percent(percent_lfl(values, nfpa), nfpa), values)
    # a bottle worth 50 %LFL on 2.1 passed off as 50 on 1.7 hides a fifth
    assert rebased(50.0, used=nfpa, true=iec) == pytest.approx(61.7647, abs=5e-5)
    assert true_percent_lfl(30.0, 1.6) == pytest.approx(48.0)
