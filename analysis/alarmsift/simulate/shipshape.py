"""What a simulation hands over."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import pandas as pd

from alarmsift.simulate.settings import ShipSettings


@dataclass(frozen=True)
class SimulatedShip:
    """Logs of one ship with the truth beside them.

    Attributes
    ----------
    settings : ShipSettings
        What it was drawn from.
    tables : dict of DataFrame
        By name of the plain layout; a table that this ship does not keep is missing. Times UTC.
    site : dict
        Content of ``site.toml``.
    truth_episodes : DataFrame
        ``point, gas, level, kind, raised, cause``: a row for every alarm or fault raised.
    truth_conditions : DataFrame
        ``point, condition, start, end, why``; end NaT = still so at the end of the log.
    stories : DataFrame
        ``story, start, end, points, note``: what was put in, whether or not it alarmed.
    """

    settings: ShipSettings
    tables: dict[str, pd.DataFrame]
    site: dict[str, Any]
    truth_episodes: pd.DataFrame
    truth_conditions: pd.DataFrame
    stories: pd.DataFrame
