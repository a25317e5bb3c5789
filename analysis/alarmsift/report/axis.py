"""The shared time axis of a picture: UTC underneath, ship's time on the ticks, UTC beside it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from alarmsift.tables.clock import ShipClock

_HOUR, _DAY = 1.0, 24.0
# Tick steps [h] from 10 min to half a year.
STEPS_H = (1 / 6, 0.5, 1, 2, 3, 6, 12, 24, 48, 96, 168, 336, 672, 1344, 2688, 4032)
MOST_TICKS = 9
_EPOCH = np.datetime64("1970-01-01T00:00:00", "us")


@dataclass(frozen=True)
class Window:
    """A span of time that a plot shows.

    Attributes
    ----------
    start, end : float
        Hours since 1970-01-01 UTC [h].
    """

    start: float
    end: float

    @property
    def length(self) -> float:
        """Length [h]."""
        return self.end - self.start


def hours(times: pd.Series) -> np.ndarray:
    """Return UTC times as hours since 1970-01-01 UTC [h], NaN for NaT, shape (n,)."""
    raw = pd.to_datetime(times, utc=True).dt.tz_localize(None).to_numpy().astype("datetime64[us]")
    out = (raw - _EPOCH) / np.timedelta64(1, "h")
    return np.asarray(out, dtype=float)


def hour(time: pd.Timestamp) -> float:
    """Return one UTC time as hours since 1970-01-01 UTC [h]."""
    return float(hours(pd.Series([time]))[0])


def window_of(times: pd.Series) -> Window:
    """Return the window that holds all the times, at least one hour long."""
    if not len(times) or times.isna().all():
        return Window(0.0, 1.0)
    start, end = hour(times.min()), hour(times.max())
    return Window(start, max(end, start + _HOUR))


def tick_labels(places: np.ndarray, window: Window, clock: ShipClock) -> list[str]:
    """Return two lines a tick: ship's time, and UTC beneath it.

    Parameters
    ----------
    places : array, shape (n,)
        Where :func:`tick_places` put them [h since 1970 UTC].
    window : Window
        What the picture shows.
    clock : ShipClock
        The clock of the logs.
    """
    if not places.size:
        return []
    utc = pd.Series(pd.to_datetime(places * 3600.0, unit="s", utc=True).as_unit("us"))
    ship = clock.to_ship(utc)
    daily = places.size < 2 or bool(np.diff(places).min() >= _DAY)
    form = "%d %b %Y" if window.length > 200 * _DAY else ("%d %b" if daily else "%d %b %H:%M")
    if clock.zone == "UTC" and not clock.changes:
        return [f"{text} UTC" for text in ship.dt.strftime(form)]
    under = utc.dt.strftime("%d %b %H:%M" if daily else "%H:%M")
    return [f"{a}\n{b} UTC" for a, b in zip(ship.dt.strftime(form), under, strict=True)]


def tick_places(window: Window, clock: ShipClock) -> np.ndarray:
    """Return tick places [h since 1970 UTC] at round ship's times, shape (n,), n <= 10."""
    step = next((s for s in STEPS_H if window.length / s <= MOST_TICKS), STEPS_H[-1])
    first = pd.to_datetime(window.start * 3600.0, unit="s", utc=True)
    ship = clock.to_ship(pd.Series([first]))
    offset = float(hours(ship.dt.tz_localize("UTC"))[0]) - window.start
    start = np.ceil((window.start + offset) / step - 1e-9) * step - offset
    return np.arange(start, window.end + 1e-9, step)
