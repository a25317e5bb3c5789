"""Made-up ledger, detectors and repairs for the made-up diagnosis."""

from __future__ import annotations

import numpy as np
import pandas as pd

from alarmsift.tables import diagnosis as names

NONE = np.nan


def ledger_of(calibration: pd.DataFrame) -> pd.DataFrame:
    frame = calibration.assign(
        analyser="",
        kind=[str(check).split("_")[0] for check in calibration["check"]],
        unit="%LFL",
        tolerance=[3.0, 5.0],
        reference_true=[0.0, 61.7647],
        true_error=[0.0, -20.7647],
        sensitivity=[NONE, 0.66],
        verdict=["within", "out"],
        late_days=[12.0, NONE],
        held=["did_not_hold", ""],
        held_days=[4.0, NONE],
        why=["did not hold: out of tolerance 4.0 days later", "wrong basis: 50 <on> 2.1 %vol"],
    )
    return frame[names.LEDGER_COLUMNS]


def detectors_of(end: pd.Timestamp) -> pd.DataFrame:
    day = pd.Timedelta(days=1)
    rows = [
        ("expected", end + 9 * day, end + 6 * day, end + 14 * day, "leaves 3 %LFL in nine days"),
        ("no_data", pd.NaT, pd.NaT, pd.NaT, "no span <check> stands in the logs"),
    ]
    frame = pd.DataFrame(
        rows, columns=["forecast", "crosses", "crosses_low", "crosses_high", "why"]
    ).assign(
        detector="HC",
        analyser="",
        gas="HC",
        kind=["zero", "span"],
        unit=["%LFL", "%"],
        tolerance=[3.0, 10.0],
        checks=[1, 0],
        out=[0, 0],
        not_held=[1, 0],
        last_check=[end - 40 * day, pd.NaT],
        due=[end - 10 * day, pd.NaT],
        overdue_days=[10.0, NONE],
        slope=[0.12, NONE],
        slope_low=[0.08, NONE],
        slope_high=[0.15, NONE],
        pairs=[45, 0],
        level=[1.9, NONE],
        confidence=0.9,
        basis=["readings", ""],
    )
    for name in ("crosses", "crosses_low", "crosses_high", "last_check", "due"):
        frame[name] = pd.to_datetime(frame[name], utc=True)
    return frame[names.DETECTOR_COLUMNS]


def repairs_of(points: list[str], start: pd.Timestamp) -> pd.DataFrame:
    columns = ["action", "point", "gas", "outcome", "days_to_return", "note"]
    rows = [
        ("purge", points[2], "", "came_back", 3.2, "blown <i>through</i>"),
        ("zero_adjust", "", "HC", "held", NONE, ""),
        ("drain", points[0], "", "too_early", NONE, ""),
        ("maintenance", points[1], "", "no_trouble", NONE, ""),
    ]
    frame = pd.DataFrame(rows, columns=columns).assign(
        repair=[f"R{number:04d}" for number in range(1, 5)],
        time=start + pd.to_timedelta([60.0, 70.0, 80.0, 90.0], unit="h"),
        days_before=7.0,
        alarms_before=[8, 12, 1, 0],
        days_after=14.0,
        alarms_after=[2, 0, 0, 0],
        per_day_before=[8 / 7, 12 / 7, 1 / 7, 0.0],
        per_day_after=[1 / 7, 0.0, 0.0, 0.0],
        ratio=[0.125, 0.0, 0.0, NONE],
        ratio_low=[0.03, 0.0, 0.0, NONE],
        ratio_high=[0.46, 0.1, NONE, NONE],
        line_before=[0.4, NONE, NONE, NONE],
        line_after=[0.95, NONE, NONE, NONE],
        line_ratio=[2.38, NONE, NONE, NONE],
        line_ratio_low=[2.2, NONE, NONE, NONE],
        line_ratio_high=[2.5, NONE, NONE, NONE],
        confidence=0.9,
        also=["setpoint", "", "", ""],
        why=["8 alarms before, 2 after", "12 before, 0 after", "1 before, 0 after", "no alarm"],
    )
    frame["time"] = frame["time"].astype("datetime64[us, UTC]")
    return frame[names.REPAIR_COLUMNS]
