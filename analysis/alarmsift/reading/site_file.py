"""Reads ``site.toml``: every key checked, a wrong one answered with the nearest right one."""

from __future__ import annotations

import difflib
import re
import tomllib
from collections.abc import Callable
from dataclasses import fields
from pathlib import Path
from typing import Any

from alarmsift.errors import InputError
from alarmsift.reading.disk import SITE_FILE
from alarmsift.reading.header import MOMENTS, PLAIN
from alarmsift.reading.site_lines import line_of
from alarmsift.reading.units import UNITS, is_unit, spellings
from alarmsift.reading.words import gas_of
from alarmsift.tables.clock import tz
from alarmsift.tables.schema import DIRECTIONS, GAS_UNITS
from alarmsift.tables.site import Site, SiteSetpoint

_TEXTS = ("name", "clock", "reference_point", "date_order", "decimal")
_DAYS = ("cycle_limit_min", "calibration_days")
_WORDS = ("units", "aliases", "columns")
_BY_GAS = ("tolerance", "ceiling")
_KEYS = (*_TEXTS, *_DAYS, "alarm_clock_min", "lfl", *_WORDS, *_BY_GAS, "setpoint")
_SETPOINT_KEYS = tuple(f.name for f in fields(SiteSetpoint))
_ORDERS = {"day-first": "day-first", "dmy": "day-first", "month-first": "month-first",
           "mdy": "month-first", "year-first": "year-first", "ymd": "year-first"}  # fmt: skip


def read_site(folder: Path) -> Site:
    """Return the settings of the folder's ``site.toml``, or the defaults when there is none."""
    path = folder / SITE_FILE
    if not path.is_file():
        return Site()
    try:
        text = path.read_bytes().decode("utf-8-sig")
        said = tomllib.loads(text)
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
        raise InputError(
            f"can't be read: {error}.",
            file=SITE_FILE,
            mend='Texts stand in quotes (clock = "UTC+3"), each setting on its own line.',
        ) from error
    try:
        return _site(said)
    except SettingError as error:
        row = line_of(text, error.setting, entry=error.entry)
        raise InputError(error.what, file=SITE_FILE, row=row, mend=error.mend) from None


class SettingError(InputError):
    """A setting that can't be used; :func:`read_site` adds its line.

    Parameters
    ----------
    setting : str
        ``clock``, ``lfl.gas``, ``setpoint.value``.
    what, mend : str
    """

    def __init__(self, setting: str, what: str, mend: str) -> None:
        super().__init__(what, file=SITE_FILE, mend=mend)
        self.setting, self.entry = setting, 0


def setpoint_lines(folder: Path) -> list[int]:
    """Return the line number of each ``[[setpoint]]`` of ``site.toml``."""
    path = folder / SITE_FILE
    if not path.is_file():
        return []
    lines = path.read_text(encoding="utf-8-sig", errors="replace").splitlines()
    return [i + 1 for i, line in enumerate(lines) if re.match(r"\s*\[\[\s*setpoint\s*\]\]", line)]


def _site(said: dict[str, Any]) -> Site:
    _known(said, _KEYS, "")
    made: dict[str, Any] = {}
    made |= {name: _text(said[name], name) for name in _TEXTS if name in said}
    made |= {name: _positive(said[name], name) for name in _DAYS if name in said}
    made |= {name: _words(said[name], name) for name in _WORDS if name in said}
    made |= {name: _by_gas(said[name], name) for name in _BY_GAS if name in said}
    special: dict[str, Callable[[Any], Any]] = {
        "clock": _clock, "date_order": _order, "decimal": _decimal, "units": _units,
        "columns": _columns,
    }  # fmt: skip
    made |= {name: check(made[name]) for name, check in special.items() if name in made}
    if "alarm_clock_min" in said:
        made["alarm_clock_min"] = _number(said["alarm_clock_min"], "alarm_clock_min")
    if "lfl" in said:
        made["lfl"] = _lfl(_section(said["lfl"], "lfl"))
    if "setpoint" in said:
        made["setpoints"] = _setpoints(said["setpoint"])
    return Site(**made, given=tuple(said))


def _words(value: object, name: str) -> dict[str, str]:
    return {k: _text(v, f"{name}.{k}") for k, v in _section(value, name).items()}


def _units(said: dict[str, str]) -> dict[str, str]:
    for name, unit in said.items():
        if not is_unit(unit):
            near = difflib.get_close_matches(unit.lower(), spellings(), n=1, cutoff=0.5)
            meant = f'did you mean "{near[0]}"?' if near else f"like {', '.join(UNITS)} or kPa"
            raise _wrong(f"units.{name}", unit, f"a unit ({meant})")
    return said


def _columns(said: dict[str, str]) -> dict[str, str]:
    known = sorted({*PLAIN, *MOMENTS, *GAS_UNITS})
    for name, target in said.items():
        if target.lower() not in known and not gas_of(target):
            near = difflib.get_close_matches(target.lower(), known, n=1, cutoff=0.5)
            meant = f'"{near[0]}"?' if near else "one of " + ", ".join(known)
            raise _wrong(
                f"columns.{name}", target, f"a column of the plain layout or a gas; {meant}"
            )
    return said


def _order(text: str) -> str:
    if text.lower() not in _ORDERS:
        raise _wrong("date_order", text, '"day-first", "month-first" or "year-first"')
    return _ORDERS[text.lower()]


def _decimal(text: str) -> str:
    if text not in (",", "."):
        raise _wrong("decimal", text, '"," or "."')
    return text


def _wrong(name: str, value: object, expected: str) -> SettingError:
    return SettingError(name, f"'{name}' is {value!r}; expected {expected}.", "Correct that line.")


def _known(said: dict[str, Any], keys: tuple[str, ...], where: str) -> None:
    for name in said:
        if name not in keys:
            near = difflib.get_close_matches(name.lower(), keys, n=1, cutoff=0.5)
            raise SettingError(
                where + name,
                f"there is no setting '{where}{name}'.",
                f"Did you mean '{where}{near[0]}'?" if near else f"Known: {', '.join(keys)}.",
            )


def _text(value: object, name: str) -> str:
    if not isinstance(value, str):
        raise _wrong(name, value, "a text in quotes")
    return value.strip()


def _number(value: object, name: str) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float) or value != value:  # noqa: PLR0124
        raise _wrong(name, value, "a number")
    return float(value)


def _positive(value: object, name: str) -> float:
    number = _number(value, name)
    if not 0 < number < float("inf"):
        raise _wrong(name, value, "a number above zero")
    return number


def _section(value: object, name: str) -> dict[str, Any]:
    if not isinstance(value, dict):
        raise _wrong(name, value, f"a section: [{name}] with its settings below")
    return value


def _gas(name: str, where: str) -> str:
    gas = gas_of(name)
    if not gas:
        raise _wrong(where, name, f"a gas: {', '.join(GAS_UNITS)}")
    return gas


def _by_gas(value: object, name: str) -> dict[str, float]:
    section = _section(value, name)
    return {_gas(gas, f"{name}.{gas}"): _number(v, f"{name}.{gas}") for gas, v in section.items()}


def _clock(text: str) -> str:
    """Return a clock that :func:`alarmsift.tables.clock.tz` reads ('+3' and 'UTC+3.5' too)."""
    plain = re.match(r"^(?:UTC|GMT)?\s*([+-])\s*(\d{1,2})(?:[:.](\d{1,2}))?$", text, re.IGNORECASE)
    if plain and not re.match(r"^UTC[+-]\d{1,2}(:\d{2})?$", text):
        part = plain[3] or ""
        minutes = round(float(f"0.{part}") * 60) if "." in text else int(part or 0)
        text = f"UTC{plain[1]}{int(plain[2])}" + (f":{minutes:02d}" if minutes else "")
    try:
        tz(text)
    except ValueError as error:
        raise _wrong("clock", text, 'like "UTC", "UTC+3" or "Europe/Oslo"') from error
    return text


def _lfl(section: dict[str, Any]) -> tuple[str, float]:
    _known(section, ("gas", "vol_percent"), "lfl.")
    if "vol_percent" not in section:
        raise SettingError(
            "lfl", "[lfl] has no vol_percent.", "Add it, for example vol_percent = 2.1"
        )
    percent = _positive(section["vol_percent"], "lfl.vol_percent")
    if percent > 100:
        raise _wrong("lfl.vol_percent", percent, "a part of 100 %vol")
    return _text(section.get("gas", ""), "lfl.gas"), percent


def _setpoints(value: object) -> tuple[SiteSetpoint, ...]:
    if not isinstance(value, list):
        raise _wrong("setpoint", "[setpoint]", "double brackets: [[setpoint]]")
    out = []
    for number, entry in enumerate(value):
        try:
            out.append(_setpoint(_section(entry, "setpoint")))
        except SettingError as error:
            error.entry = number
            raise
    return tuple(out)


def _setpoint(entry: dict[str, Any]) -> SiteSetpoint:
    _known(entry, _SETPOINT_KEYS, "setpoint.")
    for name in ("gas", "level", "value"):
        if name not in entry:
            raise SettingError(
                "setpoint", f"a [[setpoint]] has no {name}.", "Each needs gas, level, value."
            )
    gas = _gas(_text(entry["gas"], "setpoint.gas"), "setpoint.gas")
    dead = entry.get("deadband")
    direction = _text(entry.get("direction", ""), "setpoint.direction").lower()
    if direction and direction not in DIRECTIONS:
        raise _wrong("setpoint.direction", direction, '"rising" or "falling"')
    return SiteSetpoint(
        gas=gas,
        level=_text(entry["level"], "setpoint.level").lower(),
        value=_number(entry["value"], "setpoint.value"),
        unit=_text(entry.get("unit", ""), "setpoint.unit"),
        point=_text(entry.get("point", ""), "setpoint.point"),
        deadband=None if dead is None else _number(dead, "setpoint.deadband"),
        confirm_visits=_whole(entry.get("confirm_visits")),
        direction=direction,
    )


def _whole(value: object) -> int | None:
    return None if value is None else int(_positive(value, "setpoint.confirm_visits"))
