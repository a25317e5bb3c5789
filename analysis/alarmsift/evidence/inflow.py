"""The vapour inflow that a rise asks for, if the air of the space is well mixed."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from alarmsift.evidence.rise import DETECTOR_SHARE, TOO_LITTLE, Rise
from alarmsift.physics.flammable import PUBLISHED
from alarmsift.physics.mixing import leak_in

# A range wider than this tells nothing [-] (CP).
WIDEST = 10.0
# What one unit of a reading is as a share of volume; %LFL needs the limit that it is meant of.
SHARE = {"H2S": 1e-6, "CO": 1e-6}
# Where nobody says what %LFL is meant of: the published limits of the paraffins from propane to
# hexane, which cargo vapour mostly is [vol%].
CARGO = ("propane", "n-butane", "isobutane", "n-pentane", "n-hexane")
_LIMITS = [basis.vol_percent for basis in PUBLISHED if basis.gas in CARGO]
LITRES_A_MINUTE = 60_000.0  # [L/min per m3/s], exact
SECONDS_AN_HOUR = 3600.0


@dataclass(frozen=True)
class Inflow:
    """Inflow of vapour [L/min], or NaN and why there is none."""

    low: float
    high: float
    why: str


def inflow_of(rise: Rise, gas: str, volume: float, lfl: tuple[str, float] | None) -> Inflow:
    """Return the inflow of vapour that a rise implies.

    Parameters
    ----------
    rise : Rise
        With the range of its rate, and of the air changes that its course allows.
    gas : str
    volume : float
        Of the space [m3]; NaN = unknown.
    lfl : (str, float) or None
        Gas that %LFL is meant of and its limit [vol%].

    Notes
    -----
    The balance of a well-mixed space, averaged over the rise: ``S = V (dC/dt + n C)`` with the mean
    rate and the mean level, which holds for a source that wavers too. How well the space is
    ventilated is not in the logs: n is nought at least, and at most what the course of the readings
    allows, though never less than one change over the rise, since a source that grows hides it.
    Vapour that lies in a layer makes the inflow too large or too small.
    """
    if gas == "O2":
        return _none("What took the oxygen is not known, so no inflow is told.")
    if not np.isfinite(volume) or volume <= 0:
        return _none("The logs don't say the volume of the space.")
    source_low, source_high = inflow_over_volume(rise)
    if not source_high <= WIDEST * source_low:
        return _none("The ventilation is unknown and the rise doesn't tell it: no inflow is told.")
    least, most, basis = _share_of_volume(gas, lfl)
    low = float(leak_in(source_low * least / SECONDS_AN_HOUR, volume)) * LITRES_A_MINUTE
    high = float(leak_in(source_high * most / SECONDS_AN_HOUR, volume)) * LITRES_A_MINUTE
    seen = (
        "watched for more than one time constant of the space"
        if rise.settled
        else "perhaps watched for under one time constant, so where it would settle is not told"
    )
    return Inflow(low, high, f"For well-mixed air in {volume:g} m³; {seen}{basis}.")


def inflow_over_volume(rise: Rise) -> tuple[float, float]:
    """Return the least and the most that flowed in over the volume [unit/h]."""
    least = rise.air_low if rise.settled else 0.0
    most = max(rise.air_high, 1.0 / rise.hours) if rise.hours > 0 else np.inf
    level = max(rise.middle, 0.0)
    low = max(rise.low, 0.0) + least * level * (1.0 - DETECTOR_SHARE)
    return low, rise.high + (most * level * (1.0 + TOO_LITTLE) if level else 0.0)


def _share_of_volume(gas: str, lfl: tuple[str, float] | None) -> tuple[float, float, str]:
    """Return what one unit of the reading is as a share of volume, least and most, and a note."""
    if gas in SHARE:
        return SHARE[gas], SHARE[gas], ""
    if lfl is not None:
        return lfl[1] / 1e4, lfl[1] / 1e4, f"; %LFL is of {lfl[0]}, {lfl[1]:g} vol%"
    low, high = min(_LIMITS), max(_LIMITS)
    return low / 1e4, high / 1e4, f"; the logs don't say what %LFL is of: {low:g} to {high:g} vol%"


def _none(why: str) -> Inflow:
    return Inflow(float("nan"), float("nan"), why)
