"""Makes sure that every column the report draws is there, blank when nobody filled it."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from functools import cache

import pandas as pd

from alarmsift.tables.diagnosis import Diagnosis

POINT_COLUMNS = {
    "point": "",
    "space": "",
    "kind": "",
    "order": float("nan"),
    "analyser": "",
    "page": "",
    "visits": float("nan"),
    "clean_flow": float("nan"),
    "episodes": 0,
    "worst": "",
    "headline": "",
    "next_check": "",
    "needs_person": False,
}
CHECK_COLUMNS = {"key": "", "check": "", "outcome": "", "means": ""}


def with_all_columns(diagnosis: Diagnosis) -> Diagnosis:
    """Return the diagnosis with all columns of ``points`` and ``checks`` that pages draw.

    Signs are read once an episode, since pages and ``diagnosis.json`` both ask for them.
    """
    return dataclasses.replace(
        diagnosis,
        points=_filled(diagnosis.points, POINT_COLUMNS),
        checks=_filled(diagnosis.checks, CHECK_COLUMNS),
        sign_reader=cache(diagnosis.sign_reader),
    )


def _filled(frame: pd.DataFrame, columns: Mapping[str, object]) -> pd.DataFrame:
    missing = {name: blank for name, blank in columns.items() if name not in frame}
    return frame.assign(**missing) if missing else frame
