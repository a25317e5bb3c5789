"""The worked examples in the laws' docstrings are run as they stand."""

import doctest
import importlib
import pkgutil

import pytest

from alarmsift import physics

LAWS = sorted(module.name for module in pkgutil.iter_modules(physics.__path__))


@pytest.mark.parametrize("name", LAWS)
def test_worked_examples_give_what_they_print(name):
    module = importlib.import_module(f"alarmsift.physics.{name}")
    assert doctest.testmod(module).failed == 0


@pytest.mark.parametrize("name", LAWS)
def test_every_law_has_an_example_units_and_a_source(name):
    module = importlib.import_module(f"alarmsift.physics.{name}")
    for law in vars(module).values():
        if callable(law) and getattr(law, "__module__", "") == module.__name__:
            text = law.__doc__ or ""
            assert ">>>" in text, law.__name__
            assert ".. [1]" in text, law.__name__
            assert "[" in text.splitlines()[0] or "Returns" in text or "[any unit]" in text, (
                law.__name__
            )
