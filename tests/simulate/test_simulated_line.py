import fluids.core
import fluids.friction
import numpy as np
import pytest

from alarmsift.simulate.sample_line import LineState, clean_resistance, draw, line_volume


def state(**changes):
    base = {
        "resistance": 1.0,
        "blockage": 1.0,
        "head": 0.0,
        "leak": 0.0,
        "leak_place": 0.5,
        "pump": 1.0,
        "filter_resistance": 0.0,
    }
    return LineState(**{k: np.array([v]) for k, v in (base | changes).items()})


@pytest.mark.parametrize(
    ("length", "bore", "flow"), [(30.0, 4.0, 1.0), (50.0, 6.0, 2.0), (200.0, 6.0, 5.0)]
)
def test_clean_line_loses_what_the_friction_library_says(length, bore, flow):
    # Darcy-Weisbach with the registry library fluids; air at 20 degC, 101.325 kPa.
    d, q = bore / 1000.0, flow / 60_000.0
    speed = q / (np.pi / 4 * d**2)
    re = fluids.core.Reynolds(V=speed, D=d, rho=1.2046, mu=18.206e-6)
    loss = fluids.friction.friction_factor(re) * length / d * 1.2046 * speed**2 / 2.0
    assert float(clean_resistance(length, bore)) * flow * 1000.0 == pytest.approx(loss, rel=2e-3)


def test_volume_of_a_metre_of_6_mm_tube():
    # pi/4 * 6 mm * 6 mm * 1 m = 28.274 mL
    assert float(line_volume(1.0, 6.0)) == pytest.approx(0.028274, rel=1e-4)


def test_standing_water_takes_its_share_of_the_lift():
    # 1.5 m of sea water is 15.078 kPa (1025 kg/m3, standard gravity); of 25 kPa 39.69 % is left.
    dry, _ = draw(state(), 10.0, 25.0, gauge="line")
    wet, suction = draw(state(head=15.078), 10.0, 25.0, gauge="line")
    assert wet[0] / dry[0] == pytest.approx(0.3969, abs=1e-4)
    assert suction[0] > 15.078


def test_water_higher_than_the_lift_stops_the_flow_at_dead_head():
    flow, suction = draw(state(head=60.0), 10.0, 25.0, gauge="line")
    assert flow[0] == 0.0
    assert suction[0] == pytest.approx(25.0)


def test_blockage_raises_resistance_and_a_leak_near_the_analyser_lowers_it():
    def health(**changes):
        flow, suction = draw(state(**changes), 10.0, 25.0, gauge="line")
        return suction[0] / flow[0]

    assert health(blockage=3.0) == pytest.approx(3.0 * health())
    assert health(leak=0.5, leak_place=0.95) < 0.6 * health()
    assert health(leak=0.5, leak_place=0.02) == pytest.approx(health(), rel=0.02)
    assert health(pump=0.5) == pytest.approx(health())


def test_clogged_common_filter_shows_on_the_pump_side_only():
    clean_line = draw(state(filter_resistance=0.2), 10.0, 25.0, gauge="line")
    line = draw(state(filter_resistance=4.0), 10.0, 25.0, gauge="line")
    pump = draw(state(filter_resistance=4.0), 10.0, 25.0, gauge="pump")
    assert line[0][0] < clean_line[0][0]
    assert line[1][0] < clean_line[1][0]
    assert pump[1][0] > clean_line[1][0]
