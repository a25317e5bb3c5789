"""The table a point that the terminal shows."""

from __future__ import annotations

import textwrap

import pandas as pd

from alarmsift.report.given import with_all_columns
from alarmsift.report.weights_view import weights_words
from alarmsift.report.words import TREAT_AS, condition_word
from alarmsift.tables.diagnosis import Diagnosis

# Column titles and widths; with two spaces between they fill 110 columns.
COLUMNS: tuple[tuple[str, int], ...] = (
    ("Point", 16),
    ("Gas", 3),
    ("Unres", 5),
    ("Nuis", 4),
    ("Unw", 3),
    ("Conditions", 16),
    ("What it was", 30),
    ("Next check", 17),
)
MOST_LINES = 4  # of one point; the whole sentence is on its page
NUMBERS = frozenset(("Gas", "Unres", "Nuis", "Unw"))
ORDER = ("gas", "unresolved", "nuisance", "unwatched")
LEGEND = (
    "Gas = alarms to treat as gas; Unres = unresolved, treat as gas; Nuis = nuisance; "
    "Unw = fault, point not watched."
)
CAUTION = (
    "No gas-free certificate and no permit to enter. Every alarm is acted on as real until shown "
    "otherwise."
)
_TO_ASCII = str.maketrans(
    {"−": "-", "≤": "<=", "≥": ">=", "→": "->", "\u2009": " ", "\u202f": " ", "₂": "2", "₃": "3"}
)


def table(diagnosis: Diagnosis) -> str:
    """Return a table with a row a point: alarms by ``treat_as``, conditions, headline, check.

    Parameters
    ----------
    diagnosis : Diagnosis
        The outcome of a run.

    Returns
    -------
    str
        At most 110 columns, every character in Windows code page 1252; ends without a newline.
    """
    diagnosis = with_all_columns(diagnosis)
    counts = _counts(diagnosis)
    lines = [_line([title for title, _ in COLUMNS]), _line(["-" * w for _, w in COLUMNS])]
    for row in diagnosis.points.itertuples():
        mine = counts.get(str(row.point), {})
        cells = [str(row.point), *(str(mine.get(key, 0) or ".") for key in ORDER)]
        cells += [_conditions(diagnosis, str(row.point)), _text(row.headline)]
        lines += _wrapped([*cells, _text(row.next_check)])
    known = set(diagnosis.points["point"].astype(str))
    for row in diagnosis.conditions.itertuples():
        if str(row.point) not in known:
            word = condition_word(row.condition)
            cells = [str(row.point), "", "", "", "", word, _text(row.why), _text(row.next_check)]
            lines += _wrapped(cells)
    lines += ["", *textwrap.wrap(LEGEND, 110), *textwrap.wrap(CAUTION, 110)]
    lines += textwrap.wrap(weights_words(diagnosis), 110)
    return safe("\n".join(lines))


def safe(text: str) -> str:
    """Return the text with every character that code page 1252 lacks replaced.

    Examples
    --------
    >>> safe("−3 °C → ok ✓")
    '-3 °C -> ok ?'
    """
    return text.translate(_TO_ASCII).encode("cp1252", "replace").decode("cp1252")


def _text(cell: object) -> str:
    return cell if isinstance(cell, str) else ""


def _counts(diagnosis: Diagnosis) -> dict[str, dict[str, int]]:
    episodes = diagnosis.episodes
    if not len(episodes):
        return {}
    grid = pd.crosstab(episodes["point"], episodes["treat_as"])
    return {
        str(point): {key: int(row.get(key, 0)) for key in TREAT_AS}
        for point, row in grid.iterrows()
    }


def _conditions(diagnosis: Diagnosis, point: str) -> str:
    mine = diagnosis.conditions[diagnosis.conditions["point"] == point]
    now = set(mine.loc[mine["end"].isna(), "condition"])
    names = dict.fromkeys(mine["condition"])
    return ", ".join(condition_word(name) + " (now)" * (name in now) for name in names)


def _wrapped(cells: list[str]) -> list[str]:
    parts = [
        textwrap.wrap(" ".join(cell.split()), width, max_lines=MOST_LINES, placeholder=" ...")
        or [""]
        for cell, (_, width) in zip(cells, COLUMNS, strict=True)
    ]
    height = max(len(part) for part in parts)
    rows = [[part[k] if k < len(part) else "" for part in parts] for k in range(height)]
    return [_line(row) for row in rows]


def _line(cells: list[str]) -> str:
    fitted = [
        cell.rjust(width) if title in NUMBERS else cell.ljust(width)
        for cell, (title, width) in zip(cells, COLUMNS, strict=True)
    ]
    return "  ".join(fitted).rstrip()
