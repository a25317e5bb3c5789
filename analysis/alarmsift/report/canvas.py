"""A picture made of strips above one time axis, all in one Axes.

One Axes a strip would be simpler, but making and drawing an Axes costs more than all that is
drawn in it, and a ship-year has hundreds of strips. So the Axes spans the whole picture, its
x is time [h] and its y is inches from the bottom, and a strip maps its own values into its place.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from matplotlib.collections import LineCollection, PolyCollection
from matplotlib.lines import Line2D
from matplotlib.ticker import MaxNLocator

from alarmsift.report.axis import Window, tick_labels, tick_places
from alarmsift.report.figure import FRAME, GRID, INK, SOFT, new_figure, svg_text
from alarmsift.tables.clock import ShipClock

WIDTH_IN = 10.0
LEFT_IN, RIGHT_IN, TOP_IN, BOTTOM_IN, SPACE_IN = 0.92, 0.42, 0.12, 0.42, 0.14
ROW_HALF = 0.38  # half the height of a bar, rows being 1 apart


@dataclass(frozen=True)
class Strip:
    """A strip of the picture: ``bottom`` and ``height`` [inch], and the values it spans."""

    bottom: float
    height: float
    low: float
    high: float

    def y(self, value: np.ndarray | float) -> np.ndarray:
        """Return heights in the picture [inch] of values, held inside the strip."""
        share = (np.asarray(value, dtype=float) - self.low) / (self.high - self.low)
        return np.asarray(self.bottom + np.clip(share, 0.0, 1.0) * self.height)

    @property
    def top(self) -> float:
        """Upper edge [inch]."""
        return self.bottom + self.height


class Canvas:
    """A picture to draw on, the strips from the top down.

    Parameters
    ----------
    heights : list of float
        Height of every strip [inch].
    window : Window
        The span of time to show.
    clock : ShipClock
        The clock of the logs.
    top : float
        Room above the first strip [inch].
    """

    def __init__(
        self, heights: list[float], window: Window, clock: ShipClock, *, top: float = TOP_IN
    ) -> None:
        total = top + BOTTOM_IN + sum(heights) + SPACE_IN * (len(heights) - 1)
        self._figure = new_figure(WIDTH_IN, total)
        self._axes = self._figure.add_axes((0.0, 0.0, 1.0, 1.0))
        self._axes.set_axis_off()
        self._hour = window.length / (WIDTH_IN - LEFT_IN - RIGHT_IN)
        self.window = window
        self._axes.set_xlim(window.start - LEFT_IN * self._hour, window.end + RIGHT_IN * self._hour)
        self._axes.set_ylim(0.0, total)
        self._bottoms = [
            total - top - sum(heights[: k + 1]) - SPACE_IN * k for k in range(len(heights))
        ]
        self._heights = heights
        self._grid: list[list[tuple[float, float]]] = []
        self._places = tick_places(window, clock)
        self._labels = tick_labels(self._places, window, clock)

    def strip(self, place: int, low: float, high: float) -> Strip:
        """Return strip number ``place``, spanning values from ``low`` to ``high``."""
        return Strip(self._bottoms[place], self._heights[place], low, high)

    def line(self, strip: Strip, time: np.ndarray, value: np.ndarray, **looks: Any) -> None:
        """Draw a line or markers; ``looks`` are those of a Line2D."""
        looks = {"linewidth": 0.9, "zorder": 3} | looks
        self._axes.add_artist(Line2D(time, strip.y(value), **looks))

    def boxes(
        self, start: np.ndarray, end: np.ndarray, low: np.ndarray, high: np.ndarray, **looks: Any
    ) -> None:
        """Draw rectangles, ``low`` and ``high`` in inches; ``looks`` of a PolyCollection."""
        start, end = np.maximum(start, self.window.start), np.minimum(end, self.window.end)
        corners = np.stack(
            [
                np.stack([start, low], 1),
                np.stack([end, low], 1),
                np.stack([end, high], 1),
                np.stack([start, high], 1),
            ],
            1,
        )
        self._axes.add_collection(
            PolyCollection(list(corners), clip_on=False, **looks), autolim=False
        )

    def bars(
        self, strip: Strip, row: int, start: np.ndarray, end: np.ndarray, **looks: Any
    ) -> None:
        """Draw bars in one row of a strip of rows."""
        low = np.full(start.size, strip.y(row - ROW_HALF))
        high = np.full(start.size, strip.y(row + ROW_HALF))
        self.boxes(start, end, low, high, **looks)

    def band(self, time: np.ndarray, low: np.ndarray, high: np.ndarray, *, color: str) -> None:
        """Fill between two lines, ``low`` and ``high`` in inches, shape (n,)."""
        edge = np.concatenate([np.column_stack([time, low]), np.column_stack([time, high])[::-1]])
        looks: dict[str, Any] = {
            "facecolors": color,
            "edgecolors": "none",
            "zorder": 1,
            "clip_on": False,
        }
        self._axes.add_collection(PolyCollection([edge], **looks), autolim=False)

    def words(self, strip: Strip, time: float, value: float, text: str, **looks: Any) -> None:
        """Write at a time and value of a strip; ``looks`` are those of a Text."""
        style: dict[str, Any] = {"fontsize": 7, "color": INK, "zorder": 5, **looks}
        self._axes.text(time, float(strip.y(value)), text, **style)

    def name(self, strip: Strip, text: str) -> None:
        """Write a strip's name at its left."""
        self._axes.text(
            self.window.start - 0.45 * self._hour,
            strip.bottom + strip.height / 2,
            text,
            ha="right",
            va="center",
            color=INK,
        )

    def scale(self, strip: Strip, values: list[float] | None = None) -> None:
        """Put a scale at the left of a strip, with light lines across; round values if none."""
        if values is None:
            ticks = MaxNLocator(4).tick_values(strip.low, strip.high)
            values = [float(v) for v in ticks if strip.low <= v <= strip.high]
        for value in values:
            y = float(strip.y(value))
            self._grid.append([(self.window.start, y), (self.window.end, y)])
            self._left(y, f"{value:g}".replace("-", "−"))

    def rows(self, place: int, names: list[str]) -> Strip:
        """Return a strip of rows, the first on top, with their names at the left."""
        strip = self.strip(place, len(names) - 0.5, -0.5)
        for row, text in enumerate(names):
            self._left(float(strip.y(row)), text)
        return strip

    def _left(self, y: float, text: str) -> None:
        self._axes.text(
            self.window.start - 0.06 * self._hour,
            y,
            text,
            fontsize=7.5,
            ha="right",
            va="center_baseline",
            color=SOFT,
        )

    def svg(self) -> str:
        """Finish the picture (time lines, frames, tick labels) and return it as SVG."""
        start, end = self.window.start, self.window.end
        frames = []
        for bottom, height in zip(self._bottoms, self._heights, strict=True):
            frames += [
                [(start, bottom), (end, bottom)],
                [(start, bottom), (start, bottom + height)],
            ]
            self._grid += [[(t, bottom), (t, bottom + height)] for t in self._places]
        lines = LineCollection(self._grid, colors=GRID, linewidths=0.55, zorder=0.8, clip_on=False)
        self._axes.add_collection(lines, autolim=False)
        edges = LineCollection(frames, colors=FRAME, linewidths=0.7, zorder=4, clip_on=False)
        self._axes.add_collection(edges, autolim=False)
        for time, text in zip(self._places, self._labels, strict=True):
            self._axes.text(
                time, BOTTOM_IN - 0.07, text, fontsize=7.5, color=SOFT, ha="center", va="top"
            )
        return svg_text(self._figure)
