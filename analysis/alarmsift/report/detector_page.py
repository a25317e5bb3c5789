"""The data of a detector's page: its zero, its checks, what is foreseen, what it did to alarms."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from alarmsift.report.check_plot import LOOKS
from alarmsift.report.detector_names import checks_of, detector_pages, gas_and_analyser
from alarmsift.report.figures import text, value_unit
from alarmsift.report.json_file import tool_version
from alarmsift.report.point_links import Link
from alarmsift.report.point_page import Plot
from alarmsift.report.state_view import (
    CheckLine,
    ConditionLine,
    StandLine,
    check_lines,
    condition_lines,
    stand_lines,
)
from alarmsift.report.weights_view import weights_words
from alarmsift.report.words import Look, cause_look
from alarmsift.tables.diagnosis import Diagnosis
from alarmsift.tables.schema import GAS_UNITS

MOST_CHECKS = 120
# Causes that lie in the detector or in its calibration.
OWN_CAUSES = ("zero_drift", "test_gas")


@dataclass(frozen=True)
class DetectorPage:
    """All of one detector's page; ``own`` counts the alarms that the detector itself made."""

    ship: str
    version: str
    name: str
    gas: str
    unit: str
    facts: tuple[tuple[str, str], ...]
    stands: tuple[StandLine, ...]
    plots: tuple[Plot, ...]
    looks: tuple[tuple[str, str, bool, str, str], ...]
    conditions: tuple[ConditionLine, ...]
    checks: tuple[CheckLine, ...]
    hidden_checks: int
    late: int
    own: tuple[tuple[Look, int], ...]
    points: tuple[Link, ...]
    before: Link | None
    after: Link | None
    weights: str


def detector_page(
    diagnosis: Diagnosis, name: str, *, plots: tuple[Plot, ...], pages: dict[str, str]
) -> DetectorPage:
    """Return the data of one detector's page.

    Parameters
    ----------
    diagnosis : Diagnosis
        What to show.
    name : str
        As the table of detectors and the conditions write it: "HC", "HC (aft)".
    plots : tuple of Plot
        Its pictures.
    pages : dict
        Point -> page stem.
    """
    gas, analyser = gas_and_analyser(name)
    ledger = checks_of(diagnosis, name)
    others = [Link(one, page) for one, page in detector_pages(diagnosis).items()]
    here = [one.name for one in others].index(name)
    whose = diagnosis.conditions["point"].astype(str) == f"detector {name}"
    mine = _points(diagnosis, analyser)
    last = ledger.iloc[-MOST_CHECKS:]
    return DetectorPage(
        ship=diagnosis.logs.site.name or diagnosis.logs.name,
        version=tool_version(),
        name=name,
        gas=gas,
        unit=GAS_UNITS.get(gas, ""),
        facts=_facts(diagnosis, gas, analyser, checks=len(ledger)),
        stands=tuple(one for one in stand_lines(diagnosis) if one.detector == name),
        plots=plots,
        looks=LOOKS,
        conditions=condition_lines(diagnosis.conditions[whose], {}, diagnosis.logs.clock),
        checks=check_lines(last.iloc[::-1], diagnosis),
        hidden_checks=len(ledger) - len(last),
        late=int((ledger["late_days"].to_numpy(float) > 0.0).sum()),
        own=_own(diagnosis, gas, mine),
        points=tuple(Link(point, pages.get(point, "")) for point in mine),
        before=others[here - 1] if here else None,
        after=others[here + 1] if here + 1 < len(others) else None,
        weights=weights_words(diagnosis),
    )


def _facts(
    diagnosis: Diagnosis, gas: str, analyser: str, *, checks: int
) -> tuple[tuple[str, str], ...]:
    site = diagnosis.logs.site
    facts = [("Gas", gas), ("Unit", GAS_UNITS.get(gas, "")), ("Analyser", analyser)]
    facts.append(("Checks and adjustments in the logs", str(checks)))
    facts.append(("From one calibration to the next", value_unit(site.calibration_days, "days")))
    if gas == "HC" and site.lfl is not None:
        facts.append(("%LFL refers to", f"{site.lfl[0]}, {site.lfl[1]:g} %vol"))
    return tuple((key, words) for key, words in facts if words)


def _points(diagnosis: Diagnosis, analyser: str) -> list[str]:
    """Return the points that a detector serves, in the order of the round."""
    points = diagnosis.points
    owner = points["analyser"].map(text).to_numpy(dtype=object)
    whose = (owner == analyser) | (owner == "") if analyser else np.ones(len(points), dtype=bool)
    return [str(point) for point in points["point"][whose]]


def _own(diagnosis: Diagnosis, gas: str, points: list[str]) -> tuple[tuple[Look, int], ...]:
    alarms: pd.DataFrame = diagnosis.episodes
    mine = alarms[(alarms["gas"] == gas) & alarms["point"].isin(points)]
    counts = [(cause_look(cause), int((mine["cause"] == cause).sum())) for cause in OWN_CAUSES]
    return tuple((look, count) for look, count in counts if count)
