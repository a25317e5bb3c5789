"""Which point rose first: the other points of the space and of the spaces next to it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from alarmsift.evidence.rise import CLEAR_NOISE, CLEAR_SHARE, Rise, running_middle
from alarmsift.evidence.ship import Ship
from alarmsift.tables.schema import GAS_UNITS

# How far before and after a rise others are looked at [h] (CP).
AHEAD_HOURS, AFTER_HOURS = 24.0, 12.0
# Points are read in turn: a lead under so many rounds is none.
SAME_ROUNDS = 1.5


@dataclass(frozen=True)
class Company:
    """What the points near by did.

    Attributes
    ----------
    first : str
        The point that rose first; several, with commas, when their order can't be told.
    pair, neighbours : str
        A sentence on the other points of the space, and on those of spaces next to it.
    stronger : str
        The point of the same space that showed more; blank for none.
    """

    first: str
    pair: str
    neighbours: str
    stronger: str


def company_of(ship: Ship, gas: str, point: int, rise: Rise) -> Company:
    """Return what the points near by did around a rise of one point."""
    hours = ship.grid_hours
    window = (hours >= rise.start - AHEAD_HOURS) & (hours <= rise.end + AFTER_HOURS)
    near = np.flatnonzero(ship.near[point])
    began, top = {point: rise.start}, {point: rise.top}
    unseen = []
    for q in near.tolist():
        one = _rose(ship, gas, q, window, least=CLEAR_SHARE * rise.top)
        if one is None:
            unseen.append(q)
        elif np.isfinite(one[0]):
            began[q], top[q] = one
    start = min(began.values())
    close = SAME_ROUNDS * ship.visits.cycle_hours
    first = [q for q, hour in began.items() if hour - start <= close]
    kin = [q for q in near.tolist() if ship.kin[point, q]]
    others = [q for q in near.tolist() if not ship.kin[point, q]]
    stronger = [q for q in kin if q in top and top[q] > rise.top]

    unit = GAS_UNITS.get(gas, "")

    def say(q: int) -> str:
        name = ship.visits.points[q]
        if q in unseen:
            return f"{name} was not read"
        if q not in began:
            return f"{name} stayed at rest"
        lag = began[q] - rise.start
        when = (
            "with it"
            if abs(lag) <= close
            else f"{abs(lag):.1f} h {'later' if lag > 0 else 'earlier'}"
        )
        return f"{name} rose {when}, to {top[q]:.2g} {unit}"

    return Company(
        first=", ".join(ship.visits.points[q] for q in sorted(first, key=lambda q: began[q])),
        pair="; ".join(map(say, kin)),
        neighbours="; ".join(map(say, others)),
        stronger=ship.visits.points[max(stronger, key=lambda q: top[q])] if stronger else "",
    )


def _rose(
    ship: Ship, gas: str, point: int, window: np.ndarray, *, least: float
) -> tuple[float, float] | None:
    """Return when a point left its rest and its top; (NaN, top) = it did not; None = not read."""
    value = (-1.0 if gas == "O2" else 1.0) * ship.grid[gas][window, point]
    good = np.isfinite(value)
    if good.sum() < 3:
        return None
    hours, even = ship.grid_hours[window][good], running_middle(value[good])
    top, clear = float(even.max()), CLEAR_NOISE * float(ship.noise[gas][point])
    if top < max(clear, least):
        return float("nan"), top
    # An earlier hump of its own is another matter: the way up to the top counts.
    last = int(np.argmax(even))
    low = np.flatnonzero(even[:last] < max(clear, CLEAR_SHARE * top))
    return float(hours[low[-1] + 1 if len(low) else 0]), top
