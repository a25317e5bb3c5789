"""Toxic gas: parts per million and milligrams per cubic metre.

References
----------
.. [1] NIOSH, *Pocket Guide to Chemical Hazards*, conversion factors: 24.45 L/mol at 25 degC.
.. [2] BIPM, *The International System of Units*, 9th edition: molar gas constant.
"""

from __future__ import annotations

from typing import Final

from alarmsift.physics.quantity import Quantity

GAS_CONSTANT: Final = 8.314462618  # [J/(mol K)] from [2]
MOLAR_MASS: Final = {"H2S": 0.0340809, "CO": 0.0280101}  # [kg/mol] IUPAC atomic weights
ROOM: Final = 298.15  # [K] 25 degC, the reference of exposure limits in US practice, from [1]


def molar_volume(temperature: Quantity = ROOM, *, pressure: Quantity = 101_325.0) -> Quantity:
    """Return the volume of a mole of gas [m3/mol].

    Parameters
    ----------
    temperature : float or ndarray
        Temperature of the gas [K].
    pressure : float or ndarray
        Absolute pressure [Pa].

    Notes
    -----
    Ideal gas [1]_, good to 1 % for vapours in air at deck conditions.

    References
    ----------
    .. [1] BIPM, *The International System of Units*.

    Examples
    --------
    >>> round(float(molar_volume() * 1e3), 3)
    24.465
    """
    return GAS_CONSTANT * temperature / pressure


def mg_m3(
    ppm: Quantity,
    molar_mass: Quantity,
    *,
    temperature: Quantity = ROOM,
    pressure: Quantity = 101_325.0,
) -> Quantity:
    """Return a volume share as mass in a volume of air [mg/m3].

    Parameters
    ----------
    ppm : float or ndarray
        Volume share [ppm].
    molar_mass : float or ndarray
        Molar mass of the gas [kg/mol].
    temperature : float or ndarray
        Temperature of the air [K]; limits are quoted at 25 degC (US) or 20 degC (EU).
    pressure : float or ndarray
        Absolute pressure [Pa].

    Notes
    -----
    Ideal gas [1]_. Say the temperature beside the number: 20 and 25 degC differ by 1.7 %.

    References
    ----------
    .. [1] NIOSH, *Pocket Guide*.

    Examples
    --------
    >>> round(float(mg_m3(10.0, MOLAR_MASS["H2S"])), 2)
    13.93
    """
    return ppm * molar_mass / molar_volume(temperature, pressure=pressure)


def ppm(
    mass: Quantity,
    molar_mass: Quantity,
    *,
    temperature: Quantity = ROOM,
    pressure: Quantity = 101_325.0,
) -> Quantity:
    """Return mass in a volume of air as a volume share [ppm].

    Parameters
    ----------
    mass : float or ndarray
        Mass of gas in a volume of air [mg/m3].
    molar_mass : float or ndarray
        Molar mass of the gas [kg/mol].
    temperature : float or ndarray
        Temperature of the air [K].
    pressure : float or ndarray
        Absolute pressure [Pa].

    Notes
    -----
    The inverse of `mg_m3` [1]_.

    References
    ----------
    .. [1] NIOSH, *Pocket Guide*.

    Examples
    --------
    7 mg/m3 of H2S at 20 degC:

    >>> round(float(ppm(7.0, MOLAR_MASS["H2S"], temperature=293.15)), 2)
    4.94
    """
    return mass * molar_volume(temperature, pressure=pressure) / molar_mass
