"""A picture of the canvas as it stands in a page."""

from __future__ import annotations

import re

_SIZE = re.compile(r' (?:width|height)="[^"]*pt"')
_NAME = re.compile(r'\bid="|"url\(#')  # quotes in words are escaped, so no word matches


def inline_svg(svg: str, prefix: str) -> str:
    """Return the SVG fit to stand in a page: no head, fluid width, names of its own.

    Parameters
    ----------
    svg : str
        What the canvas gave.
    prefix : str
        Letters and digits that no other picture of the page has.
    """
    head, rest = svg[svg.index("<svg ") :].split(">", 1)
    head = _SIZE.sub("", head).replace(
        "<svg ", '<svg class="plot" aria-hidden="true" focusable="false" ', 1
    )
    return f"{head}>{_NAME.sub(lambda found: found.group(0) + prefix, rest)}"
