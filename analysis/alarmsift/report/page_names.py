"""File names of the points' pages: safe on every system, and no two alike."""

from __future__ import annotations

import re
import unicodedata

import pandas as pd

_RESERVED = re.compile(r"^(con|prn|aux|nul|com\d|lpt\d)$")  # device names on Windows


def slug(text: str) -> str:
    """Return letters, digits and hyphens only, at most 48, never blank.

    Examples
    --------
    >>> slug("WBT 3 S <b>"), slug("../x"), slug("Öltank/é"), slug("<>")
    ('wbt-3-s-b', 'x', 'oltank-e', 'point')
    """
    ascii_text = unicodedata.normalize("NFKD", text).encode("ascii", "ignore").decode("ascii")
    short = re.sub(r"[^a-z0-9]+", "-", ascii_text.lower()).strip("-")[:48].strip("-")
    return f"{short}-point" if _RESERVED.match(short) else short or "point"


def page_names(points: pd.DataFrame) -> dict[str, str]:
    """Return point -> file name stem of its page.

    Parameters
    ----------
    points : DataFrame
        Columns ``point`` and ``page``; the page's name is used as far as it is safe.
    """
    out: dict[str, str] = {}
    taken: set[str] = set()
    for point, page in zip(points["point"], points["page"], strict=True):
        wanted = str(page).removesuffix(".html") if isinstance(page, str) and page else str(point)
        base, count = slug(wanted), 1
        name = base
        while name in taken:
            count += 1
            name = f"{base}-{count}"
        taken.add(name)
        out[str(point)] = name
    return out
