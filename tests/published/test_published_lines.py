"""Sample lines against the `fluids` library and constants of the sea."""

import numpy as np
import pytest

from alarmsift.physics.line import (
    AIR_DENSITY,
    AIR_VISCOSITY,
    friction_factor,
    isothermal_drop,
    laminar_resistance,
    pressure_drop,
    reynolds,
    suction_lift,
    transit_time,
    water_head,
)

fluids = pytest.importorskip("fluids", reason="fluids (extra dev) is the outside reference here")

LINES = [  # length m, bore mm, flow L/min: from short and thin to a long one near the transition
    (30.0, 4.0, 1.0),
    (50.0, 6.0, 2.0),
    (100.0, 6.0, 5.0),
    (200.0, 6.0, 5.0),
    (100.0, 8.0, 10.0),
    (250.0, 10.0, 15.0),
    (200.0, 6.0, 10.0),
]


@pytest.mark.parametrize(("length", "bore", "flow"), LINES)
def test_pressure_drop_equals_fluids_dp_from_its_own_friction_factor(length, bore, flow):
    # fluids.friction.friction_factor (smooth tube) and fluids.core.Reynolds; Darcy-Weisbach
    drawn, diameter = flow * 1e-3 / 60, bore * 1e-3
    speed = drawn / (np.pi / 4 * diameter**2)
    number = fluids.Reynolds(V=speed, D=diameter, rho=AIR_DENSITY, mu=AIR_VISCOSITY)
    friction = fluids.friction_factor(Re=number, eD=0.0)
    head = fluids.K_from_f(fd=friction, L=length, D=diameter)
    drop = fluids.dP_from_K(K=head, rho=AIR_DENSITY, V=speed)
    assert reynolds(drawn, diameter) == pytest.approx(number)
    assert pressure_drop(drawn, length, diameter) == pytest.approx(drop, rel=2e-3)


@pytest.mark.parametrize("number", [2100.0, 1e4, 1e5])
def test_smooth_friction_equals_the_colebrook_equation_of_fluids(number):
    expected = fluids.friction.Colebrook(number, eD=0.0)
    assert friction_factor(number) == pytest.approx(expected, rel=1e-4)


def test_isothermal_drop_agrees_with_fluids_isothermal_gas():
    # fluids.isothermal_gas solved for the mass flow, from our outlet pressure (200 m, 6 mm)
    drawn, length, bore, inlet = 5e-3 / 60, 200.0, 0.006, 101_325.0
    drop = isothermal_drop(pressure_drop(drawn, length, bore), inlet=inlet)
    friction = 64 / reynolds(drawn, bore)
    found = fluids.isothermal_gas(
        rho=AIR_DENSITY,  # its formula divides by P1, so this is the density at the inlet
        fd=friction,
        P1=inlet,
        P2=inlet - drop,
        L=length,
        D=bore,
    )
    assert found == pytest.approx(AIR_DENSITY * drawn, rel=1e-3)


def test_a_flow_that_would_need_more_than_an_atmosphere_has_no_drop():
    assert np.isnan(isothermal_drop(pressure_drop(20e-3 / 60, 200.0, 0.006)))


def test_air_constants_are_those_of_the_standard_atmosphere_at_15_degc():
    # US Standard Atmosphere 1976, sea level, as carried by fluids: 288.15 K, 1.225 kg/m3,
    # 17.894 uPa s. Scaled to 20 degC: density by 1/T, viscosity by Sutherland (S = 110.4 K).
    sea = fluids.ATMOSPHERE_1976(0.0)
    ratio = 293.15 / sea.T
    sutherland = ratio**1.5 * (sea.T + 110.4) / (293.15 + 110.4)
    assert pytest.approx(sea.rho / ratio, rel=1e-3) == AIR_DENSITY
    assert pytest.approx(sea.mu * sutherland, rel=5e-3) == AIR_VISCOSITY


def test_ten_metres_of_sea_water_are_about_one_atmosphere():
    # rule of thumb of every diving manual (common practice): 10 m of sea water = 1 bar
    assert water_head(10.0) == pytest.approx(1e5, rel=0.01)
    assert suction_lift(water_head(3.0)) == pytest.approx(3.0)


def test_water_head_of_fresh_water_is_the_definition_of_mmh2o():
    # conventional millimetre of water: 9.80665 Pa (ISO 80000-4)
    assert water_head(0.001, density=1000.0) == pytest.approx(9.80665)


def test_resistance_times_flow_is_the_laminar_drop_and_arrays_broadcast():
    lengths, flows = np.array([[50.0], [100.0]]), np.array([1.0, 2.0, 4.0]) * 1e-3 / 60
    drops = pressure_drop(flows, lengths, 0.006)
    assert drops.shape == (2, 3)
    np.testing.assert_allclose(drops, laminar_resistance(lengths, 0.006) * flows)


def test_a_line_without_flow_never_delivers_and_costs_no_pressure():
    assert transit_time(100.0, 0.006, 0.0) == np.inf
    assert pressure_drop(0.0, 100.0, 0.006) == 0.0
