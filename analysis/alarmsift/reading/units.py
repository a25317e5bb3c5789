"""Units as they are written in logs, and the factor from each to the canonical one.

Factors are exact by definition (SI; NIST SP 811, appendix B.8) unless a line says otherwise.
"""

from __future__ import annotations

import re

LFL, PPM, VOL, MASS = "%LFL", "ppm", "%vol", "mg/m3"

# Gas units: spelling (lower case, without blanks) -> unit.
_GAS_SPELLINGS = {
    LFL: ("%lfl", "%lel", "lfl%", "lel%", "%oflel", "%oflfl", "pctlel", "pctlfl", "percentlel",
          "percentlfl", "lel", "lfl", "%l.e.l.", "%l.f.l.", "%ueg", "%lie"),
    PPM: ("ppm", "ppmv", "ppm(v)", "vpm", "ppmvol", "volppm", "ppmvol.", "µmol/mol", "umol/mol"),
    "ppb": ("ppb", "ppbv", "nmol/mol"),
    VOL: ("%vol", "vol%", "vol.%", "%vol.", "vol-%", "vol.-%", "%v/v", "v/v%", "%byvol",
          "%byvolume", "%v", "v%", "volpercent", "%volume", "pctvol", "percentvol", "%(v/v)"),
    MASS: ("mg/m3", "mg/m³", "mg/m^3", "mgm3", "mg/m**3", "mg/nm3", "mgperm3", "mg_m3"),
}  # fmt: skip

UNITS = tuple(_GAS_SPELLINGS)

# Molar mass [g/mol] (CIAAW standard atomic weights 2021, rounded to 0.01).
MOLAR_MASS = {"H2S": 34.08, "CO": 28.01}
MOLAR_VOLUME = 24.055  # [L/mol] at 20 degC and 101.325 kPa: R T / p, CODATA R = 8.314463

# Other quantities: spelling -> (unit, factor, offset): canonical = text * factor + offset.
_BESIDE: dict[str, dict[str, tuple[float, float]]] = {
    "flow": {
        "l/min": (1.0, 0.0), "lpm": (1.0, 0.0), "l/m": (1.0, 0.0), "slpm": (1.0, 0.0),
        "nl/min": (1.0, 0.0), "ltr/min": (1.0, 0.0), "litre/min": (1.0, 0.0), "l_min": (1.0, 0.0),
        "l/h": (1 / 60, 0.0), "lph": (1 / 60, 0.0), "l/hr": (1 / 60, 0.0), "nl/h": (1 / 60, 0.0),
        "l_h": (1 / 60, 0.0), "ml/min": (1e-3, 0.0), "cc/min": (1e-3, 0.0), "sccm": (1e-3, 0.0),
        "ccm": (1e-3, 0.0), "ml_min": (1e-3, 0.0), "l/s": (60.0, 0.0), "m3/h": (1000 / 60, 0.0),
        "m³/h": (1000 / 60, 0.0), "nm3/h": (1000 / 60, 0.0),
    },
    "suction": {
        "kpa": (1.0, 0.0), "mbar": (0.1, 0.0), "hpa": (0.1, 0.0), "pa": (1e-3, 0.0),
        "bar": (100.0, 0.0), "mmh2o": (9.80665e-3, 0.0), "mmwc": (9.80665e-3, 0.0),
        "mmwg": (9.80665e-3, 0.0), "mmws": (9.80665e-3, 0.0), "cmh2o": (9.80665e-2, 0.0),
        "inh2o": (0.2490889, 0.0), "inwc": (0.2490889, 0.0), "inwg": (0.2490889, 0.0),
        "inhg": (3.386389, 0.0), '"hg': (3.386389, 0.0), "mmhg": (0.1333224, 0.0),
        "torr": (0.1333224, 0.0), "psi": (6.894757, 0.0), "mh2o": (9.80665, 0.0),
    },
    "temperature": {
        "degc": (1.0, 0.0), "°c": (1.0, 0.0), "c": (1.0, 0.0), "ºc": (1.0, 0.0),
        "celsius": (1.0, 0.0), "deg_c": (1.0, 0.0), "k": (1.0, -273.15), "kelvin": (1.0, -273.15),
        "degf": (5 / 9, -160 / 9), "°f": (5 / 9, -160 / 9), "f": (5 / 9, -160 / 9),
    },
    "humidity": {"%rh": (1.0, 0.0), "%": (1.0, 0.0), "rh%": (1.0, 0.0), "%r.h.": (1.0, 0.0),
                 "pct": (1.0, 0.0), "percent": (1.0, 0.0)},
}  # fmt: skip

_GAS = {spelling: unit for unit, words in _GAS_SPELLINGS.items() for spelling in words}


def _plain(text: str) -> str:
    return re.sub(r"\s+", "", text.strip().strip("[](){}").lower())


def gas_unit(text: str, gas: str = "") -> str:
    """Return the gas unit that a text names; blank when it names none, or none of this gas.

    A lone per cent sign means %vol for oxygen and carbon monoxide only: for a flammable gas it
    could be %LFL or %vol, and between the two lies a factor of twenty or more.

    Examples
    --------
    >>> gas_unit("% LEL", "HC"), gas_unit("Vol.-%", "O2"), gas_unit("%", "O2"), gas_unit("%", "HC")
    ('%LFL', '%vol', '%vol', '')
    """
    plain = _plain(text)
    unit = VOL if plain == "%" and gas == "O2" else _GAS.get(plain, "")
    if gas and unit == LFL and gas != "HC":
        return ""
    if gas and unit == MASS and gas not in MOLAR_MASS:
        return ""
    return unit


def beside_unit(text: str, column: str) -> tuple[float, float] | None:
    """Return factor and offset from a unit of flow, suction, ... to the canonical one.

    Parameters
    ----------
    text : str
        Unit as written.
    column : str
        ``flow`` (L/min), ``suction`` (kPa), ``temperature`` (degC) or ``humidity`` (%RH).

    Returns
    -------
    (factor, offset) or None
        None when the unit is not known for this column.

    Examples
    --------
    >>> beside_unit("mbar", "suction")
    (0.1, 0.0)
    """
    return _BESIDE.get(column, {}).get(_plain(text).replace("liters", "l").replace("liter", "l"))


def is_unit(text: str) -> bool:
    """Tell whether a text is a unit of anything that logs hold."""
    plain = _plain(text)
    return plain == "%" or plain in _GAS or any(plain in units for units in _BESIDE.values())


def spellings() -> list[str]:
    """Return all spellings of units that are known."""
    return [*_GAS, *(unit for units in _BESIDE.values() for unit in units)]


def to_canonical(gas: str, unit: str, lfl_percent: float | None) -> float | None:
    """Return the factor from a gas unit to the gas's canonical unit.

    Parameters
    ----------
    gas : str
        HC (%LFL), H2S (ppm), O2 (%vol) or CO (ppm).
    unit : str
        As :func:`gas_unit` returns it.
    lfl_percent : float or None
        Lower flammable limit of the gas meant [%vol].

    Returns
    -------
    float or None
        None when the lower flammable limit is needed and not known.

    Examples
    --------
    >>> round(to_canonical("HC", "%vol", 2.1) * 0.5, 1)  # 0.5 vol% propane
    23.8
    """
    in_percent = {VOL: 1.0, PPM: 1e-4, "ppb": 1e-7}
    if unit == MASS:
        return MOLAR_VOLUME / MOLAR_MASS[gas]
    if gas == "HC":
        if unit == LFL:
            return 1.0
        return None if lfl_percent is None else in_percent[unit] * 100.0 / lfl_percent
    if gas == "O2":
        return in_percent[unit]
    return {PPM: 1.0, VOL: 1e4, "ppb": 1e-3}[unit]
