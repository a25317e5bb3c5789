"""The signs behind the verdicts as ``diagnosis.json`` holds them: each sentence stands once.

A ship-year has sixty thousand signs and a few hundred different sentences. So title, unit and
sentence stand once, and a sign refers to them by key and number; it refers to its rows likewise,
since most signs of an episode rest on the same ones.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import pandas as pd

NO_DATA = "no data"
FIGURES = 4  # a measure is never surer than that
NUMBERS = ("measure", "for_cause", "for_gas")
ROW_KEYS = ("source_file", "first_row", "last_row")


@dataclass
class SignTables:
    """What stands once for all signs.

    Attributes
    ----------
    titles, units : dict
        Sign -> title, unit of its measure.
    words : dict
        Sentence -> its number.
    """

    titles: dict[str, str] = field(default_factory=dict)
    units: dict[str, str] = field(default_factory=dict)
    words: dict[str, int] = field(default_factory=dict)

    def add(self, frame: pd.DataFrame) -> dict[str, list[Any]]:
        """Return ``rows``, ``signs`` and ``no_data`` of one episode.

        Parameters
        ----------
        frame : DataFrame
            SIGN_COLUMNS, the heaviest first; the order is kept.
        """
        plain = {name: frame[name].tolist() for name in frame.columns}
        self.titles.update(zip(plain["sign"], plain["title"], strict=True))
        self.units.update(zip(plain["sign"], plain["unit"], strict=True))
        numbers = {
            name: _short(frame[name].to_numpy(float))
            for name in ("measure", "for_cause", "for_gas")
        }
        places: dict[tuple[Any, ...], int] = {}
        signs, silent = [], []
        rows = zip(*(plain[name] for name in ROW_KEYS), strict=True)
        for k, row in enumerate(rows):
            if plain["answer"][k] == NO_DATA:
                silent.append(plain["sign"][k])
                continue
            one = {
                "sign": plain["sign"][k],
                "answer": plain["answer"][k],
                "words": self.words.setdefault(str(plain["words"][k]), len(self.words)),
                "rows": places.setdefault(row, len(places)),
            }
            told = {name: values[k] for name, values in numbers.items()}
            told["speaks_for"] = plain["speaks_for"][k]
            signs.append(one | {key: cell for key, cell in told.items() if _says(key, cell)})
        return {"rows": [_row(*row) for row in places], "signs": signs, "no_data": silent}


def _row(file: Any, first: Any, last: Any) -> dict[str, Any]:
    """Return a stretch of rows; None where a sign rests on none."""
    whole = [None if pd.isna(row) else int(row) for row in (first, last)]
    return dict(zip(ROW_KEYS, [file if isinstance(file, str) else None, *whole], strict=True))


def _says(key: str, cell: Any) -> bool:
    """Tell whether a cell says more than that there is nothing; a measure of 0 does."""
    return cell is not None if key == "measure" else bool(cell)


def _short(values: Iterable[float]) -> list[float | None]:
    return [float(f"{v:.{FIGURES}g}") if np.isfinite(v) else None for v in values]
