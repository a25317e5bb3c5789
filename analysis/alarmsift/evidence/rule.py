"""The contract of a rule: one published requirement, and what the logs show of it.

The outcome is help to whoever checks, and never a certificate: whether a rule applies to a ship
goes by her age, size and cargo, and logs show only what was logged.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass

import pandas as pd

from alarmsift.evidence.ship import Ship

MET, NOT_MET, NOT_DECIDABLE = "met", "not_met", "not_decidable"


@dataclass(frozen=True, eq=False)
class Kept:
    """What was kept of the watch: the measured ship, and the tables of the diagnosis.

    ``laid_out`` are the episodes as ``timeline.episodes`` gives them, before any verdict.
    """

    ship: Ship
    laid_out: pd.DataFrame
    episodes: pd.DataFrame
    conditions: pd.DataFrame
    coverage: pd.DataFrame
    calibration: pd.DataFrame


@dataclass(frozen=True)
class Ruling:
    """What the logs show: ``outcome``, the places where it is not met, and why, in a sentence."""

    outcome: str
    where: tuple[str, ...]
    why: str


@dataclass(frozen=True)
class Rule:
    """One rule.

    Attributes
    ----------
    key : str
        The file's name.
    title : str
        What is asked for, in the project's own words.
    source : str
        Where it is published.
    check : callable
        Kept -> Ruling.
    """

    key: str
    title: str
    source: str
    check: Callable[[Kept], Ruling]


def met(why: str) -> Ruling:
    """Return that the logs show the rule kept."""
    return Ruling(MET, (), why)


def not_met(where: Iterable[str], why: str) -> Ruling:
    """Return that the logs show the rule broken at these places."""
    return Ruling(NOT_MET, tuple(dict.fromkeys(where)), why)


def not_decidable(why: str) -> Ruling:
    """Return that these logs do not tell."""
    return Ruling(NOT_DECIDABLE, (), why)


def counted(number: int, one: str, many: str | None = None) -> str:
    """Return a number with its noun.

    Examples
    --------
    >>> counted(1, "point"), counted(3, "point"), counted(2, "gas", "gases")
    ('1 point', '3 points', '2 gases')
    """
    return f"{number} {one if number == 1 else many or one + 's'}"
