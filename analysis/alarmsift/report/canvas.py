"""A picture made of strips above one time axis, written as SVG.

A ship-year has a hundred pictures with a dozen strips each. Drawn by a general plotting library
they took half of the time of a report and three times the bytes; what they need are lines, boxes,
marks and words, so the canvas writes these itself. The same input gives the same bytes.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from matplotlib.ticker import MaxNLocator

from alarmsift.report.axis import Window, tick_labels, tick_places
from alarmsift.report.colours import FRAME, GRID, INK, PAPER, SOFT
from alarmsift.report.svg_paths import box, marks, polyline
from alarmsift.report.svg_pieces import (
    ASCENT,
    HATCHES,
    LETTER,
    Piece,
    dashes,
    each,
    pattern,
    text_body,
    text_looks,
    whole_svg,
    width,
)
from alarmsift.tables.clock import ShipClock

WIDTH_IN = 10.0
LEFT_IN, RIGHT_IN, TOP_IN, BOTTOM_IN, SPACE_IN = 0.92, 0.42, 0.12, 0.42, 0.14
ROW_HALF = 0.38  # half the height of a bar, rows being 1 apart
INCH = 720  # tenths of a point
FONT = 8.5  # of a strip's name [pt]
TICK_FONT, WORD_FONT = 7.5, 7.0


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
        self._total = top + BOTTOM_IN + sum(heights) + SPACE_IN * (len(heights) - 1)
        self._hour = window.length / (WIDTH_IN - LEFT_IN - RIGHT_IN)
        self.window = window
        self._bottoms = [
            self._total - top - sum(heights[: k + 1]) - SPACE_IN * k for k in range(len(heights))
        ]
        self._heights = heights
        self._grid: list[str] = []
        self._places = tick_places(window, clock)
        self._labels = tick_labels(self._places, window, clock)
        self._pieces: list[Piece] = []
        self._patterns: dict[str, str] = {}

    def strip(self, place: int, low: float, high: float) -> Strip:
        """Return strip number ``place``, spanning values from ``low`` to ``high``."""
        return Strip(self._bottoms[place], self._heights[place], low, high)

    def line(  # noqa: PLR0913  (the looks of a line)
        self,
        strip: Strip,
        time: np.ndarray,
        value: np.ndarray,
        *,
        color: str,
        linewidth: float = 0.9,
        linestyle: str | tuple[int, tuple[float, ...]] = "-",
        marker: str = "",
        markersize: float = 6.0,
        markerfacecolor: str = "",
        alpha: float = 1.0,
        zorder: float = 3,
    ) -> None:
        """Draw a line, marks or both; widths and sizes in points, dashes in widths of the line."""
        x, y = self._x(np.asarray(time, dtype=float)), self._y(strip.y(value))
        faint = f' opacity="{alpha:g}"' if alpha < 1.0 else ""
        if linestyle and x.size > 1:
            looks = f'stroke="{color}"{faint}{width(linewidth)}{dashes(linestyle, linewidth)}'
            self._path(zorder, looks, polyline(x, y))
        if marker:
            face = markerfacecolor or color
            looks = f'fill="{face}" stroke="{color}"{faint}{width(1.0)}'
            self._path(zorder, looks, marks(x, y, marker, 10 * markersize))

    def boxes(  # noqa: PLR0913  (the looks of a box)
        self,
        start: np.ndarray,
        end: np.ndarray,
        low: np.ndarray,
        high: np.ndarray,
        *,
        facecolors: str | Sequence[str],
        edgecolors: str | Sequence[str],
        linewidths: float = 1.0,
        hatch: str = "",
        zorder: float = 1,
    ) -> None:
        """Draw rectangles, ``low`` and ``high`` in inches; a colour for all, or one each."""
        sides = (
            self._x(np.maximum(start, self.window.start)),
            self._y(high),
            self._x(np.minimum(end, self.window.end)),
            self._y(low),
        )
        faces, edges = each(facecolors, start.size), each(edgecolors, start.size)
        bodies = [box(*corners) for corners in zip(*(s.tolist() for s in sides), strict=True)]
        looks = [
            self._box_looks(face, edge, linewidths, hatch)
            for face, edge in zip(faces, edges, strict=True)
        ]
        for look, body in zip(looks, bodies, strict=True):
            self._path(zorder, look, body)

    def _box_looks(self, face: str, edge: str, points: float, hatch: str) -> str:
        fill = self._pattern(face, edge, hatch) if hatch else face
        return f'fill="{fill}"' + ("" if edge == "none" else f' stroke="{edge}"{width(points)}')

    def _pattern(self, face: str, edge: str, hatch: str) -> str:
        """Return the pattern as a fill; it is written into the picture once."""
        name = f"hatch-{list(HATCHES).index(hatch)}-{face[1:]}-{edge[1:]}"
        self._patterns[name] = pattern(name, hatch, face=face, edge=edge)
        return f"url(#{name})"

    def bars(
        self, strip: Strip, row: int, start: np.ndarray, end: np.ndarray, **looks: Any
    ) -> None:
        """Draw bars in one row of a strip of rows; ``looks`` of :meth:`boxes`."""
        low = np.full(start.size, strip.y(row - ROW_HALF))
        high = np.full(start.size, strip.y(row + ROW_HALF))
        self.boxes(start, end, np.minimum(low, high), np.maximum(low, high), **looks)

    def band(self, time: np.ndarray, low: np.ndarray, high: np.ndarray, *, color: str) -> None:
        """Fill between two lines, ``low`` and ``high`` in inches, shape (n,)."""
        x, y = np.concatenate([time, time[::-1]]), np.concatenate([low, high[::-1]])
        self._path(1, f'fill="{color}"', polyline(self._x(x), self._y(y)) + "z")

    def words(  # noqa: PLR0913  (the looks of words)
        self,
        strip: Strip,
        time: float,
        value: float,
        text: str,
        *,
        fontsize: float = WORD_FONT,
        color: str = INK,
        ha: str = "left",
        va: str = "baseline",
        bold: bool = False,
        paper: bool = False,
    ) -> None:
        """Write at a time and value of a strip; on ``paper`` where there is a pattern behind."""
        x, y = float(self._x(time)), float(self._y(strip.y(value)))
        if paper:
            half = 10 * fontsize * LETTER * len(text) / 2 + 6
            up, down = 10 * fontsize * ASCENT / 2 + 8, 10 * fontsize * ASCENT / 2 + 12
            looks = f'fill="{PAPER}" fill-opacity=".85"'
            self._path(5, looks, box(x - half, y - up, x + half, y + down))
        weight = ' font-weight="bold"' if bold else ""
        self._text(5, x, y, text, size=fontsize, looks=text_looks(color, ha) + weight, va=va)

    def name(self, strip: Strip, text: str) -> None:
        """Write a strip's name at its left."""
        x, y = self._x(self.window.start), self._y(strip.bottom + strip.height / 2)
        looks = text_looks(INK, "right")
        self._text(3, float(x) - 0.45 * INCH, float(y), text, size=FONT, looks=looks, va="center")

    def scale(self, strip: Strip, values: list[float] | None = None) -> None:
        """Put a scale at the left of a strip, with light lines across; round values if none."""
        if values is None:
            ticks = MaxNLocator(4).tick_values(strip.low, strip.high)
            values = [float(v) for v in ticks if strip.low <= v <= strip.high]
        start, end = self.window.start, self.window.end
        for value in values:
            y = float(strip.y(value))
            self._grid.append(self._straight((start, y), (end, y)))
            self._left(y, f"{value:g}".replace("-", "−"))

    def rows(self, place: int, names: list[str]) -> Strip:
        """Return a strip of rows, the first on top, with their names at the left."""
        strip = self.strip(place, len(names) - 0.5, -0.5)
        for row, text in enumerate(names):
            self._left(float(strip.y(row)), text)
        return strip

    def _left(self, y: float, text: str) -> None:
        x = float(self._x(self.window.start)) - 0.06 * INCH
        looks = text_looks(SOFT, "right")
        y = float(self._y(y))
        self._text(3, x, y, text, size=TICK_FONT, looks=looks, va="center_baseline")

    def svg(self) -> str:
        """Finish the picture (time lines, frames, tick labels) and return it as SVG."""
        start, end = self.window.start, self.window.end
        frames = ""
        for bottom, height in zip(self._bottoms, self._heights, strict=True):
            frames += self._straight((start, bottom + height), (start, bottom), (end, bottom))
            self._grid += [self._straight((t, bottom), (t, bottom + height)) for t in self._places]
        self._path(0.8, f'stroke="{GRID}"{width(0.55)}', "".join(self._grid))
        self._path(4, f'stroke="{FRAME}"{width(0.7)}', frames)
        looks, y = text_looks(SOFT, "center"), float(self._y(BOTTOM_IN - 0.07))
        for time, text in zip(self._places, self._labels, strict=True):
            x = float(self._x(time))
            self._text(3, x, y, text, size=TICK_FONT, looks=looks, va="top")
        return self._whole()

    def _whole(self) -> str:
        wide, high = round(WIDTH_IN * INCH), round(self._total * INCH)
        return whole_svg(wide, high, self._pieces, list(self._patterns.values()))

    def _x(self, time: np.ndarray | float) -> np.ndarray:
        """Return places across the picture [tenths of a point]."""
        return np.asarray(((time - self.window.start) / self._hour + LEFT_IN) * INCH)

    def _y(self, inches: np.ndarray | float) -> np.ndarray:
        """Return places from the top [tenths of a point] of heights from the bottom [inch]."""
        return np.asarray((self._total - np.asarray(inches)) * INCH)

    def _straight(self, *ends: tuple[float, float]) -> str:
        """Return a line along the axes through (time [h], height [inch]) of each corner."""
        places = [(round(float(self._x(x))), round(float(self._y(y)))) for x, y in ends]
        way = f"M{places[0][0]} {places[0][1]}"
        for (x, y), (to_x, to_y) in zip(places, places[1:], strict=False):
            way += f"H{to_x}" if y == to_y else f"V{to_y}" if x == to_x else f"L{to_x} {to_y}"
        return way

    def _path(self, zorder: float, looks: str, body: str) -> None:
        if body:
            self._pieces.append(Piece(zorder, "path", looks, body))

    def _text(  # noqa: PLR0913  (place, words and how they stand)
        self, zorder: float, x: float, y: float, text: str, *, size: float, looks: str, va: str
    ) -> None:
        body = text_body(x, y, text, size=10 * size, va=va)
        self._pieces.append(Piece(zorder, "text", f'font-size="{10 * size:g}" {looks}', body))
