"""What does each column of a header mean? A plain name, a unit, a gas - or nothing we know."""

from __future__ import annotations

import re
from dataclasses import dataclass

from alarmsift.reading.time_columns import is_hint
from alarmsift.reading.units import is_unit
from alarmsift.reading.words import COLUMNS, gas_of, key
from alarmsift.tables.schema import SOURCE_COLUMNS, TABLES

PLAIN = {name for table in TABLES.values() for name in table.names} | set(SOURCE_COLUMNS)
_LONGEST = 300  # letters; no column's name is longer
# Columns that only other layouts have: parts of a time, and the moments of an episode.
MOMENTS = ("date", "start", "end", "ack")
# Outside brackets a single letter may be a side of the ship (C, F), not a unit.
_UNMISTAKABLE = re.compile(r"%|/|.{3}")
_BRACKETS = re.compile(r"^(.*?)\s*[\[({]\s*([^\])}]*?)\s*[\])}]\s*(.*)$")


@dataclass(frozen=True)
class Name:
    """One header cell.

    Attributes
    ----------
    written : str
        As in the file.
    plain : str
        Column of the plain layout that it means; ``date``; blank when unknown.
    gas : str
        Gas channel that it names; blank when none.
    unit : str
        Unit written in it; blank when none.
    core : str
        The cell without its unit.
    exact : bool
        It is the plain name itself (whose unit the plain layout fixes).
    """

    written: str
    plain: str = ""
    gas: str = ""
    unit: str = ""
    core: str = ""
    exact: bool = False


def understand(cell: str, mapped: dict[str, str]) -> Name:
    """Return what one header cell means.

    Parameters
    ----------
    cell : str
        Header cell.
    mapped : dict
        ``[columns]`` of site.toml, keys as :func:`key` gives them.

    Examples
    --------
    >>> understand("Suction_mbar", {}).plain, understand("HC [%LEL]", {}).gas
    ('suction', 'HC')
    """
    written = cell.strip()
    if not written or len(written) > _LONGEST:
        return Name(written)
    core, unit = _split_unit(written)
    for text in (written, core):
        if key(text) in mapped:
            return _as_mapped(written, mapped[key(text)], _own_unit(core, unit))
    if written.lower() in PLAIN:
        return Name(written, written.lower(), core=written, exact=True)
    name, gas = key(core), gas_of(core)
    if name in PLAIN:
        return Name(written, name, unit=unit, core=core, exact=True)
    if gas:
        return Name(
            written, gas=gas, unit=_own_unit(core, unit) if unit in ("", "%") else unit, core=core
        )
    timed = _timed(written) if not unit and name not in COLUMNS else None
    return timed or Name(written, COLUMNS.get(name, ""), unit=unit, core=core)


def _timed(written: str) -> Name | None:
    """Return a column of times whose header says its zone or form: 'Time (UTC+2)'."""
    front = re.match(
        r"^(UTC|GMT)(?:[\s_]+(time|date|timestamp|datetime))?$", written, re.IGNORECASE
    )
    if front:
        plain = "date" if (front[2] or "").lower() == "date" else "time"
        return Name(written, plain, unit="UTC", core=written)
    found = re.match(r"^([A-Za-z' _-]+?)[\s_]*[\[({\s_]\s*([^\])}\[({]+?)\s*[\])}]?$", written)
    if found is None or not is_hint(found[2]):
        return None
    name = key(found[1])
    plain = name if name in PLAIN else COLUMNS.get(name, "")
    if plain not in ("time", *MOMENTS):
        return None
    return Name(written, plain, unit=found[2], core=found[1].strip())


def _as_mapped(written: str, target: str, unit: str) -> Name:
    """Return the name that site.toml gives a column: a plain column or a gas."""
    gas = gas_of(target) if target.lower() not in PLAIN else ""
    if gas:
        return Name(written, gas=gas, unit=unit, core=target)
    return Name(written, target.strip().lower(), unit=unit, core=target, exact=False)


def _own_unit(core: str, unit: str) -> str:
    """Return the unit that the gas's own name is ('LEL', '%LFL'), else the one given."""
    own = core.strip().lower() in {"%lel", "%lfl", "lel", "lfl"}
    return core if own and unit in ("", "%") else unit


def _split_unit(text: str) -> tuple[str, str]:
    """Return a header cell as name and unit: 'HC [%LEL]', 'HC %LEL', 'suction_mbar', 'H2S/ppm'."""
    found = _BRACKETS.match(text)
    if found and (is_unit(found[2]) or found[2].strip() == ""):
        return f"{found[1]} {found[3]}".strip(), found[2].strip()
    for mark in (r"\s+", "_", r"\s*,\s*", "/", r"\."):
        parts = [m.span() for m in re.finditer(mark, text)]
        for start, end in parts:
            unit = text[end:].strip()
            if start and _UNMISTAKABLE.search(unit) and is_unit(unit):
                return text[:start].strip(), text[end:].strip()
    return text, ""
