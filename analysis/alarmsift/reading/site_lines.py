"""On which line of ``site.toml`` a setting stands, so that a message can point at it."""

from __future__ import annotations

import re

_HEAD = re.compile(r"^\s*(\[{1,2})\s*(.+?)\s*\]{1,2}\s*(?:#.*)?$")
_KEY = re.compile(r"""^\s*(?:"((?:[^"\\]|\\.)*)"|'([^']*)'|([A-Za-z0-9_\-]+))\s*[.=]""")


def line_of(text: str, setting: str, *, entry: int = 0) -> int | None:
    r"""Return the line of a setting; None when it isn't found.

    Parameters
    ----------
    text : str
        The whole file.
    setting : str
        ``clock``, ``lfl.gas``, ``units.HC``, ``setpoint.value``; a section's name alone finds its
        heading.
    entry : int
        Which of several sections of that name (``[[setpoint]]``), from 0.

    Examples
    --------
    >>> line_of('name = "A"\n[lfl]\ngas = "x"', "lfl.gas")
    3
    """
    section, _, name = setting.partition(".")
    here, count = "", -1
    for number, line in enumerate(text.splitlines(), start=1):
        head = _HEAD.match(line)
        if head:
            here = head[2].strip("\"'")
            count += here == section
            if here == section and not name and count == entry:
                return number
            continue
        key = _KEY.match(line)
        if key is None:
            continue
        found = key[1] or key[2] or key[3] or ""
        top = not here and not name and found == section
        inside = here == section and found == name and count == entry
        dotted = not here and name and found == section and f".{name}" in line.replace(" ", "")
        if top or inside or dotted:
            return number
    return None
