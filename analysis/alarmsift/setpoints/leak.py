"""The leak question: which steady leak reaches the setpoint at all, and how soon it is told."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from alarmsift.physics.mixing import steady_state, time_to_reach

# Air changes an hour by kind of space where the user states none. Pump rooms: SOLAS II-2/4.5.4.1
# (from memory); all others shut (common practice, no source).
AIR_CHANGES = {"pump_room": 20.0}
LFL_VOL_PERCENT = 1.7  # propane, IEC 60079-20-1:2010, where site.toml states no [lfl]
SHUT_HOURS = 24.0  # a shut space keeps all gas: the leak that gets there within a day is told
LITRES_MIN = 60_000.0  # L/min in 1 m3/s


@dataclass(frozen=True)
class LeakAnswer:
    """Smallest leak [L/min of vapour] and the time to alarm [min] of the stated one.

    ``smallest`` is 0 for a shut space: any leak gets there in the end; ``within_day`` is then the
    one that does so in 24 h. ``mean`` and ``worst`` are infinite for a leak that never does.
    """

    smallest: float
    within_day: float
    crossing: float
    mean: float
    worst: float


def time_to_alarm(
    crossing: float | np.ndarray, scan: float, *, confirm: int = 1, second_look: float | None = None
) -> tuple[np.ndarray, np.ndarray]:
    """Return mean and worst time to the alarm, noise aside [unit of the arguments].

    Parameters
    ----------
    crossing : float or ndarray
        When the gas reaches the setpoint at the probe.
    scan : float
        Between two visits of the point; the leak begins at any moment of it alike.
    confirm : int
        Visits in a row that must be over, at successive turns.
    second_look : float, optional
        Wait for a confirming look out of turn, instead of ``confirm``.

    Examples
    --------
    >>> [round(float(t), 4) for t in time_to_alarm(20.794415, 30.0, confirm=2)]
    [65.7944, 80.7944]
    """
    wait = (confirm - 1) * scan if second_look is None else second_look
    at = np.asarray(crossing, float) + wait
    return at + scan / 2.0, at + scan


def leak_answer(  # noqa: PLR0913  (one question, all of it stated)
    *, limit: float, lfl: float, volume: float, air_changes: float, leak: float, scan: float
) -> LeakAnswer:
    """Return the answer for one space.

    Parameters
    ----------
    limit : float
        Setpoint [%LFL].
    lfl : float
        Lower flammable limit [%vol].
    volume : float
        Free volume [m3].
    air_changes : float
        An hour [1/h].
    leak : float
        The stated leak [L/min of vapour].
    scan : float
        Between two visits [min].
    """
    level = limit / 100.0 * lfl / 100.0
    air = air_changes * volume / 3600.0
    crossing = float(
        np.asarray(time_to_reach(level, volume=volume, source=leak / LITRES_MIN, air_flow=air))
    )
    mean, worst = time_to_alarm(crossing / 60.0, scan)
    day = SHUT_HOURS * 3600.0
    unit = float(np.asarray(steady_state(1.0, air))) if air else day / volume
    grown = unit * (-np.expm1(-air_changes * SHUT_HOURS)) if air else unit
    return LeakAnswer(
        smallest=level * air * LITRES_MIN,
        within_day=float(level / grown * LITRES_MIN),
        crossing=crossing / 60.0,
        mean=float(mean),
        worst=float(worst),
    )
