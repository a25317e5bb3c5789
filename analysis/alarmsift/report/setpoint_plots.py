"""Pictures of a setpoint study: trade-off curves, and the time to alarm of a leak."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd
from matplotlib.ticker import NullFormatter

from alarmsift.report.colours import BLUE, GREEN, GRID, RED, SOFT
from alarmsift.report.figure import new_figure, style, svg_text

PLAIN = "1 of 1"


def tradeoff_svg(rows: pd.DataFrame) -> str:
    """Return nuisance against delay for one point, gas and level, today's setting marked."""
    with style():
        figure = new_figure(7.2, 2.9)
        axes = figure.add_axes((0.09, 0.17, 0.88, 0.77))
        looks: tuple[tuple[Any, str, str, str], ...] = (
            (rows["rule"] == PLAIN, BLUE, "o", "alarm at the first visit"),
            (rows["rule"] != PLAIN, SOFT, "x", "waits for more visits (comparison only)"),
        )
        for chosen, colour, mark, label in looks:
            part = rows[chosen].sort_values("leak_delay_min")
            axes.scatter(
                part["leak_delay_min"], part["raises_30d"], s=14, c=colour, marker=mark,
                label=label, linewidths=0.9,
            )  # fmt: skip
        for name, colour, mark in (("today", RED, "s"), ("proposed", GREEN, "D")):
            part = rows[rows[name]]
            spread = np.abs(
                part[["low_30d", "high_30d"]].to_numpy(float).T - part["raises_30d"].to_numpy(float)
            )
            if len(part):
                axes.errorbar(
                    part["leak_delay_min"], part["raises_30d"], yerr=spread, color=colour,
                    fmt=mark, markersize=7, capsize=3, label=name, zorder=5,
                )  # fmt: skip
        axes.set_xlabel("minutes later than today for the yardstick leak (negative = earlier)")
        axes.set_ylabel("such alarms in 30 days")
        axes.set_ylim(bottom=0)
        axes.grid(color=GRID, linewidth=0.55)
        axes.legend(frameon=False, fontsize=7.5)
        return svg_text(figure)


def leak_svg(curves: pd.DataFrame) -> str:
    """Return the time to alarm against the leak, a line a space (mean) with its worst dashed."""
    with style():
        figure = new_figure(7.2, 3.3)
        axes = figure.add_axes((0.115, 0.15, 0.6, 0.8))
        shades = np.linspace(0.0, 0.75, max(curves["space"].nunique(), 1))
        for shade, (space, part) in zip(shades, curves.groupby("space", sort=False), strict=False):
            colour = (shade, 0.3 + 0.4 * shade, 0.7 - 0.5 * shade)
            axes.plot(part["leak"], part["mean_min"], color=colour, linewidth=1.2, label=str(space))
            axes.plot(part["leak"], part["worst_min"], color=colour, linewidth=0.8, linestyle="--")
        axes.set_xscale("log")
        axes.set_yscale("log")
        for axis in (axes.xaxis, axes.yaxis):  # plain numbers: powers of ten are no text in an SVG
            axis.set_major_formatter(lambda number, _: f"{number:,.12g}".replace(",", "\u202f"))
            axis.set_minor_formatter(NullFormatter())
        axes.set_xlabel("steady leak, L/min of vapour")
        axes.set_ylabel("minutes to the alarm (worst dashed)")
        axes.grid(color=GRID, linewidth=0.55)
        axes.legend(frameon=False, fontsize=7, loc="upper left", bbox_to_anchor=(1.01, 1.0))
        return svg_text(figure)
