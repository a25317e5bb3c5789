"""What kind of space a point looks at: from the points table, else from its name."""

from __future__ import annotations

import re

import numpy as np
import pandas as pd

# Words by which ships name their spaces (common practice, no source). The first that fits counts.
_NAMES = (
    ("cabinet", r"cabinet|fresh|ref\b|reference|analy[sz]er|outside"),
    ("pump_room", r"pump|\bp\.?m?p?\.?\s?r(oo)?m|\bp/?r\b"),
    ("cofferdam", r"coff|\bc/?d\b"),
    ("duct_keel", r"duct|keel|pipe tunnel"),
    ("void", r"void"),
    (
        "ballast",
        r"ballast|\bw\.?\s?b\.?|wbt|dbt|\bb\.?t\.?\s?\d|\bd\.?b\.?|tank|\btk|wing|peak|\b[fa]\.?p\.?t",
    ),
)


def kinds_of(points: tuple[str, ...], table: pd.DataFrame) -> np.ndarray:
    """Return the kind of space of each point, '' where nothing tells, shape (P,) of str."""
    stated = table.drop_duplicates("point").set_index("point")["kind"].astype(object)
    known = stated.reindex(list(points)).to_numpy(object)
    return np.array(
        [
            kind if isinstance(kind, str) and kind else _by_name(name)
            for name, kind in zip(points, known, strict=True)
        ],
        dtype=object,
    )


def _by_name(name: str) -> str:
    for kind, words in _NAMES:
        if re.search(words, name.lower()):
            return kind
    return ""
