"""The one look of all plots, and the way from a Figure to the same SVG bytes every time."""

from __future__ import annotations

import io
import re
from typing import Any

import matplotlib as mpl
from matplotlib.backends.backend_svg import FigureCanvasSVG
from matplotlib.figure import Figure

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
FONTS = "'Segoe UI', Roboto, Arial, 'DejaVu Sans', sans-serif"  # what the reader's machine has
INK, SOFT, GRID, FRAME, PAPER = "#15202b", "#4c5a66", "#e6eaed", "#9aa5ae", "#ffffff"
BLUE, GREEN, RED, AMBER = "#0072b2", "#008060", "#7a1420", "#a65a00"


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


_HEAD = re.compile(r"^.*?(?=<svg\b)", re.DOTALL)
_META = re.compile(r"<metadata>.*?</metadata>\s*", re.DOTALL)
_RULE = re.compile(r'<style type="text/css">.*?</style>', re.DOTALL)
_SIZE = re.compile(r'(<svg\b[^>]*?) width="[^"]*"([^>]*?)', re.DOTALL)
_HEIGHT = re.compile(r'(<svg\b[^>]*?) height="[^"]*"', re.DOTALL)
_ID = re.compile(r'\b(id=")|(url\(#)|(xlink:href="#)')


def inline_svg(svg: str, prefix: str) -> str:
    """Return the SVG fit to stand in a page: no head, fluid width, ids of its own.

    Parameters
    ----------
    svg : str
        What :func:`svg_text` gave.
    prefix : str
        Letters and digits that no other picture of the page has.
    """
    body = _RULE.sub("", _META.sub("", _HEAD.sub("", svg, count=1), count=1), count=1)
    body = _SIZE.sub(r"\1\2", body, count=1)
    body = _HEIGHT.sub(r"\1", body, count=1)
    body = body.replace("<svg ", '<svg class="plot" aria-hidden="true" focusable="false" ', 1)
    return _ID.sub(lambda found: f"{found.group(0)}{prefix}", body)
