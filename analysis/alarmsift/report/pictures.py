"""Makes the plots of the points: a picture of the whole period, zooms, the moving plot's data."""

from __future__ import annotations

from pathlib import Path

import pandas as pd

from alarmsift.report.axis import Window
from alarmsift.report.bouts import Bout, bouts_of, zoom_windows
from alarmsift.report.inline import inline_svg
from alarmsift.report.live_data import clock_steps, live_data
from alarmsift.report.point_page import Plot, Plots
from alarmsift.report.point_plot import draw_point
from alarmsift.report.point_series import PointSeries, point_series
from alarmsift.report.times import moments
from alarmsift.report.words import TREAT_AS, cause_look
from alarmsift.tables.diagnosis import Diagnosis

MOST_ZOOMS = 3  # drawn as still pictures, for print and for browsers without scripts
MOST_SPOTS = 8  # offered as places to go to in the moving plot
MOST_TRIED = 24  # bouts looked at for a window that shows something new


class Pictures:
    """Draws the pictures of a diagnosis and writes each to ``plots`` as it goes.

    Parameters
    ----------
    diagnosis : Diagnosis
        What to draw.
    folder : Path
        The folder of the plots; must be there.
    window : Window
        The period of the logs.
    """

    def __init__(self, diagnosis: Diagnosis, folder: Path, window: Window) -> None:
        self._diagnosis, self._folder, self._window = diagnosis, folder, window
        self._visits = _rows_of(diagnosis.visits)
        self._readings = _rows_of(diagnosis.logs.readings)
        self._steps = clock_steps(diagnosis.logs.clock, window)

    def of_point(self, point: str, stem: str) -> Plots:
        """Return the plots of one point, the whole period first; none when it has no visits."""
        visits = self._diagnosis.visits.iloc[self._visits.get(point, [])]
        series = self._series(point, visits)
        mine = self._diagnosis.episodes[self._diagnosis.episodes["point"] == point]
        if not len(mine) and not series.gases and not series.lines:
            return Plots()
        plots = [self._plot(series, self._window, stem, words=("Whole period", ""))]
        bouts = bouts_of(mine, self._window, most=MOST_TRIED)
        zooms = zoom_windows(bouts, self._window, most=MOST_SPOTS)
        for k, (zoom, bout) in enumerate(zooms[:MOST_ZOOMS]):
            plots.append(self._plot(series, zoom, f"{stem}-{k + 1}", words=_zoom_words(bout)))
        live = live_data(self._diagnosis, series, visits, steps=self._steps)
        spots = tuple((_zoom_words(bout)[0], *_seconds(zoom)) for zoom, bout in zooms)
        return Plots(tuple(plots), live, spots)

    def _series(self, point: str, visits: pd.DataFrame) -> PointSeries:
        readings = self._diagnosis.logs.readings
        return point_series(
            self._diagnosis,
            point,
            visits=visits,
            readings=readings.iloc[self._readings.get(point, [])],
            window=self._window,
        )

    def _plot(
        self, series: PointSeries, window: Window, stem: str, *, words: tuple[str, str]
    ) -> Plot:
        svg = draw_point(series, window)
        self._write(stem, svg)
        ends = pd.Series(
            pd.to_datetime([window.start * 3600, window.end * 3600], unit="s", utc=True)
        )
        first, last = moments(ends, self._diagnosis.logs.clock)
        title, about = words
        gases = ", ".join(trace.gas for trace in series.gases) or "no gas"
        alt = (
            f"{series.point}, {first.ship} to {last.ship} ship's time: readings of {gases} with "
            f"setpoints, alarms, unwatched time, work and line health on one time axis. {about}"
        )
        full = f"{title}: {first.ship} to {last.ship} ({first.utc} to {last.utc})"
        return Plot(full, alt.strip(), f"{stem}.svg", inline_svg(svg, f"{stem}-"), title)

    def _write(self, stem: str, svg: str) -> None:
        (self._folder / f"{stem}.svg").write_text(svg, encoding="utf-8", newline="\n")


def _seconds(window: Window) -> tuple[int, int]:
    """Return start and end of a window [s since 1970 UTC]."""
    return round(window.start * 3600), round(window.end * 3600)


def _rows_of(frame: pd.DataFrame) -> dict[str, list[int]]:
    if not len(frame):
        return {}
    return dict(frame.groupby("point", observed=True).indices)


def _zoom_words(bout: Bout) -> tuple[str, str]:
    row = bout.episode
    look = cause_look(row["cause"])
    treat = TREAT_AS.get(str(row["treat_as"]), (str(row["treat_as"]), "", ""))[0]
    title = f"Around {row['episode']}, {look.word}"
    return title, f"Verdict of the alarm in the middle: {look.word} ({treat.lower()})."
