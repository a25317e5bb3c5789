"""A space whose air is well mixed: how gas builds up in it and is aired out again.

``V dC/dt = S - Q (C - C_in)``. Concentrations may be in any unit as long as the source is in that
unit times m3/s: volume fraction with m3/s of vapour, mg/m3 with mg/s.

Range: spaces stirred by a fan or by their own warmth. Misfit: vapours heavier than air lie in a
still tank in layers (propane 1.55, butane 2.07 times the density of air), so an upper and a lower
point may honestly differ; poorly stirred spaces behave like Q divided by 1 to 10.

References
----------
.. [1] ACGIH, *Industrial Ventilation: A Manual of Recommended Practice*, dilution ventilation.
.. [2] CDC, *MMWR* 43 (RR-13), 1994, Supplement 3, Table S3-1: minutes for removal, and the mixing
   factor of 1 to 10.
"""

from __future__ import annotations

from typing import cast

import numpy as np

from alarmsift.physics.quantity import Quantity


def steady_state(source: Quantity, air_flow: Quantity, *, supply: Quantity = 0.0) -> Quantity:
    """Return the concentration that a source settles at [unit of the source per m3/s of air].

    Parameters
    ----------
    source : float or ndarray
        Gas let in [unit m3/s].
    air_flow : float or ndarray
        Air through the space [m3/s]; 0 gives infinity: it never settles.
    supply : float or ndarray
        Concentration in the air that comes in [unit].

    Notes
    -----
    ``C_in + S / Q`` [1]_; a steady source, Q much larger than S.

    References
    ----------
    .. [1] ACGIH, *Industrial Ventilation*.

    Examples
    --------
    30 m3/h of vapour into a pump room of 600 m3 with 20 air changes an hour, in vol%:

    >>> round(float(100 * steady_state(30 / 3600, 20 * 600 / 3600)), 4)
    0.25
    """
    feed, air = np.broadcast_arrays(np.asarray(source, float), np.asarray(air_flow, float))
    ratio = np.divide(feed, air, out=np.full(feed.shape, np.inf), where=air > 0)
    return cast(Quantity, (supply + np.where(feed == 0, 0.0, ratio))[()])


def concentration(
    time: Quantity,
    *,
    volume: Quantity,
    source: Quantity = 0.0,
    air_flow: Quantity = 0.0,
    start: Quantity = 0.0,
    supply: Quantity = 0.0,
) -> Quantity:
    """Return the concentration after a time [unit].

    Parameters
    ----------
    time : float or ndarray
        Time since the start [s].
    volume : float or ndarray
        Free volume of the space [m3].
    source : float or ndarray
        Gas let in [unit m3/s], steady.
    air_flow : float or ndarray
        Air through the space [m3/s]; 0 is a closed space.
    start : float or ndarray
        Concentration at the start [unit].
    supply : float or ndarray
        Concentration in the air that comes in [unit].

    Notes
    -----
    ``C_ss + (C_0 - C_ss) exp(-n t)`` with ``n = Q / V``, and ``C_0 + S t / V`` without air [1]_.

    References
    ----------
    .. [1] ACGIH, *Industrial Ventilation*.

    Examples
    --------
    A closed tank of 3000 m3, 2 L/min of vapour, one hour, in vol%:

    >>> round(float(100 * concentration(3600.0, volume=3000.0, source=2e-3 / 60)), 6)
    0.004
    """
    rate = np.asarray(air_flow, float) / volume
    aged = rate * time
    # expm1(x)/x keeps full precision down to a closed space, where it is 1
    filled = np.where(aged == 0, 1.0, -np.expm1(-aged) / np.where(aged == 0, 1.0, aged))
    gained = (np.asarray(source, float) / volume * time + aged * supply) * filled
    return cast(Quantity, (start * np.exp(-aged) + gained)[()])


def time_to_reach(
    level: Quantity,
    *,
    volume: Quantity,
    source: Quantity = 0.0,
    air_flow: Quantity = 0.0,
    start: Quantity = 0.0,
    supply: Quantity = 0.0,
) -> Quantity:
    """Return how long the space takes to a concentration [s]; infinity when it never gets there.

    Parameters
    ----------
    level : float or ndarray
        Concentration asked about [unit].
    volume, source, air_flow, start, supply : float or ndarray
        As in `concentration` [m3], [unit m3/s], [m3/s], [unit], [unit].

    Notes
    -----
    The inverse of `concentration` [1]_, rising or falling. A range to be told to people as the
    earliest time, and never as time to spare.

    References
    ----------
    .. [1] ACGIH, *Industrial Ventilation*.

    Examples
    --------
    The pump room above reaches 10 %LFL (0.21 vol%) after 5.5 minutes:

    >>> room = {"volume": 600.0, "source": 30 / 3600, "air_flow": 20 * 600 / 3600}
    >>> round(float(time_to_reach(0.0021, **room)) / 60, 3)
    5.498
    """
    wanted, room, feed, air, first, incoming = np.broadcast_arrays(
        *(np.asarray(each, float) for each in (level, volume, source, air_flow, start, supply))
    )
    with np.errstate(divide="ignore", invalid="ignore"):
        closed = (wanted - first) * room / feed
        settled = incoming + feed / air
        ratio = (settled - first) / (settled - wanted)
        aired = np.log(np.where(ratio >= 1, ratio, np.nan)) * room / air
    taken = np.where(air > 0, aired, closed)
    taken = np.where(wanted == first, 0.0, taken)
    return cast(Quantity, np.where(np.isfinite(taken) & (taken >= 0), taken, np.inf)[()])


def share_left(air_changes: Quantity) -> Quantity:
    """Return the share of the gas that is left after a number of air changes [-].

    Parameters
    ----------
    air_changes : float or ndarray
        Air supplied over volume, ``Q t / V`` [-].

    Notes
    -----
    ``exp(-n)``, source stopped, clean air, perfect mixing [1]_.

    References
    ----------
    .. [1] ACGIH, *Industrial Ventilation*.

    Examples
    --------
    >>> [round(float(100 * left), 1) for left in share_left(np.array([1.0, 3, 5]))]
    [36.8, 5.0, 0.7]
    """
    return cast(Quantity, np.exp(-np.asarray(air_changes, float))[()])


def air_changes(before: Quantity, after: Quantity) -> Quantity:
    """Return the air changes that a fall of the concentration implies [-].

    Parameters
    ----------
    before, after : float or ndarray
        Concentrations over the background, above 0 [one unit].

    Notes
    -----
    ``ln(before / after)`` [1]_. Divided by the hours in between this is the ventilation that real
    gas would have needed: a closed tank cannot have had it, a pump room can.

    References
    ----------
    .. [1] ACGIH, *Industrial Ventilation*.

    Examples
    --------
    From 30 to 1 %LFL in half an hour asks for 6.8 air changes an hour:

    >>> round(float(air_changes(30.0, 1.0) / 0.5), 2)
    6.8
    """
    return cast(Quantity, np.log(np.asarray(before, float) / after)[()])


def leak_in(
    growth: Quantity,
    volume: Quantity,
    *,
    level: Quantity = 0.0,
    air_flow: Quantity = 0.0,
    supply: Quantity = 0.0,
) -> Quantity:
    """Return the source that a rate of growth implies [unit m3/s].

    Parameters
    ----------
    growth : float or ndarray
        Growth of the concentration [unit/s].
    volume : float or ndarray
        Free volume of the space [m3].
    level : float or ndarray
        Concentration while it grew [unit].
    air_flow : float or ndarray
        Air through the space [m3/s].
    supply : float or ndarray
        Concentration in the air that comes in [unit].

    Notes
    -----
    The balance itself, ``S = V dC/dt + Q (C - C_in)`` [1]_. Misfit: vapour that lies in a layer
    at the probe makes it far too large, a probe outside the layer far too small; use as a range.

    References
    ----------
    .. [1] ACGIH, *Industrial Ventilation*.

    Examples
    --------
    0.004 vol% an hour in a closed tank of 3000 m3, in L/min of vapour:

    >>> round(float(leak_in(4e-5 / 3600, 3000.0) * 60e3), 3)
    2.0
    """
    return volume * np.asarray(growth, float) + air_flow * (np.asarray(level, float) - supply)
