"""The contract of a condition: a state of a line, detector or analyser over a time span."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import pandas as pd

from alarmsift.evidence.ship import Ship

FOUND_COLUMNS = ["point", "start", "end", "probability", "why", "next_check"]


@dataclass(frozen=True)
class Condition:
    """One condition.

    Attributes
    ----------
    key : str
        The file's name.
    title : str
        For the reader.
    find : callable
        (ship, episodes) -> DataFrame with FOUND_COLUMNS; ``point`` is the name to show, ``start``
        and ``end`` are hours since origin (inf = still so).
    """

    key: str
    title: str
    find: Callable[[Ship, pd.DataFrame], pd.DataFrame]


def found(rows: list[tuple[str, float, float, float, str, str]]) -> pd.DataFrame:
    """Return found spans as a frame."""
    frame = pd.DataFrame(rows, columns=FOUND_COLUMNS)
    return frame.astype({"start": float, "end": float, "probability": float})


def detector_name(ship: Ship, gas: str, analyser: int) -> str:
    """Return the name of a detector as conditions show it."""
    names = ship.visits.analysers
    return f"detector {gas}" if len(names) < 2 else f"detector {gas} ({names[analyser]})"


def hours_text(start: float, end: float) -> str:
    """Return a length in words."""
    length = end - start
    if not np.isfinite(length):
        return "still so at the end of the logs"
    return f"{length:.0f} h" if length < 48 else f"{length / 24:.1f} days"
