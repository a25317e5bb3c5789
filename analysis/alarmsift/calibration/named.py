"""Which analyser a row of the operations log is about, by what its note says."""

from __future__ import annotations

import re
from typing import Final

import numpy as np
import pandas as pd

_NAMED: Final = re.compile(r"\banaly[sz]er\s+(\S+)", re.IGNORECASE)


def analyser_of(notes: pd.Series) -> np.ndarray:
    """Return the analyser that each note names, '' for none, shape (n,).

    Examples
    --------
    >>> analyser_of(pd.Series(["Analyser aft, in cold weather", None])).tolist()
    ['aft', '']
    """
    text = notes.astype(object).fillna("").astype(str)
    return np.asarray(text.str.extract(_NAMED)[0].fillna("").str.strip(".,;:"), dtype=object)
