"""Sentences of a verdict, made from the signs."""

from __future__ import annotations

import re

import numpy as np


def verdict_sentence(
    title: str | None, speaks_for: list[str], speaks_against: list[str], runner_up: str
) -> str:
    """Return the one plain sentence ``why``.

    Parameters
    ----------
    title : str or None
        The cause in words; None when undetermined.
    speaks_for, speaks_against : list of str
        Sentences of the heaviest signs, the heaviest first.
    runner_up : str
        Next best cause in words.
    """
    if title is None:
        start = f"The signs do not settle it; {runner_up} comes closest"
    else:
        start = f"Most likely {title}"
    reasons = f": {'; '.join(speaks_for[:3])}" if speaks_for else ""
    doubt = f"; against it: {speaks_against[0]}" if speaks_against else ""
    return f"{start}{reasons}{doubt}."


def fill(template: str, measure: float) -> str:
    """Return a sign's sentence with its measure in place; a blank measure drops the figure."""
    if not np.isfinite(measure):
        short = template.split(" (", maxsplit=1)[0] if "{m" in template else template
        return re.sub(r"\{m[^}]*\}", "?", short)
    return template.format(m=measure)
