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
    names = points["point"].astype(str).tolist()
    wanted = [
        page.removesuffix(".html") if isinstance(page, str) and page else name
        for name, page in zip(names, points["page"], strict=True)
    ]
    return dict(zip(names, unlike(wanted), strict=True))


def unlike(wanted: list[str]) -> list[str]:
    """Return a file name stem for each wanted name, no two alike.

    Examples
    --------
    >>> unlike(["HC (a/b)", "HC (a b)"])
    ['hc-a-b', 'hc-a-b-2']
    """
    out: list[str] = []
    taken: set[str] = set()
    for one in wanted:
        base, count = slug(one), 1
        name = base
        while name in taken:
            count += 1
            name = f"{base}-{count}"
        taken.add(name)
        out.append(name)
    return out
