"""Finds what stands on the shelves: every file of a room that offers an object of a given name."""

from __future__ import annotations

import importlib
import pkgutil
from functools import lru_cache
from typing import Any


@lru_cache(maxsize=8)
def found(room: str, name: str) -> tuple[Any, ...]:
    """Return the object ``name`` of every module in a package, in alphabetical order.

    Parameters
    ----------
    room : str
        Package, for example ``alarmsift.signs``.
    name : str
        Object that each of its modules offers, for example ``SIGN``.

    Raises
    ------
    AttributeError
        When a module of the room does not offer it.
    """
    package = importlib.import_module(room)
    modules = sorted(info.name for info in pkgutil.iter_modules(package.__path__))
    return tuple(getattr(importlib.import_module(f"{room}.{module}"), name) for module in modules)
