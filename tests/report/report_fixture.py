"""A made-up diagnosis of a made-up ship, every figure invented, to draw pages from."""

from __future__ import annotations

import numpy as np
import pandas as pd
from ledger_fixture import detectors_of, ledger_of, repairs_of

from alarmsift.tables import diagnosis as names
from alarmsift.tables import logs as ledger_names
from alarmsift.tables.clock import ShipClock
from alarmsift.tables.diagnosis import Diagnosis
from alarmsift.tables.logs import Ledger, Logs
from alarmsift.tables.schema import (
    EVENTS,
    FINDINGS,
    OPERATIONS,
    POINTS,
    READINGS,
    SETPOINTS,
    conform,
    empty,
)
from alarmsift.tables.site import Site

START = pd.Timestamp("2026-03-01T00:00:00Z")
NASTY = "WBT <b>3</b> S & $x$"  # a name that must be escaped everywhere
CAUSES = ("gas", "ambient_vapour", "undetermined", "water", "blocked", "moisture", "carry_over")
CAUSES += ("zero_drift", "test_gas", "spike", "tight_setpoint", "pump")


def at(hours: float) -> pd.Timestamp:
    return START + pd.Timedelta(hours=hours)


def visits_of(points: list[str], days: float, minutes: float, seed: int = 5) -> pd.DataFrame:
    rng = np.random.default_rng(seed)
    count = int(days * 1440 / minutes)
    frames = []
    for k, point in enumerate(points):
        time = START + pd.to_timedelta(np.arange(count) * minutes + k, unit="min")
        x = np.arange(count) / count
        hc = np.round(np.abs(1.5 + rng.normal(0, 0.5, count)), 1)
        if k == 1:
            grow = np.clip((x - 0.55) / 0.02, 0, None)
            hc = np.round(hc + np.where(x < 0.72, 34 * (1 - np.exp(-grow)), 0), 1)
        if k == 0:
            hc[count // 3] = 58.0
        health = np.clip(1 + rng.normal(0, 0.03, count), 0, None)
        if k == 2:
            health = health * np.clip(1.0 - np.clip(x - 0.3, 0, None) * 1.2, 0.05, None)
        status = np.full(count, "ok", dtype=object)
        if k == 1:
            status[int(count * 0.71)] = "over_range"
        frames.append(
            pd.DataFrame(
                {
                    "time": time.as_unit("us"),
                    "point": point,
                    "analyser": "",
                    "flow": np.round(health * 3.0, 2),
                    "suction": 20.0,
                    "flow_share": health**0.8,
                    "conductance": health,
                    "HC": hc,
                    "HC_status": status,
                    "HC_excess": hc - 1.5,
                    "H2S": np.round(np.abs(rng.normal(0, 0.4, count)), 1),
                    "H2S_status": "ok",
                    "H2S_excess": 0.0,
                }
            )
        )
    return pd.concat(frames).sort_values("time", kind="stable").reset_index(drop=True)


def readings_of(visits: pd.DataFrame) -> pd.DataFrame:
    frames = []
    for gas in ("HC", "H2S"):
        if gas not in visits:
            continue
        part = visits[["time", "point", "flow", "suction"]].copy()
        part["gas"], part["value"], part["status"] = gas, visits[gas], visits[f"{gas}_status"]
        part["unit"] = {"HC": "%LFL", "H2S": "ppm"}[gas]
        swing = (visits["time"] - START).dt.total_seconds() / 86400 * 2 * np.pi
        part["temperature"] = np.round(18 + 6 * np.sin(swing), 1)
        part["source_file"], part["source_row"] = "readings.csv", np.arange(len(part)) + 2
        frames.append(part)
    table = pd.concat(frames) if frames else pd.DataFrame()
    if len(table):
        table = table.sort_values("time", kind="stable").reset_index(drop=True)
    return conform(table, READINGS)


def episode_rows(points: list[str], days: float) -> pd.DataFrame:
    hours = days * 24
    rows = []

    def add(point, gas, start, minutes, cause, treat, **more):
        rows.append(
            {
                "point": point,
                "gas": gas,
                "level": "low",
                "kind": "alarm",
                "raised": at(start),
                "cleared": at(start + minutes / 60),
                "acknowledged": at(start + 0.05),
                "ended_by": "clean_reading",
                "minutes": minutes,
                "peak": 31.0,
                "unit": "%LFL",
                "cause": cause,
                "probability": 0.82,
                "p_gas": 0.004,
                "runner_up": "moisture",
                "treat_as": treat,
                "why": f"It looks like {cause.replace('_', ' ')}: the signs below say how.",
                "next_check": "resample",
            }
            | more
        )

    a, b, c, d = points[:4]
    add(a, "HC", hours / 3, 12, "spike", "nuisance", bout="B0001")
    for k in range(6):
        add(a, "HC", hours * 0.5 + 5 * k, 25, "tight_setpoint", "nuisance", bout="B0002")
    gas = {"cause": "gas", "treat": "gas", "probability": 0.97, "p_gas": 0.97, "bout": "B0003"}
    add(
        b,
        "HC",
        hours * 0.57,
        hours * 0.14 * 60,
        **gas,
        ended_by="disconnect",
        peak=41.5,
        runner_up="water",
        why="HC rose over 9 h at 3.1 %LFL/h (2.4 to 3.9) and stayed until the line was taken off.",
    )
    add(b, "HC", hours * 0.6, 30, **gas, level="high")
    add(
        b,
        "H2S",
        hours * 0.9,
        hours * 0.1 * 60,
        "undetermined",
        "unresolved",
        cleared=pd.NaT,
        acknowledged=pd.NaT,
        ended_by="log_end",
        p_gas=0.31,
        unit="ppm",
        peak=7.5,
        bout="B0004",
        runner_up="zero_drift",
        why="The last visits are high and none has followed yet.",
    )
    add(
        c,
        "",
        hours * 0.7,
        300,
        "blocked",
        "unwatched",
        kind="fault",
        level="low flow",
        peak=np.nan,
        unit="",
        bout="B0005",
    )
    add(c, "", hours * 0.85, 600, "water", "unwatched", kind="fault", level="water trap", bout="B6")
    others = [x for x in CAUSES if x not in {"gas", "spike", "tight_setpoint", "undetermined"}]
    for k, cause in enumerate(others):
        treat = "gas" if cause == "ambient_vapour" else "nuisance"
        add(d, "HC", 20 + k * hours / 12, 90, cause, treat, bout=f"B01{k:02d}")
    frame = pd.DataFrame(rows).sort_values("raised", kind="stable").reset_index(drop=True)
    frame["episode"] = [f"E{k + 1:04d}" for k in range(len(frame))]
    for name in ("raised", "cleared", "acknowledged"):
        frame[name] = pd.to_datetime(frame[name], utc=True).astype("datetime64[us, UTC]")
    return frame[names.EPISODE_COLUMNS]


def signs_for(episode: str) -> pd.DataFrame:
    rows = [
        ("rise", "Shape of the rise", "present", "Rose like 1 - exp over 9 h.", 9.0, "h"),
        ("line", "Line health in the alarm", "absent", "Line at 0.98 of clean.", 0.98, "-"),
        ("pair", "The other point of the space", "undecided", "It rose 2 h later <i>.", 2.0, "h"),
        ("cargo", "Cargo work at the time", "no data", "No operations were logged.", np.nan, ""),
    ]
    frame = pd.DataFrame(rows, columns=["sign", "title", "answer", "words", "measure", "unit"])
    frame["for_cause"] = [12.0, 6.5, -2.0, 0.0]
    frame["for_gas"] = [12.0, 6.5, -4.0, 0.0]
    frame["speaks_for"] = ["gas", "gas", "moisture", ""]
    frame["source_file"] = ["readings.csv", "readings.csv", "readings.csv", ""]
    frame["first_row"] = [1200.0, 1100.0, 1250.0, np.nan]
    frame["last_row"] = [1450.0, 1440.0, 1300.0, np.nan]
    return frame[names.SIGN_COLUMNS]


def reckoned(points: list[str], hours: float) -> dict[str, pd.DataFrame]:
    """Return possible gas with each claim, a rule of each outcome, and a little alarm load."""
    gas = dict.fromkeys(names.POSSIBLE_GAS_COLUMNS, np.nan) | {
        "bouts": "B0008", "point": points[1], "gas": "HC", "unit": "%LFL", "treat_as": "gas",
        "p_gas": 0.97, "raised": at(hours * 0.56), "claim": "range", "rise_start": at(hours * 0.55),
        "rise_end": at(hours * 0.57), "visits": 43.0, "growth": 2.4, "growth_low": 2.04,
        "growth_high": 3.11, "high_setpoint": 60.0, "high_seen": pd.NaT,
        "earliest_high": at(hours * 0.6), "volume_m3": 2000.0, "inflow_low": 12.0,
        "inflow_high": 141.0, "rose_first": points[1], "pair": "", "neighbours": "A <b> rose",
        "inflow_why": "For well-mixed air in 2000 m³.", "why": "HC grew by 2 to 3.1 %LFL an hour.",
    }  # fmt: skip
    least = gas | {
        "bouts": "B0003", "point": points[0], "treat_as": "unresolved", "p_gas": 0.2,
        "claim": "at least", "growth": np.nan, "growth_low": 7.04, "growth_high": np.nan,
        "high_seen": at(hours * 0.58), "earliest_high": pd.NaT, "inflow_low": np.nan,
        "inflow_high": np.nan, "why": "HC grew by at least 7 %LFL an hour; it rose at once.",
    }  # fmt: skip
    frame = pd.DataFrame([gas, least])
    for name in ("raised", "rise_start", "rise_end", "high_seen", "earliest_high"):
        frame[name] = pd.to_datetime(frame[name], utc=True).astype("datetime64[us, UTC]")
    rules = [
        ("bore", "Lines are wide", "not_met", points[1], "The narrowest has 4 mm.", "Circ. <1370>"),
        ("range", "The range is wide", "not_decidable", "", "No reading tells.", "Circ. 1370"),
        ("scan", "Rounds are short", "met", "", "20 minutes.", "Circ. 1370"),
    ]
    load = [
        ("alarms", "Alarms raised", "alarms", 60.0, 30.0, "", ""),
        ("per_day", "Alarms a day, mean", "1/day", 2.0, 1.0, "about 150 acceptable", "ISA"),
    ]
    tags = [
        (points[1], "HC", "low", 9, 0.3, 0, 0.25, True, 1),
        (points[2], "", "low flow", 2, 0.05, 0, np.nan, False, 0),
    ]
    return {
        "possible_gas": frame[names.POSSIBLE_GAS_COLUMNS],
        "rules": pd.DataFrame(rules, columns=names.RULE_COLUMNS),
        "alarm_load": pd.DataFrame(load, columns=names.ALARM_LOAD_COLUMNS),
        "alarm_tags": pd.DataFrame(tags, columns=names.ALARM_TAG_COLUMNS),
    }


def make_diagnosis(
    *, days: float = 30, minutes: float = 20, points: list[str] | None = None, zone: str = "UTC+3"
) -> Diagnosis:
    """Four points or more, every cause, every treat_as, conditions, one episode still open."""
    points = points or ["WBT 2 P", NASTY, "VOID 4", "PUMP ROOM / A"]
    visits = visits_of(points, days, minutes)
    episodes = episode_rows(points, days)
    hours = days * 24
    operations = conform(
        pd.DataFrame(
            [
                (at(hours * 0.2), "cargo_start", None, None),
                (at(hours * 0.24), "cargo_end", None, None),
                (at(hours * 0.3), "zero_adjust", None, "HC"),
                (at(hours * 0.4), "ballast_fill_start", points[2], None),
                (at(hours * 0.42), "ballast_fill_end", points[2], None),
                (at(hours * 0.71), "disconnect", points[1], None),
                (at(hours * 0.73), "reconnect", points[1], None),
                (at(hours * 0.735), "purge", points[1], None),
                (at(hours * 0.75), "ventilation_on", None, None),
            ],
            columns=["time", "action", "point", "gas"],
        ),
        OPERATIONS,
    )
    conditions = pd.DataFrame(
        [
            (points[2], "blocked", at(hours * 0.45), pd.NaT, 0.93, "Resistance doubled.", "purge"),
            (points[0], "left_disconnected", at(10), at(20), 0.9, "Off 10 h too long.", ""),
            ("detector HC", "zero_drift", at(hours * 0.5), pd.NaT, 0.88, "Zero at +3.4.", "zero"),
        ],
        columns=names.CONDITION_COLUMNS,
    )
    coverage = pd.DataFrame(
        [
            (points[1], at(hours * 0.71), at(hours * 0.73), hours * 1.2, "disconnected"),
            (points[2], at(hours * 0.7), at(hours), hours * 0.3 * 60, "blocked"),
            (points[0], at(hours * 0.1), at(hours * 0.12), 864.0, "no_log"),
            (points[3], at(hours * 0.3), at(hours * 0.3 + 1), 60.0, "test"),
        ],
        columns=names.COVERAGE_COLUMNS,
    )
    calibration = pd.DataFrame(
        [
            (at(hours * 0.3), "HC", "zero_adjust", 0.0, 2.5, 0.0, 2.5, 0.08, pd.NaT),
            (at(hours * 0.31), "HC", "span_check", 50.0, 41.0, np.nan, -9.0, np.nan, at(hours + 9)),
        ],
        columns=names.CALIBRATION_COLUMNS,
    )
    setpoints = pd.DataFrame(
        [
            (gas, level, value, unit, point, np.nan, "rising", pd.NaT, pd.NaT, "table")
            for point in points
            for gas, level, value, unit in (
                ("HC", "low", 20.0, "%LFL"),
                ("HC", "high", 30.0, "%LFL"),
                ("H2S", "low", 5.0, "ppm"),
            )
        ],
        columns=names.SETPOINT_COLUMNS,
    )
    for name in ("start", "end"):
        setpoints[name] = pd.to_datetime(setpoints[name], utc=True)
    grid = START + pd.to_timedelta(np.arange(0, hours, 6), unit="h")
    zeros = pd.DataFrame({"time": grid, "analyser": "", "gas": "HC"})
    zeros["zero"] = np.where(
        np.arange(len(grid)) < 0.3 * len(grid), np.arange(len(grid)) / len(grid) * 8, 0.4
    )
    zeros["low"], zeros["high"] = zeros["zero"] - 0.3, zeros["zero"] + 0.3
    frame = pd.DataFrame(
        {
            "point": points,
            "space": [f"Space {k}" for k in range(len(points))],
            "kind": "ballast",
            "order": np.arange(len(points)) + 1.0,
            "analyser": "",
            "page": [f"p{k:02d}.html" for k in range(len(points))],
            "visits": float(len(visits) // len(points)),
            "background_HC": 1.5,
            "noise_HC": 0.4,
            "clean_flow": 3.0,
            "episodes": [int((episodes["point"] == p).sum()) for p in points],
            "worst": ["nuisance", "gas", "blocked", "gas"] + [""] * (len(points) - 4),
            "headline": [
                "Seven alarms, all of them nuisance; the setpoint is close to the background.",
                "Possible gas: HC rose for 9 h, and the alarm ended when the line was taken off.",
                "This point is not watched: the line is blocked since 14 March.",
                "Vapour from deck came in once; the other alarms have other causes.",
            ]
            + ["No alarm, and watched throughout."] * (len(points) - 4),
            "next_check": ["", "resample", "purge and resample", ""] + [""] * (len(points) - 4),
            "needs_person": [False, True, True, False] + [False] * (len(points) - 4),
        }
    )
    checks = pd.DataFrame(
        [
            ("resample", "resample", "high again", "Gas, or a background: measure by hand."),
            ("resample", "resample", "clean", "A spike or an old sample is likely."),
        ],
        columns=["key", "check", "outcome", "means"],
    )
    probabilities = pd.DataFrame(0.0, index=episodes["episode"], columns=list(CAUSES))
    for key, cause, share in zip(
        episodes["episode"], episodes["cause"], episodes["probability"], strict=True
    ):
        probabilities.loc[key, cause if cause != "undetermined" else "gas"] = share
        probabilities.loc[key, "moisture"] += 1 - share
    readings = readings_of(visits)
    files = pd.DataFrame(
        [
            ("readings.csv", "readings", "plain", len(readings) + 3, len(readings), 2, 1, 0),
            ("alarms/march.csv", "events", "plain", 40, 40, 0, 0, 1),
        ],
        columns=ledger_names.FILE_COLUMNS[:8],
    )
    files["first_time"], files["last_time"] = START, at(hours)
    files["encoding"], files["delimiter"], files["left_out_columns"] = "utf-8", ",", ""
    files["bytes"], files["sha256"] = 12345, ["ab" * 32, "cd" * 32]
    rejected = pd.DataFrame(
        [
            ("readings.csv", 17, "value", "1,2,3", "not a number"),
            ("readings.csv", 40, "time", "<31 Feb>", "not a date"),
        ],
        columns=ledger_names.REJECTED_COLUMNS,
    )
    ledger = Ledger(
        files,
        rejected,
        rejected.iloc[:0],
        learnt=("Times without an offset were read as UTC+3 (site.toml).",),
        warnings=("Point 'WBT 2P' stands in the alarm list only; nearest: 'WBT 2 P'.",),
    )
    logs = Logs(
        readings=readings,
        events=empty(EVENTS),
        operations=operations,
        points=conform(frame[["point", "space", "kind", "order"]], POINTS),
        setpoints=empty(SETPOINTS),
        findings=empty(FINDINGS),
        ledger=ledger,
        site=Site(name="Larch Example", clock=zone, tolerance={"HC": 3.0}),
        clock=ShipClock(zone),
        name="larch-example",
    )
    return Diagnosis(
        logs=logs,
        episodes=episodes,
        conditions=conditions,
        coverage=coverage,
        calibration=calibration,
        ledger=ledger_of(calibration),
        detectors=detectors_of(at(hours)),
        repairs=repairs_of(points, START),
        probabilities=probabilities,
        setpoints=setpoints,
        visits=visits,
        zeros=zeros,
        changes=pd.DataFrame(
            [(at(hours * 0.45), points[2], "conductance", 1.0, 0.4)],
            columns=["time", "point", "series", "before", "after"],
        ),
        points=frame,
        checks=checks,
        weights=pd.DataFrame(
            [("rise", "gas", 12.0, -8.0, "Leaks build up slowly.", "mass balance")],
            columns=["sign", "cause", "present", "absent", "reason", "source"],
        ),
        learnt=("The round takes 20 min.", "Alarms latch until they are reset."),
        cycle_minutes=minutes,
        sign_reader=signs_for,
        findings=pd.DataFrame(
            [
                (at(hours * 0.6), points[1], "HC", "gas", "hatch", "E0008", "gas", "confirmed", 0),
                (at(hours * 0.9), points[1], "", "nothing", "", "E0008", "gas", "no_override", 1),
                (at(hours * 0.5), points[0], "HC", "moisture", "", "E0001", "spike", "refuted", 0),
            ],
            columns=names.FINDING_COLUMNS,
        ).astype({"conflict": bool}),
        record=pd.DataFrame([("gas", 1, 0), ("spike", 0, 1)], columns=names.RECORD_COLUMNS),
        **reckoned(points, hours),
    )


def nothing_at_all() -> Diagnosis:
    """Every frame without a row: the pages must still stand."""
    full = make_diagnosis(days=10, minutes=120)
    logs = Logs(
        readings=empty(READINGS),
        events=empty(EVENTS),
        operations=empty(OPERATIONS),
        points=empty(POINTS),
        setpoints=empty(SETPOINTS),
        findings=empty(FINDINGS),
        ledger=Ledger(
            full.logs.ledger.files.iloc[:0],
            full.logs.ledger.rejected.iloc[:0],
            full.logs.ledger.conflicts,
        ),
    )
    return Diagnosis(
        logs=logs,
        episodes=full.episodes.iloc[:0],
        conditions=full.conditions.iloc[:0],
        coverage=full.coverage.iloc[:0],
        calibration=full.calibration.iloc[:0],
        ledger=full.ledger.iloc[:0],
        detectors=full.detectors.iloc[:0],
        repairs=full.repairs.iloc[:0],
        probabilities=full.probabilities.iloc[:0],
        setpoints=full.setpoints.iloc[:0],
        visits=full.visits.iloc[:0],
        zeros=full.zeros.iloc[:0],
        changes=full.changes.iloc[:0],
        points=full.points.iloc[:0],
        checks=full.checks.iloc[:0],
        weights=full.weights.iloc[:0],
        learnt=(),
        cycle_minutes=float("nan"),
        sign_reader=signs_for,
    )
