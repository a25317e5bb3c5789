"""How far off a detector may be found at a check before it counts as out of tolerance."""

from __future__ import annotations

from typing import Final

import numpy as np

from alarmsift.tables.site import Site

# By gas, in the gas's unit: from here a zero counts as drifted (common practice, no source).
ZERO: Final[dict[str, float]] = {"HC": 3.0, "H2S": 1.5}
# Share of the span gas: as found within it, adjust and record; beyond it, the readings back to the
# last good check are in doubt (common practice, no source).
SPAN_SHARE: Final = 0.10


def zero_tolerance(gas: str, site: Site) -> float:
    """Return how far the zero may be off [unit of the gas], NaN where nobody says."""
    return float(site.tolerance.get(gas, ZERO.get(gas, np.nan)))


def span_tolerance(reference: float) -> float:
    """Return how far a reading of span gas may be off [unit of the gas]."""
    return SPAN_SHARE * abs(reference)
