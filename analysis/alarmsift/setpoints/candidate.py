"""One setting of an alarm level, the grid of settings that are replayed, and ``--try``."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np

from alarmsift.errors import InputError

# needed, of, off: on when ``needed`` of the last ``of`` visits are over, off after ``off`` in a row
# under. The first is the plain alarm; the rest are replayed for comparison only.
RULES = ((1, 1, 1), (1, 1, 2), (2, 2, 1), (2, 2, 2), (3, 3, 1), (2, 3, 1), (2, 4, 1), (3, 5, 1))
# With the rules 2,000 settings and today's values besides, a point, gas and level.
SETPOINTS, DEADBANDS = 25, 12
LOWEST = 0.8  # of today's setpoint: what a safer setting would cost [-]
SAFER = 5  # of the setpoints replayed lie on the safer side
WIDEST = 0.5  # of the way from clean air to the setpoint: an alarm must be able to clear [-]
CLEAN_AIR = {"O2": 20.9}  # [%vol]; 0 for every other gas


@dataclass(frozen=True)
class Setting:
    """A setting; ``value`` and ``deadband`` in the gas's unit."""

    value: float
    deadband: float = 0.0
    needed: int = 1
    of: int = 1
    off: int = 1

    @property
    def rule(self) -> str:
        """The raising and clearing rule in a word."""
        back = "" if self.off == 1 else f", off after {self.off}"
        return f"{self.needed} of {self.of}{back}"


def clean_air(*, falling: bool) -> float:
    """Return what clean air shows: 20.9 %vol for oxygen, the one that falls, else 0."""
    return CLEAN_AIR["O2"] if falling else 0.0


@cache
def grid(today: Setting, top: float, *, falling: bool) -> tuple[Setting, ...]:
    """Return today's setting first, then every combination that is replayed.

    Parameters
    ----------
    today : Setting
        What is in force.
    top : float
        The least safe setpoint to replay [gas's unit].
    falling : bool
        The alarm is raised by low values (oxygen).

    Notes
    -----
    Setpoints lie closest beside today's, where the mildest change is looked for, and like the
    deadbands have three digits.
    """
    away = abs(today.value) * (1.0 - LOWEST)
    safe = today.value + away if falling else today.value - away
    less_safe = np.linspace(0.0, 1.0, SETPOINTS - SAFER) ** 2 * (top - today.value)
    below = SAFER + 1 if top != today.value else SETPOINTS
    steps = [*np.linspace(safe, today.value, below), *(today.value + less_safe)]
    values = _distinct(steps, today.value)
    widest = WIDEST * abs(today.value - clean_air(falling=falling))
    bands = _distinct(list(np.linspace(0.0, widest, DEADBANDS)), today.deadband)
    every = (
        Setting(float(value), float(band), *rule)
        for value in values
        for band in bands
        for rule in RULES
    )
    return (today, *every)


def _distinct(steps: list[float], today: float) -> np.ndarray:
    """Return the steps with three digits of the greatest, and today's value as it is."""
    digits = 2 - int(np.floor(np.log10(max(np.abs(steps).max(), 1e-3))))
    return np.unique([*np.round(steps, digits), today])


def parse_try(words: str) -> tuple[str, str, dict[str, float]]:
    """Return gas, level and the other settings of ``HC:low=12,deadband=1,confirm=2``.

    Raises
    ------
    InputError
        With what was found and how it should look.
    """
    mend = "Write it as HC:low=12,deadband=1,confirm=2 (deadband, confirm and of may be left out)."
    head, *rest = [part.strip() for part in words.split(",")]
    gas, colon, first = head.partition(":")
    settings: dict[str, float] = {}
    level = ""
    for place, part in enumerate([first, *rest]):
        name, equals, text = (piece.strip() for piece in part.partition("="))
        try:
            number = float(text)
        except ValueError:
            number = np.nan
        if not equals or not name or not np.isfinite(number):
            raise InputError(f"--try: '{part}' is not a name, '=' and a number.", mend=mend)
        if place == 0:
            level, name = name.lower(), "value"
        elif name not in ("deadband", "confirm", "of"):
            raise InputError(f"--try: '{name}' is not known.", mend=mend)
        settings[name] = number
    if not colon or not gas:
        raise InputError(f"--try: '{words}' names no gas.", mend=mend)
    _check(settings, mend)
    return gas, level, settings


def _check(settings: dict[str, float], mend: str) -> None:
    """Refuse a negative deadband and a confirmation that is no count of visits."""
    if settings.get("deadband", 0.0) < 0.0:
        raise InputError("--try: a deadband can't be negative.", mend=mend)
    confirm = settings.get("confirm", 1.0)
    of = settings.get("of", confirm)
    if confirm % 1 or of % 1 or not 1 <= confirm <= of <= 9:
        raise InputError(
            "--try: confirm and of are whole visits from 1 to 9, confirm not over of.", mend=mend
        )
