"""What a diagnosis hands on to reports and programs: frames only, nothing left to compute."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

import pandas as pd

from alarmsift.tables.logs import Logs

EPISODE_COLUMNS = [
    "episode",  # E0001, ... in order of time raised
    "point",
    "gas",  # blank for faults
    "level",  # low, high, ...; the fault's name for faults
    "kind",  # alarm, fault
    "raised",
    "cleared",  # NaT = still open
    "acknowledged",
    "ended_by",
    "minutes",  # raised to cleared, or to the last row of the logs when still open
    "peak",  # the value furthest past the setpoint
    "unit",
    "bout",  # B0001, ...
    "cause",
    "probability",
    "p_gas",
    "runner_up",
    "treat_as",  # gas, nuisance, unresolved, unwatched
    "why",
    "next_check",
]
NOT_SETTLED = " Not settled: "  # in ``why``, before the reason of an unresolved alarm
CONDITION_COLUMNS = ["point", "condition", "start", "end", "probability", "why", "next_check"]
COVERAGE_COLUMNS = ["point", "start", "end", "minutes", "reason"]
CALIBRATION_COLUMNS = [
    "time",
    "gas",
    "check",
    "reference",
    "as_found",
    "as_left",
    "error",
    "drift_per_day",
    "due",
]
LEDGER_COLUMNS = [
    *CALIBRATION_COLUMNS,
    "analyser",  # the one that the note names; blank = none
    "kind",  # zero, span
    "unit",
    "tolerance",  # how far off it may be found or left
    "reference_true",  # the reference on the ship's own %LFL basis
    "true_error",  # as found or as left, less that
    "sensitivity",  # share of the span gas shown, the zero of the same round taken out
    "verdict",  # within, out, not_valid (cylinder out of date, basis not settled), unknown
    "late_days",  # how long it was overdue; blank = in time
    "held",  # of adjustments: held, did_not_hold, too_early
    "held_days",  # to the first time out of tolerance, or to the last time seen within
    "why",
]
DETECTOR_COLUMNS = [
    "detector",  # HC, or HC (aft) where there are several analysers
    "analyser",
    "gas",
    "kind",  # zero, span
    "unit",  # of tolerance, level and slope; % (of the span gas) for the span
    "tolerance",
    "checks",  # rows in the logs
    "out",  # checks that found it out of tolerance
    "not_held",  # adjustments that did not hold
    "last_check",
    "due",  # NaT = no check in the logs
    "overdue_days",  # at the last row of the logs; blank = not overdue
    "slope",  # unit a day, between adjustments only
    "slope_low",
    "slope_high",
    "pairs",  # pairs of values that the slope rests on
    "level",  # where it stands at the last row of the logs
    "forecast",  # passed, expected, no_finite_end, beyond, no_data
    "crosses",  # the day on which the tolerance is reached if it goes on so
    "crosses_low",
    "crosses_high",
    "confidence",  # of the intervals
    "basis",  # readings, checks: what the slope and the forecast rest on
    "why",
]
REPAIR_COLUMNS = [
    "repair",  # R0001, ... in order of time
    "time",
    "point",  # blank = the whole ship
    "gas",  # blank = any
    "action",  # purge, drain, zero_adjust, span_adjust, maintenance, setpoint
    "note",
    "days_before",  # watched
    "alarms_before",
    "days_after",
    "alarms_after",
    "per_day_before",
    "per_day_after",
    "ratio",  # alarms a day after, over before; blank = none before
    "ratio_low",
    "ratio_high",  # blank = no upper end
    "line_before",  # flow over suction against its own clean value
    "line_after",
    "line_ratio",
    "line_ratio_low",
    "line_ratio_high",
    "confidence",  # of the intervals
    "outcome",  # held, came_back, too_early, no_trouble
    "days_to_return",
    "also",  # other work on the same in the time compared
    "why",
]
CHANGE_COLUMNS = [
    "time",
    "point",  # or the detector: detector HC
    "series",  # shared zero, line
    "before",
    "after",
]
SIGN_COLUMNS = [
    "sign",  # key: file name in alarmsift/signs
    "title",  # what is measured, in words
    "answer",  # present, absent, undecided, no data
    "words",  # the sentence for the reader, with the figures in it
    "measure",
    "unit",
    "for_cause",  # decibans for (or against, negative) the verdict's cause
    "for_gas",  # decibans for (or against) gas
    "speaks_for",  # the cause that it supports most; blank when it supports none
    "source_file",
    "first_row",
    "last_row",
]
FINDING_COLUMNS = [
    "time",
    "point",
    "gas",
    "found",  # as written
    "note",
    "episodes",  # the alarms that it reaches, space-separated; blank = none
    "verdict",  # the cause that the signs had named for the last of them
    "outcome",  # confirmed, refuted, named (there was no verdict), no_override, no_alarm, not_read
    "conflict",  # whether the signs do not rule gas out where something harmless was found
]
RECORD_COLUMNS = ["cause", "confirmed", "refuted"]
POSSIBLE_GAS_COLUMNS = [
    "bouts",  # bouts of one point and gas that stood at the same time, space-separated
    "point",
    "gas",
    "unit",
    "treat_as",
    "p_gas",
    "raised",
    "claim",  # range, at least (only growth_low is said), none
    "rise_start",
    "rise_end",
    "visits",
    "growth",  # unit an hour, mean from rise_start to rise_end
    "growth_low",  # 90 % range
    "growth_high",
    "high_setpoint",  # the highest setpoint of the point and gas
    "high_seen",  # the first reading there; blank = none
    "earliest_high",  # the earliest time there at growth_high; never time to spare
    "volume_m3",
    "inflow_low",  # L/min of vapour; blank = not told, inflow_why says why
    "inflow_high",
    "air_changes_low",  # 1/h; only where the rise was watched for over one time constant
    "air_changes_high",
    "rose_first",  # several points when their order can't be told
    "pair",  # what the other points of the space did
    "neighbours",  # what the points of the spaces next to it did
    "inflow_why",
    "why",
]
RULE_COLUMNS = [
    "rule",  # key: file name in alarmsift/rules
    "title",
    "outcome",  # met, not_met, not_decidable
    "where",  # points or detectors at which it is not met, comma-separated
    "why",
    "source",
]
ALARM_LOAD_COLUMNS = [
    "metric",
    "title",
    "unit",
    "all",  # over all alarms and faults
    "without_nuisance",  # with those left out that are to be treated as nuisance
    "guide",  # published figure to compare with, as a sentence; blank = none
    "source",
]
ALARM_TAG_COLUMNS = [
    "point",
    "gas",
    "level",
    "raises",  # how often it was raised
    "share",  # of all raises
    "nuisance",  # how many are to be treated as nuisance
    "chatter_index",  # 1/visit, mean of 1/r over the run lengths r between raises
    "chattering",  # three raises within six visits, at least once
    "standing",  # alarms of over 24 h
]
WEIGHT_COLUMNS = [
    "sign",  # prior = how common the cause is before any sign is read
    "cause",
    "present",  # decibans
    "absent",
    "reason",
    "source",
]
SETPOINT_COLUMNS = [
    "gas",
    "level",
    "value",
    "unit",
    "point",  # always filled: a row a point
    "deadband",
    "direction",
    "start",  # NaT = from the first row of the logs
    "end",  # NaT = to the last row
    "source",  # table, site.toml, operations, inferred
]


@dataclass(frozen=True)
class WeightsChange:
    """The user's own weights of evidence: ``name`` of the file, never a path.

    ``rows`` is how many rows differ from the built-in table.
    """

    name: str
    rows: int


@dataclass(frozen=True)
class Diagnosis:
    """The outcome of one run.

    Attributes
    ----------
    logs : Logs
        What was read.
    episodes, conditions, coverage, calibration : DataFrame
        Columns as named in this module; times UTC; sorted as the files show them.
    probabilities : DataFrame, index episode, a column a cause
        Posterior of each cause (cells outside a fault episode's or alarm's causes are 0).
    setpoints : DataFrame
        SETPOINT_COLUMNS: what was in force at each point.
    visits : DataFrame
        A row a visit in order of time: ``time``, ``point``, ``analyser``, ``flow`` [L/min],
        ``suction`` [kPa], ``flow_share`` (flow over this line's clean flow), ``conductance``
        (flow/suction over its clean value, common changes taken out: 0.5 = twice the clean
        resistance), and for each gas ``<gas>`` (value), ``<gas>_status`` and ``<gas>_excess``
        (value less shared zero and own background).
    zeros : DataFrame
        ``time``, ``analyser``, ``gas``, ``zero``, ``low``, ``high``: the shared zero.
    changes : DataFrame
        CHANGE_COLUMNS: change-points.
    points : DataFrame, a row a point
        ``point``, ``space``, ``kind``, ``order``, ``analyser``, ``page`` (file name of its page),
        ``visits``, ``background_<gas>``, ``noise_<gas>``, ``clean_flow``, ``episodes``,
        ``worst`` (its most serious treat_as or condition), ``headline`` (one sentence),
        ``next_check``, ``needs_person`` (bool).
    checks : DataFrame
        For each episode's ``next_check``: ``key``, ``check`` (its words), ``outcome``, ``means``:
        what each outcome of a check would mean.
    weights : DataFrame
        WEIGHT_COLUMNS: the weights in force, sorted by sign and cause.
    learnt : tuple of str
        What was learnt or assumed about this installation, as sentences.
    cycle_minutes : float
        Median time of one round [min].
    sign_reader : callable
        Behind :meth:`signs`.
    findings : DataFrame
        FINDING_COLUMNS: what engineers found and what came of it.
    record : DataFrame, a row a cause that findings could judge
        RECORD_COLUMNS: how many verdicts (bouts) of each cause findings confirmed and how many
        they refuted, from the verdicts before any finding was applied.
    weights_change : WeightsChange or None
        The user's own weights that were put in; None when all are built in.
    ledger : DataFrame
        LEDGER_COLUMNS: ``calibration``, row by row, with what is to be said of each.
    detectors : DataFrame, a row a detector and kind of check
        DETECTOR_COLUMNS: when the next check is due and when the tolerance will be reached.
    repairs : DataFrame, a row a repair
        REPAIR_COLUMNS: what each purge, drain, adjustment, maintenance and change of setpoint did.
    possible_gas : DataFrame, a row a rise
        POSSIBLE_GAS_COLUMNS: growth, inflow and what the points near by did, as ranges.
    rules : DataFrame, a row a rule
        RULE_COLUMNS: what the logs show of published rules; help to checking, no certificate.
    alarm_load : DataFrame, a row a metric
        ALARM_LOAD_COLUMNS: published measures of alarm load, with and without nuisance.
    alarm_tags : DataFrame, a row an alarm (point, gas, level)
        ALARM_TAG_COLUMNS, the most frequent first.
    """

    logs: Logs
    episodes: pd.DataFrame
    conditions: pd.DataFrame
    coverage: pd.DataFrame
    calibration: pd.DataFrame
    probabilities: pd.DataFrame
    setpoints: pd.DataFrame
    visits: pd.DataFrame
    zeros: pd.DataFrame
    points: pd.DataFrame
    checks: pd.DataFrame
    weights: pd.DataFrame
    learnt: tuple[str, ...]
    cycle_minutes: float
    sign_reader: Callable[[str], pd.DataFrame]
    findings: pd.DataFrame = field(default_factory=lambda: pd.DataFrame(columns=FINDING_COLUMNS))
    record: pd.DataFrame = field(default_factory=lambda: pd.DataFrame(columns=RECORD_COLUMNS))
    weights_change: WeightsChange | None = None
    ledger: pd.DataFrame = field(default_factory=lambda: pd.DataFrame(columns=LEDGER_COLUMNS))
    detectors: pd.DataFrame = field(default_factory=lambda: pd.DataFrame(columns=DETECTOR_COLUMNS))
    changes: pd.DataFrame = field(default_factory=lambda: pd.DataFrame(columns=CHANGE_COLUMNS))
    repairs: pd.DataFrame = field(default_factory=lambda: pd.DataFrame(columns=REPAIR_COLUMNS))
    possible_gas: pd.DataFrame = field(
        default_factory=lambda: pd.DataFrame(columns=POSSIBLE_GAS_COLUMNS)
    )
    rules: pd.DataFrame = field(default_factory=lambda: pd.DataFrame(columns=RULE_COLUMNS))
    alarm_load: pd.DataFrame = field(
        default_factory=lambda: pd.DataFrame(columns=ALARM_LOAD_COLUMNS)
    )
    alarm_tags: pd.DataFrame = field(
        default_factory=lambda: pd.DataFrame(columns=ALARM_TAG_COLUMNS)
    )

    def signs(self, episode: str) -> pd.DataFrame:
        """Return the evidence behind one episode's verdict, the heaviest first.

        Parameters
        ----------
        episode : str
            Key in ``episodes.episode``.

        Returns
        -------
        DataFrame
            SIGN_COLUMNS, a row a sign.

        Raises
        ------
        KeyError
            When there is no such episode.
        """
        return self.sign_reader(episode)
