"""The worked examples of the rooms of calibration and repairs are run as they stand."""

import doctest
import importlib
import pkgutil

import pytest

from alarmsift import calibration, repairs

FILES = [
    f"{room.__name__}.{module.name}"
    for room in (calibration, repairs)
    for module in pkgutil.iter_modules(room.__path__)
]


@pytest.mark.parametrize("name", [*FILES, "alarmsift.report.repair_view"])
def test_worked_examples_give_what_they_print(name):
    assert doctest.testmod(importlib.import_module(name)).failed == 0
