"""What a picture in SVG is put together from: looks, words, patterns, and the whole of it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby

from markupsafe import escape

from alarmsift.report.colours import FONTS, PAPER

# Height of capitals and tails over and under the base line, and from line to line, in sizes of
# the font: about the same in all of FONTS (measured on DejaVu Sans).
ASCENT, DESCENT, LEADING = 0.76, 0.24, 1.2
LETTER = 0.56  # mean width of a letter, for the paper behind a word
DASHES = {"-": (), "--": (3.7, 1.6)}  # in widths of the line
ANCHORS = {"left": "start", "center": "middle", "right": "end"}
# Patterns 3 and 4 points wide, each on its own paper.
HATCHES = {
    "////": (30, "M-5 5L5-5M0 30L30 0M25 35L35 25"),
    "xxxx": (30, "M0 0L30 30M0 30L30 0"),
    "||||": (30, "M15 0V30"),
    "---": (40, "M0 20H40"),
}


@dataclass(frozen=True)
class Piece:
    """Something drawn: what is nearer (``zorder``) is drawn later; ``kind`` is path or text."""

    zorder: float
    kind: str
    looks: str
    body: str


def whole_svg(wide: int, high: int, pieces: list[Piece], patterns: list[str]) -> str:
    """Return the picture; pieces of the same looks that follow each other are written as one.

    Parameters
    ----------
    wide, high : int
        Size of the picture in tenths of a point.
    pieces : list of Piece
        In the order in which they were drawn.
    patterns : list of str
        What :func:`pattern` gave.
    """
    parts = [
        '<?xml version="1.0" encoding="utf-8"?>\n'
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{wide / 10:g}pt" '
        f'height="{high / 10:g}pt" viewBox="0 0 {wide} {high}" fill="none" '
        f'stroke-linejoin="round" font-family="{FONTS}">'
    ]
    if patterns:
        parts.append(f"<defs>{''.join(patterns)}</defs>")
    parts.append(f'<path fill="{PAPER}" d="M0 0h{wide}v{high}h-{wide}z"/>')
    ordered = sorted(pieces, key=lambda piece: piece.zorder)  # stable
    for (kind, looks), group in groupby(ordered, key=lambda piece: (piece.kind, piece.looks)):
        body = "".join(piece.body for piece in group)
        parts.append(f'<path {looks} d="{body}"/>' if kind == "path" else f"<g {looks}>{body}</g>")
    return "\n".join(parts) + "\n</svg>\n"


def text_body(x: float, y: float, text: str, *, size: float, va: str) -> str:
    """Return words, a line each, around a place; everything in tenths of a point.

    Parameters
    ----------
    x, y : float
        The place.
    text : str
        As it was written: it is escaped here.
    size : float
        Of the font.
    va : str
        What of the words stands at ``y``: ``baseline``, ``center_baseline`` (the middle of
        capitals), ``center``, ``bottom``, ``top``.
    """
    lines = text.split("\n")
    step = size * LEADING
    under = step * (len(lines) - 1)
    base = {
        "baseline": y - under,
        "center_baseline": y + size * ASCENT / 2 - under,
        "center": y + size * (ASCENT - DESCENT) / 2 - under / 2,
        "bottom": y - size * DESCENT - under,
        "top": y + size * ASCENT,
    }[va]
    return "".join(
        f'<text x="{round(x)}" y="{round(base + step * k)}">{escape(line)}</text>'
        for k, line in enumerate(lines)
    )


def pattern(name: str, hatch: str, *, face: str, edge: str) -> str:
    """Return a pattern of HATCHES on paper of the colour ``face``."""
    side, way = HATCHES[hatch]
    return (
        f'<pattern id="{name}" width="{side}" height="{side}" patternUnits="userSpaceOnUse">'
        f'<path fill="{face}" d="M0 0h{side}v{side}h-{side}z"/>'
        f'<path stroke="{edge}" stroke-width="6" d="{way}"/></pattern>'
    )


def text_looks(color: str, ha: str) -> str:
    """Return colour and alignment (``left``, ``center``, ``right``) of words."""
    return f'fill="{color}"' + ("" if ha == "left" else f' text-anchor="{ANCHORS[ha]}"')


def width(points: float) -> str:
    """Return the width of a line, given in points."""
    return f' stroke-width="{10 * points:g}"'


def dashes(style: str | tuple[int, tuple[float, ...]], width: float) -> str:
    """Return the dashes of a line; ``width`` in points."""
    parts = DASHES[style] if isinstance(style, str) else style[1]
    lengths = " ".join(f"{10 * width * part:g}" for part in parts)
    # Round ends show a reading that stands alone between two gaps; between dashes they would
    # close the gaps.
    return f' stroke-dasharray="{lengths}"' if lengths else ' stroke-linecap="round"'


def each(colours: str | Sequence[str], count: int) -> Sequence[str]:
    """Return a colour for each of ``count``."""
    return [colours] * count if isinstance(colours, str) else colours
