"""The detectors that have pages, by the names that the tables give them."""

from __future__ import annotations

import pandas as pd

from alarmsift.report.figures import text
from alarmsift.report.page_names import unlike
from alarmsift.tables.diagnosis import Diagnosis
from alarmsift.tables.schema import GAS_UNITS


def detector_name(analyser: object, gas: object, several: bool) -> str:
    """Return the detector's name as conditions write it, without the word "detector"."""
    return f"{gas} ({analyser})" if several and text(analyser) else str(gas)


def gas_and_analyser(name: str) -> tuple[str, str]:
    """Return gas and analyser of a detector's name, the analyser blank where it names none.

    Examples
    --------
    >>> gas_and_analyser("HC (aft)"), gas_and_analyser("H2S")
    (('HC', 'aft'), ('H2S', ''))
    """
    gas, _, rest = name.partition(" ")
    return gas, rest.removeprefix("(").removesuffix(")")


def detector_names(diagnosis: Diagnosis) -> list[str]:
    """Return every detector of the zeros, the checks and the table of detectors, gas by gas."""
    zeros, checks = diagnosis.zeros, diagnosis.calibration
    owner = zeros["analyser"].astype("object").fillna("")
    several = owner.nunique() > 1
    out: list[str] = []
    for gas in GAS_UNITS:
        mine = sorted(owner[(zeros["gas"] == gas).to_numpy(dtype=bool)].unique())
        names = [detector_name(analyser, gas, several) for analyser in mine]
        names += _told(diagnosis.detectors, gas)
        if not names and (checks["gas"] == gas).any():
            names = [gas]
        out += names
    return list(dict.fromkeys(out))


def _told(detectors: pd.DataFrame, gas: str) -> list[str]:
    return [str(name) for name in detectors.loc[detectors["gas"] == gas, "detector"].unique()]


def detector_pages(diagnosis: Diagnosis) -> dict[str, str]:
    """Return detector -> file name stem of its page."""
    names = detector_names(diagnosis)
    return dict(zip(names, unlike(names), strict=True))


def checks_of(diagnosis: Diagnosis, name: str) -> pd.DataFrame:
    """Return the rows of the ledger that are about a detector; those that name none are about all.

    Parameters
    ----------
    name : str
        As in :func:`detector_names`.
    """
    gas, analyser = gas_and_analyser(name)
    mine = diagnosis.ledger[diagnosis.ledger["gas"] == gas]
    return mine[mine["analyser"].isin(["", analyser])] if analyser else mine
