"""Oxygen: what vapour, inert gas and water in the air do to it.

Real hydrocarbon at alarm level hardly moves oxygen; a clear fall means inert gas, a great deal of
vapour, rust, humid air, a leak or a detector's own trouble.

References
----------
.. [1] US Standard Atmosphere, 1976: oxygen 20.9476 vol% of dry air.
.. [2] Wagner, W., Pruss, A., "International equations for the saturation properties of ordinary
   water substance", *J. Phys. Chem. Ref. Data* 22 (1993) 783-787 (IAPWS SR1-86(1992)).
"""

from __future__ import annotations

from typing import Final, cast

import numpy as np

from alarmsift.physics.quantity import Quantity

DRY_AIR: Final = 20.946  # [vol%] rounded between [1] and later measurements
_CRITICAL: Final = (647.096, 22.064e6)  # [K], [Pa] water, from [2]
_TERMS: Final = (  # [-] coefficient and power, from [2]
    (-7.85951783, 1.0),
    (1.84408259, 1.5),
    (-11.7866497, 3.0),
    (22.6807411, 3.5),
    (-15.9618719, 4.0),
    (1.80122502, 7.5),
)


def diluted(share: Quantity, *, oxygen: Quantity = DRY_AIR, carried: Quantity = 0.0) -> Quantity:
    """Return the oxygen that is left when a gas takes a share of the air [vol%].

    Parameters
    ----------
    share : float or ndarray
        Part of the volume that the gas takes [-], 0 to 1.
    oxygen : float or ndarray
        Oxygen of the air before [vol%].
    carried : float or ndarray
        Oxygen in the gas itself [vol%]: 0 for vapour, about 5 or less for inert gas.

    Notes
    -----
    Mixing by volume [1]_.

    References
    ----------
    .. [1] US Standard Atmosphere, 1976, for the oxygen of dry air.

    Examples
    --------
    Propane at its limit of 2.1 vol% leaves oxygen at 20.5:

    >>> round(float(diluted(0.021)), 2)
    20.51
    """
    return oxygen * (1.0 - share) + carried * share


def inert_share(
    measured: Quantity, *, carried: Quantity = 0.0, air: Quantity = DRY_AIR
) -> Quantity:
    """Return the share of inert gas or vapour that a fall of oxygen implies [-].

    Parameters
    ----------
    measured : float or ndarray
        Oxygen as measured [vol%].
    carried : float or ndarray
        Oxygen in the gas let in [vol%].
    air : float or ndarray
        Oxygen of the air before [vol%], less its humidity.

    Notes
    -----
    The inverse of `diluted` [1]_. Misfit: rust uses oxygen up and lets nothing in.

    References
    ----------
    .. [1] US Standard Atmosphere, 1976.

    Examples
    --------
    Inert gas with 5 vol% oxygen, 19.5 measured:

    >>> round(float(inert_share(19.5, carried=5.0)), 4)
    0.0907
    """
    return (air - measured) / (air - carried)


def saturation_pressure(temperature: Quantity) -> Quantity:
    """Return the vapour pressure of water [Pa].

    Parameters
    ----------
    temperature : float or ndarray
        Temperature [K], 273.16 to 647 (over liquid water).

    Notes
    -----
    Wagner and Pruss [1]_, within 0.1 %.

    References
    ----------
    .. [1] Wagner and Pruss (1993).

    Examples
    --------
    >>> round(float(saturation_pressure(300.0)))
    3537
    """
    critical, pressure = _CRITICAL
    depth = 1.0 - np.asarray(temperature, float) / critical
    total = sum(coefficient * depth**power for coefficient, power in _TERMS)
    return cast(Quantity, (pressure * np.exp(critical / temperature * total))[()])


def humid_air(
    temperature: Quantity, humidity: Quantity, *, pressure: Quantity = 101_325.0
) -> Quantity:
    """Return the oxygen of humid air [vol%].

    Parameters
    ----------
    temperature : float or ndarray
        Temperature of the air [K], 273.16 and up.
    humidity : float or ndarray
        Relative humidity [-], 0 to 1.
    pressure : float or ndarray
        Absolute pressure [Pa].

    Notes
    -----
    Dalton: water vapour takes its share of the volume [1]_. A sample dried on its way shows the
    dry value.

    References
    ----------
    .. [1] Wagner and Pruss (1993) for the vapour pressure.

    Examples
    --------
    Saturated air at 40 degC is below 19.5 with nothing wrong:

    >>> round(float(humid_air(313.15, 1.0)), 1)
    19.4
    """
    return DRY_AIR * (1.0 - humidity * saturation_pressure(temperature) / pressure)
