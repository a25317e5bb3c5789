"""The sample line: what it holds, how long a sample travels, what the pump must pull.

All laws are for a straight tube of one bore, filled with one gas, running steadily. Bends,
fittings, filters and valves add to the pressure drop and are not in these laws: a line's own
clean value, read from the log, is always the better reference.

References
----------
.. [1] White, F. M., *Fluid Mechanics*, chapter 6: Reynolds number, Hagen-Poiseuille, Darcy
   friction factor, smooth pipe.
.. [2] Avila, K. et al., "The onset of turbulence in pipe flow", *Science* 333 (2011) 192-196:
   sustained turbulence from Re 2040.
.. [3] Lemmon, E. W., Jacobsen, R. T., "Viscosity and thermal conductivity equations for nitrogen,
   oxygen, argon, and air", *Int. J. Thermophys.* 25 (2004) 21-69.
"""

from __future__ import annotations

from typing import Final, cast

import numpy as np
from scipy.special import lambertw

from alarmsift.physics.quantity import Quantity

AIR_DENSITY: Final = 1.2046  # [kg/m3] dry air, 20 degC, 101.325 kPa, from [3]
AIR_VISCOSITY: Final = 18.206e-6  # [Pa s] the same state, from [3]
STANDARD_PRESSURE: Final = 101_325.0  # [Pa] standard atmosphere, ISO 2533
LAMINAR_LIMIT: Final = 2040.0  # [-] Reynolds number, from [2]


def line_volume(length: Quantity, bore: Quantity) -> Quantity:
    """Return the volume of gas that a line holds [m3].

    Parameters
    ----------
    length : float or ndarray
        Length of the tube [m].
    bore : float or ndarray
        Inner diameter [m].

    Notes
    -----
    ``pi d**2 / 4 * L`` [1]_. Exact for a round bore; filters and traps hold more.

    References
    ----------
    .. [1] White, *Fluid Mechanics*.

    Examples
    --------
    A hundred metres of 6 mm bore hold under three litres:

    >>> round(float(line_volume(100.0, 0.006) * 1e3), 4)
    2.8274
    """
    return np.pi * bore**2 / 4.0 * length


def transit_time(length: Quantity, bore: Quantity, flow: Quantity) -> Quantity:
    """Return how long a sample travels from the point to the analyser [s].

    Parameters
    ----------
    length, bore : float or ndarray
        Length and inner diameter of the tube [m].
    flow : float or ndarray
        Actual volume flow [m3/s]; 0 gives infinity: the sample never arrives.

    Notes
    -----
    Plug flow. Mixing along a small bore adds some seconds [1]_, adsorption of H2S on wet metal
    and dead volumes much more. Where a by-pass pump keeps the line primed the sample is already
    at the analyser, and this time is no part of the dwell.

    References
    ----------
    .. [1] Taylor, G. I., "Dispersion of soluble matter in solvent flowing slowly through a tube",
       *Proc. R. Soc. A* 219 (1953) 186-203.

    Examples
    --------
    100 m of 6 mm bore at 5 L/min:

    >>> round(float(transit_time(100.0, 0.006, 5e-3 / 60)), 2)
    33.93
    """
    volume, drawn = np.broadcast_arrays(line_volume(length, bore), np.asarray(flow, float))
    return cast(
        Quantity, np.divide(volume, drawn, out=np.full(volume.shape, np.inf), where=drawn > 0)[()]
    )


def reynolds(
    flow: Quantity,
    bore: Quantity,
    *,
    density: Quantity = AIR_DENSITY,
    viscosity: Quantity = AIR_VISCOSITY,
) -> Quantity:
    """Return the Reynolds number of the flow in a line [-].

    Parameters
    ----------
    flow : float or ndarray
        Actual volume flow [m3/s].
    bore : float or ndarray
        Inner diameter [m].
    density : float or ndarray
        Density of the gas [kg/m3].
    viscosity : float or ndarray
        Dynamic viscosity of the gas [Pa s].

    Notes
    -----
    ``4 rho Q / (pi mu d)`` [1]_; laminar below about 2040.

    References
    ----------
    .. [1] White, *Fluid Mechanics*.

    Examples
    --------
    >>> round(float(reynolds(5e-3 / 60, 0.006)))
    1170
    """
    return 4.0 * density * flow / (np.pi * viscosity * bore)


def laminar_resistance(
    length: Quantity, bore: Quantity, *, viscosity: Quantity = AIR_VISCOSITY
) -> Quantity:
    """Return the pressure that a unit of laminar flow costs [Pa s/m3].

    Parameters
    ----------
    length, bore : float or ndarray
        Length and inner diameter of the tube [m].
    viscosity : float or ndarray
        Dynamic viscosity of the gas [Pa s].

    Notes
    -----
    Hagen-Poiseuille, ``128 mu L / (pi d**4)`` [1]_, for Re below about 2040. The fourth power
    makes it a keen sign: a bore narrowed by 10 % over the whole length lets 34 % less through.
    Misfit: reads low by the entrance length and by every fitting.

    References
    ----------
    .. [1] White, *Fluid Mechanics*.

    Examples
    --------
    >>> wide, narrow = laminar_resistance(50.0, 0.006), laminar_resistance(50.0, 0.0054)
    >>> round(float(wide / narrow), 4)
    0.6561
    """
    return 128.0 * viscosity * length / (np.pi * bore**4)


def friction_factor(reynolds_number: Quantity) -> Quantity:
    """Return the Darcy friction factor of a smooth tube [-].

    Parameters
    ----------
    reynolds_number : float or ndarray
        Reynolds number [-], above 0.

    Notes
    -----
    ``64/Re`` up to 2040, from there the smooth-pipe law of Prandtl and von Karman [1]_, solved
    exactly with the Lambert function. Between 2000 and 4000 a real line may follow either:
    report a band (`friction_band`), not a number.

    References
    ----------
    .. [1] White, *Fluid Mechanics*, smooth-pipe law.

    Examples
    --------
    >>> round(float(friction_factor(1000.0)), 4), round(float(friction_factor(10_000.0)), 4)
    (0.064, 0.0309)
    """
    number = np.asarray(reynolds_number, float)
    low, high = friction_band(number)
    return cast(Quantity, np.where(number < LAMINAR_LIMIT, low, high)[()])


def friction_band(reynolds_number: Quantity) -> tuple[Quantity, Quantity]:
    """Return the laminar and the turbulent friction factor of a smooth tube [-].

    Parameters
    ----------
    reynolds_number : float or ndarray
        Reynolds number [-], above 0; the pair is of use from about 2000 to 4000.

    Notes
    -----
    The two ends of what a line in the transition may show [1]_.

    References
    ----------
    .. [1] White, *Fluid Mechanics*.

    Examples
    --------
    >>> laminar, turbulent = friction_band(2500.0)
    >>> round(float(laminar), 4), round(float(turbulent), 4)
    (0.0256, 0.0461)
    """
    number = np.asarray(reynolds_number, float)
    root = 2.0 / np.log(10.0) * lambertw(np.log(10.0) / (2.0 * 2.51) * number).real
    return 64.0 / number, root**-2.0


def pressure_drop(
    flow: Quantity,
    length: Quantity,
    bore: Quantity,
    *,
    density: Quantity = AIR_DENSITY,
    viscosity: Quantity = AIR_VISCOSITY,
) -> Quantity:
    """Return the pressure that the pump must pull for a flow, gas taken as incompressible [Pa].

    Parameters
    ----------
    flow : float or ndarray
        Actual volume flow [m3/s], 0 or more.
    length, bore : float or ndarray
        Length and inner diameter of the tube [m].
    density : float or ndarray
        Density of the gas [kg/m3].
    viscosity : float or ndarray
        Dynamic viscosity of the gas [Pa s].

    Notes
    -----
    Darcy-Weisbach [1]_ with `friction_factor`. Good to about 2.5 % while the drop stays under 5 %
    of the absolute pressure; above that pass the answer to `isothermal_drop`.

    References
    ----------
    .. [1] White, *Fluid Mechanics*.

    Examples
    --------
    100 m of 6 mm bore at 5 L/min need 4.8 kPa:

    >>> round(float(pressure_drop(5e-3 / 60, 100.0, 0.006)))
    4770
    """
    number = np.asarray(reynolds(flow, bore, density=density, viscosity=viscosity), float)
    moving = number > 0
    friction = friction_factor(np.where(moving, number, 1.0))
    speed = 4.0 * np.asarray(flow, float) / (np.pi * bore**2)
    return cast(
        Quantity,
        np.where(moving, friction * (length / bore) * density * speed**2 / 2.0, 0.0)[()],
    )


def isothermal_drop(drop: Quantity, *, inlet: Quantity = STANDARD_PRESSURE) -> Quantity:
    """Return the pressure drop of a line in which the gas expands on its way [Pa].

    Parameters
    ----------
    drop : float or ndarray
        The incompressible drop for the flow at the inlet's pressure [Pa], of `pressure_drop`.
    inlet : float or ndarray
        Absolute pressure at the point [Pa].

    Returns
    -------
    float or ndarray
        The drop [Pa]; NaN where no pump could pull that flow through the line.

    Notes
    -----
    ``P1**2 - P2**2 = 2 P1 dP``, isothermal flow with the friction factor constant along the line
    and the acceleration term (about 0.02 % here) left out [1]_.

    References
    ----------
    .. [1] White, *Fluid Mechanics*, chapter 9, isothermal flow with friction.

    Examples
    --------
    >>> round(float(isothermal_drop(9539.17)), -1)
    10040.0
    >>> float(isothermal_drop(106_000.0))
    nan
    """
    left = np.asarray(inlet, float) ** 2 - 2.0 * np.asarray(inlet, float) * drop
    outlet = np.sqrt(np.where(left >= 0, left, np.nan))
    return cast(Quantity, (inlet - outlet)[()])


def water_head(height: Quantity, *, density: Quantity = 1025.0) -> Quantity:
    """Return the suction that a standing column of water takes [Pa].

    Parameters
    ----------
    height : float or ndarray
        Vertical height of the water in the line [m].
    density : float or ndarray
        Density of the water [kg/m3]: about 1025 for sea water, 998 for fresh water at 20 degC.

    Notes
    -----
    ``rho g h`` [1]_. A short slug in a small bore costs some 50 Pa more by surface tension.

    References
    ----------
    .. [1] White, *Fluid Mechanics*, hydrostatics; g 9.80665 m/s2 by definition.

    Examples
    --------
    Half a metre of sea water takes 5 kPa:

    >>> round(float(water_head(0.5)))
    5026
    """
    return density * 9.80665 * height


def suction_lift(pressure: Quantity, *, density: Quantity = 1025.0) -> Quantity:
    """Return how high a suction lifts water in a line [m].

    Parameters
    ----------
    pressure : float or ndarray
        Suction below ambient [Pa].
    density : float or ndarray
        Density of the water [kg/m3].

    Notes
    -----
    The inverse of `water_head` [1]_; holds while the column is unbroken. A drowned point whose
    analyser stands higher than this shows a plugged line, and not always a wet analyser.

    References
    ----------
    .. [1] White, *Fluid Mechanics*, hydrostatics.

    Examples
    --------
    >>> round(float(suction_lift(20_000.0)), 3)
    1.99
    """
    return pressure / (density * 9.80665)
