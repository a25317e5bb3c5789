"""What is fixed about one simulated ship: its lines, its detectors and its people's habits."""

from __future__ import annotations

from dataclasses import dataclass, field

import pandas as pd


@dataclass(frozen=True)
class PointPlan:
    """One sampling point and the line from it.

    Attributes
    ----------
    name, space, kind, order, length_m, bore_mm, volume_m3, neighbours, analyser
        As in the points table.
    height : str
        ``upper``, ``lower`` or ``single``.
    exposure : float
        Share of the deck's vapour that finds its way to this point [-].
    reference : bool
        The analyser's own cabinet or fresh air.
    """

    name: str
    space: str
    kind: str
    order: int
    length_m: float
    bore_mm: float
    volume_m3: float
    neighbours: tuple[str, ...]
    analyser: str
    height: str = "single"
    exposure: float = 0.2
    reference: bool = False


@dataclass(frozen=True)
class SetpointPlan:
    """One alarm level of one gas; ``point`` blank = all points."""

    gas: str
    level: str
    value: float
    deadband: float
    point: str = ""
    confirm_visits: int = 1
    direction: str = "rising"


@dataclass(frozen=True)
class Habits:
    """How this installation and its crew write things down.

    Attributes
    ----------
    columns : tuple of str
        Optional columns of the readings that exist.
    tables : tuple of str
        Optional tables that exist.
    display_step : dict
        Smallest step of the display, by gas.
    clips_negative : bool
        The display shows no value under zero.
    logging : str
        ``complete``, ``sloppy`` or ``none``: how far the operations log can be trusted.
    latched : bool
        An alarm stands until somebody resets it.
    not_sampled_rows : bool
        A skipped point leaves a row with status ``not_sampled``; else it leaves none.
    stands_still : bool
        The round stands still during a calibration; else it goes on over the points.
    marks_tests : bool
        Readings taken in a test carry the status ``test`` and raise no alarm.
    gauge : str
        ``line`` or ``pump``: on which side of the common filter the suction gauge sits.
    primed : bool
        A by-pass pump keeps all lines moving.
    low_flow_shows : str
        ``sample``: whatever stands in the detector; ``last``: the point's last good value;
        ``fault``: the status ``fault`` and the number.
    time_step_s : int
        Resolution of the logged times [s].
    utc_times : bool
        The files carry UTC with a ``Z``; else ship's time without offset.
    clears_on_disconnect : bool
        Disconnecting a point clears its alarm; else it stays until the next good reading.
    logs_acknowledge : bool
        The alarm list holds acknowledgements and mutes.
    alarm_lag_s : float
        The alarm list's times trail the readings by so much [s].
    repeats_raise : bool
        A standing alarm is raised again now and then.
    names_spaces : bool
        Ballast and ventilation rows name the space instead of a point (the points table tells).
    loses_rows : bool
        The export of the readings has holes of some hours; the analyser had none.
    thin_events : bool
        The alarm list holds neither values nor texts.
    """

    columns: tuple[str, ...]
    tables: tuple[str, ...]
    display_step: dict[str, float]
    clips_negative: bool
    logging: str
    latched: bool
    not_sampled_rows: bool
    stands_still: bool
    marks_tests: bool
    gauge: str
    primed: bool
    low_flow_shows: str
    time_step_s: int
    utc_times: bool
    clears_on_disconnect: bool
    logs_acknowledge: bool
    alarm_lag_s: float = 0.0
    repeats_raise: bool = False
    names_spaces: bool = False
    loses_rows: bool = False
    thin_events: bool = False


@dataclass(frozen=True)
class ShipSettings:
    """Everything that :func:`alarmsift.simulate.ship.simulate` needs.

    Attributes
    ----------
    seed : int
        Of every random number of the run.
    days : float
        Length of the log [d].
    start : Timestamp
        First moment of the log, UTC.
    points : tuple of PointPlan
        In the order of the round.
    gases : tuple of str
        Channels, in the order of the display.
    dwell_s : float
        Time that the analyser spends at one point [s].
    free_flow : float
        Pump with nothing in its way [L/min].
    dead_head : float
        Suction of the pump against a shut valve [kPa].
    lag_s : float
        Time constant of detector and sample cell [s]; with the dwell it makes the carry-over.
    carry_over : float
        Share of the previous sample that stays at a median clean line [-].
    noise : dict
        Standard deviation of one reading, by gas, in the gas's unit.
    sour : float
        H2S beside hydrocarbon in this cargo [ppm per %LFL]; 0 = sweet.
    span_gas : dict
        Cylinder value, by gas, in the gas's unit.
    low_flow_limit : float
        Flow under which the analyser reports a fault [L/min].
    clock : str
        Ship's clock at the start, as ``clock`` of site.toml.
    clock_changes : tuple of (float, float)
        Hours after the start, new offset from UTC [h].
    expected : dict
        Mean number of each fault in 60 days.
    """

    seed: int
    days: float
    start: pd.Timestamp
    name: str
    points: tuple[PointPlan, ...]
    gases: tuple[str, ...]
    setpoints: tuple[SetpointPlan, ...]
    dwell_s: float
    free_flow: float
    dead_head: float
    lag_s: float
    carry_over: float
    noise: dict[str, float]
    sour: float
    span_gas: dict[str, float]
    low_flow_limit: float
    calibration_days: float
    clock: str
    habits: Habits
    clock_changes: tuple[tuple[float, float], ...] = ()
    expected: dict[str, float] = field(default_factory=dict)

    @property
    def analysers(self) -> tuple[str, ...]:
        """Names of the analysers, in order of their first point."""
        return tuple(dict.fromkeys(point.analyser for point in self.points))

    @property
    def spaces(self) -> tuple[str, ...]:
        """Names of the spaces, in order of their first point."""
        return tuple(dict.fromkeys(point.space for point in self.points))

    @property
    def reference_point(self) -> str | None:
        """Name of the first reference point, if there is one."""
        return next((point.name for point in self.points if point.reference), None)
