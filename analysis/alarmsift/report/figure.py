"""The look of the plots of a study, and the way from a Figure to the same SVG bytes every time."""

from __future__ import annotations

import io
import re
from typing import Any

import matplotlib as mpl
from matplotlib.backends.backend_svg import FigureCanvasSVG
from matplotlib.figure import Figure

from alarmsift.report.colours import FONTS, PAPER

# Fonts by family name only, drawn by the reader's own machine: small files, and text that a
# screen reader and a search can find. No mathtext: a "$" in a point's name is a "$".
STYLE: dict[Any, Any] = {
    "svg.hashsalt": "alarmsift",
    "svg.fonttype": "none",
    "text.parse_math": False,
    "font.family": "sans-serif",
    "font.size": 8.5,
    "axes.edgecolor": "#9aa5ae",
    "axes.linewidth": 0.7,
    "axes.labelcolor": "#33414d",
    "axes.grid": False,
    "axes.spines.top": False,
    "axes.spines.right": False,
    "xtick.color": "#33414d",
    "ytick.color": "#33414d",
    "xtick.major.width": 0.7,
    "ytick.major.width": 0.7,
    "hatch.linewidth": 0.6,
    "path.simplify": True,
    "lines.solid_joinstyle": "round",
}


def new_figure(width: float, height: float) -> Figure:
    """Return an empty figure of ``width`` x ``height`` [inch], outside any global state."""
    figure = Figure(figsize=(width, height), facecolor=PAPER)
    FigureCanvasSVG(figure)
    return figure


def svg_text(figure: Figure) -> str:
    """Return the figure as SVG: no date, no creator, ids by a fixed salt."""
    out = io.StringIO()
    figure.savefig(out, format="svg", metadata={"Date": None, "Creator": None})
    text = _FONTS.sub(f"font-family: {FONTS}", out.getvalue().replace("\r\n", "\n"))
    return _PATH.sub(_shorter, text)


# A tenth of a point [1/72 inch] is finer than a screen's dot; the rest only costs bytes. And a
# pair of numbers after another pair is a line anyway (SVG 1.1, 8.3.2 and 8.3.4).
_FONTS = re.compile(r"font-family: [^;\"]*")
_PATH = re.compile(r' d="[^"]*"')
_LONG = re.compile(r"(\d\.\d)\d+")
_LINE = re.compile(r"\s+L ")


def _shorter(path: re.Match[str]) -> str:
    return _LINE.sub(" ", _LONG.sub(r"\1", path.group(0)))


def style() -> Any:
    """Return the context in which figures are made and saved."""
    return mpl.rc_context(STYLE)
