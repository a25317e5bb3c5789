"""How numbers stand on a page: few digits, a true minus, blank for missing."""

from __future__ import annotations

import numpy as np
import pandas as pd


def number(value: object, digits: int = 3) -> str:
    """Return a number with ``digits`` significant figures, blank when missing.

    Examples
    --------
    >>> number(31.04), number(float("nan")), number(1234567.0), number(-0.5)
    ('31', '', '1 234 567', '−0.5')
    """
    if value is None or not np.isfinite(float(value)):  # type: ignore[arg-type]
        return ""
    real = float(value)  # type: ignore[arg-type]
    whole = abs(real) >= 10 ** min(digits, 3)  # never 2.2e+02
    text = f"{real:,.0f}".replace(",", " ") if whole else f"{real:.{digits}g}"
    return text.replace("-", "−")


def percent(value: object) -> str:
    """Return a probability in per cent; never rounded to 0 % or 100 %.

    Examples
    --------
    >>> percent(0.97), percent(0.0004), percent(0.9999), percent(0.004), percent(float("nan"))
    ('97 %', 'under 0.1 %', 'over 99.9 %', '0.4 %', '')
    """
    if value is None or not np.isfinite(float(value)):  # type: ignore[arg-type]
        return ""
    share = 100.0 * float(value)  # type: ignore[arg-type]
    if share < 0.1:
        return "under 0.1 %"
    if share > 99.9:
        return "over 99.9 %"
    return f"{share:.1f} %" if share < 1 or share > 99 else f"{share:.0f} %"


def value_unit(value: object, unit: object) -> str:
    """Return a value with its unit, blank when missing."""
    text = number(value)
    return f"{text} {unit}".strip() if text and isinstance(unit, str) else text


def text(cell: object) -> str:
    """Return a cell as text, blank when missing."""
    if isinstance(cell, str):
        return cell  # nearly always
    return "" if cell is None or bool(pd.isna(cell)) else str(cell)


def sentence(words: str) -> str:
    """Return the words as a sentence: a capital in front, a stop at the end.

    Examples
    --------
    >>> sentence("no flow, 3 h"), sentence("Is it so?"), sentence("")
    ('No flow, 3 h.', 'Is it so?', '')
    """
    bare = words.strip()
    if not bare:
        return ""
    return bare[0].upper() + bare[1:] + ("" if bare[-1] in ".!?…" else ".")
