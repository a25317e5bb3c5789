import importlib
import pkgutil

import pytest

import alarmsift.causes as shelf
from alarmsift.pipeline.verdicts import all_causes
from alarmsift.tables.schema import CAUSES

NAMES = [info.name for info in pkgutil.iter_modules(shelf.__path__)]


def test_shelf_holds_every_cause_of_the_contract_and_no_other():
    assert sorted(NAMES) == sorted(CAUSES)


@pytest.mark.parametrize("name", NAMES)
def test_cause_file(name):
    module = importlib.import_module(f"alarmsift.causes.{name}")
    cause = module.CAUSE
    assert cause.key == name
    assert module.__doc__
    assert module.__doc__.splitlines()[0].endswith((".", "?"))
    assert cause.story.endswith(".")
    assert cause.prior_source
    assert set(cause.mistaken_for) <= set(CAUSES) - {name}
    assert cause.applies in {"alarm", "fault", "both"}
    assert -30.0 <= cause.prior <= 30.0


def test_faults_have_the_three_causes_that_cut_the_flow():
    assert {c.key for c in all_causes() if c.applies in ("fault", "both")} == {
        "water",
        "blocked",
        "pump",
    }


def test_no_cause_but_gas_is_commoner_than_gas_before_anything_is_known():
    """Nothing is dismissed by being common: before any sign, gas is far over the bound."""
    alarm = {c.key: 10 ** (c.prior / 10) for c in all_causes() if c.applies != "fault"}
    assert alarm["gas"] / sum(alarm.values()) > 0.05
