import pytest

from alarmsift.simulate.demo import main, merged_ship, plain_ship
from alarmsift.simulate.ship import simulate
from alarmsift.tables.schema import CAUSES, CONDITIONS


@pytest.fixture(scope="module")
def pair():
    return simulate(plain_ship()), simulate(merged_ship())


def test_the_two_sample_ships_together_hold_every_cause_and_condition(pair):
    causes = {cause for ship in pair for cause in ship.truth_episodes["cause"]}
    conditions = {c for ship in pair for c in ship.truth_conditions["condition"]}
    assert causes >= set(CAUSES)
    assert conditions >= set(CONDITIONS)


def test_the_samples_are_small_and_always_the_same(tmp_path):
    assert main([str(tmp_path / "a")]) == 0
    assert main([str(tmp_path / "b")]) == 0
    files = sorted(p.relative_to(tmp_path / "a") for p in (tmp_path / "a").rglob("*.*"))
    same = [(tmp_path / "a" / f).read_bytes() == (tmp_path / "b" / f).read_bytes() for f in files]
    assert all(same)
    assert sum((tmp_path / "a" / f).stat().st_size for f in files) < 5_000_000


def test_without_a_folder_it_says_how_to_call_it(capsys):
    assert main([]) == 2
    assert "OUT" in capsys.readouterr().err
