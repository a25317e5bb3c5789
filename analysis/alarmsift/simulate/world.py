"""The ship while it is being simulated: what is true, on a grid of five minutes.

Faults and people write into it; nothing here is ever seen by a reader of the logs.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

import numpy as np

from alarmsift.simulate.sample_line import clean_resistance, line_volume
from alarmsift.simulate.settings import ShipSettings

STEP_H = 1.0 / 12.0
UNEVEN = 0.02  # of a reading: gas in a space is never quite even [-]; no source
OXYGEN_IN_AIR = 20.9  # [%vol] as displays show it


@dataclass(frozen=True)
class GasTest:
    """Cylinder gas (or zero air) on the analyser; ``values`` by gas, O2 as a deficit."""

    analyser: int
    start: float
    end: float
    values: dict[str, float]
    documented: bool


@dataclass(frozen=True)
class Spike:
    """A disturbance of one display at the first visit of the point after ``hour``."""

    hour: float
    point: int
    gas: str
    amount: float


@dataclass(frozen=True)
class SetpointMove:
    """A setpoint that stands elsewhere from ``start`` to ``end``; point -1 = all."""

    start: float
    end: float
    point: int
    gas: str
    level: str
    value: float
    logged: bool


@dataclass(frozen=True)
class Mute:
    """Alarms of a point and gas that are never raised between two hours."""

    start: float
    end: float
    point: int
    gas: str


@dataclass
class World:
    """State of one ship; grids have shape (n, points), (n, spaces) or (n, analysers).

    Hours count from the start of the log. O2 is held as the deficit under clean air, so that every
    channel rises with danger.
    """

    settings: ShipSettings
    rng: np.random.Generator
    hours: np.ndarray
    blockage: np.ndarray
    head: np.ndarray
    leak: np.ndarray
    leak_place: np.ndarray  # (points,)
    flushed: np.ndarray  # share of the line that holds blow-back air: (n, points)
    connected: np.ndarray
    skipped: np.ndarray
    known_open: np.ndarray  # spaces that stay disconnected though empty: (n, points)
    level: np.ndarray  # ballast, share of the space: (n, spaces)
    air_changes: np.ndarray
    pump: np.ndarray
    filter_factor: np.ndarray
    wet_trap: np.ndarray
    stopped: np.ndarray  # bool (n, analysers)
    extra_carry: np.ndarray
    deck: np.ndarray  # (n,) vapour on deck [%LFL]
    deck_clear: np.ndarray  # (n,) hours since vapour was last made on deck
    sea: np.ndarray
    air_temp: np.ndarray
    air_humidity: np.ndarray
    cargo: np.ndarray
    source: dict[str, np.ndarray]
    local: dict[str, np.ndarray]
    residue: dict[str, np.ndarray]
    damp: dict[str, np.ndarray]
    slug: dict[str, np.ndarray]
    wet_optics: dict[str, np.ndarray]
    zero_walk: dict[str, np.ndarray]
    sensitivity: dict[str, np.ndarray]
    faulty: dict[str, np.ndarray]
    ambient_trap_h: np.ndarray  # (points,) how long deck vapour lingers there [h]
    # (hour, analyser, gas, "zero" | "span", what is left wrong)
    adjustments: list[tuple[float, int, str, str, float]] = field(default_factory=list)
    checks: list[dict[str, Any]] = field(default_factory=list)
    tests: list[GasTest] = field(default_factory=list)
    resamples: list[tuple[float, int]] = field(default_factory=list)
    spikes: list[Spike] = field(default_factory=list)
    moves: list[SetpointMove] = field(default_factory=list)
    mutes: list[Mute] = field(default_factory=list)
    phantoms: list[tuple[float, int, str, str]] = field(default_factory=list)
    holes: list[tuple[float, float]] = field(default_factory=list)  # rows lost by the export
    operations: list[dict[str, Any]] = field(default_factory=list)
    stories: list[dict[str, Any]] = field(default_factory=list)

    @property
    def n(self) -> int:
        """Number of grid steps."""
        return len(self.hours)

    @property
    def end(self) -> float:
        """Length of the log [h]."""
        return float(self.settings.days * 24.0)

    @property
    def round_h(self) -> float:
        """Time of one round with every point plugged in [h]."""
        most = max(
            sum(p.analyser == name for p in self.settings.points)
            for name in self.settings.analysers
        )
        return self.settings.dwell_s * most / 3600.0

    @property
    def clock_offset(self) -> float:
        """Ship's hour of the day at the start of the log [h]."""
        start = self.settings.start
        text = self.settings.clock.removeprefix("UTC")
        return float(start.hour + start.minute / 60.0 + (float(text) if text else 0.0))

    @property
    def clock_days(self) -> np.ndarray:
        """Days by the ship's clock over the grid, shape (n,); whole = midnight."""
        return np.asarray((self.hours + self.clock_offset) / 24.0)

    def clock_hour(self, hour: float) -> float:
        """Return the hour of the ship's day of an hour of the log."""
        return float((hour + self.clock_offset) % 24.0)

    def in_working_hours(self, hour: float, first: float = 8.0, last: float = 16.0) -> float:
        """Return a random hour of the log on the same ship's day between two of its hours."""
        midnight = hour - self.clock_hour(hour)
        return float(midnight + self.rng.uniform(first, last))

    def cell(self, hour: float | np.ndarray) -> Any:
        """Return the grid row of hour(s), floored and kept on the grid."""
        return np.clip(np.floor(np.asarray(hour) / STEP_H + 1e-9), 0, self.n - 1).astype(np.int64)

    def span(self, start: float, end: float) -> slice:
        """Return the grid rows from ``start`` to ``end`` [h], at least one."""
        first = int(self.cell(start))
        return slice(first, max(first + 1, int(self.cell(end))))

    def since(self, hour: float) -> np.ndarray:
        """Return hours since ``hour`` over the grid, shape (n,); negative before."""
        return np.asarray(self.hours - hour)

    def log(self, hour: float, action: str, point: str = "", **cells: Any) -> None:
        """Write what happened into the (still perfect) operations log."""
        self.operations.append({"hour": hour, "action": action, "point": point, **cells})

    def story(self, name: str, start: float, end: float, points: list[int], note: str = "") -> None:
        """Keep what was put in, for tests and for choosing demonstrations."""
        names = [self.settings.points[point].name for point in points]
        self.stories.append(
            {"story": name, "start": start, "end": end, "points": " ".join(names), "note": note}
        )

    def pick_hour(self, duration: float = 12.0) -> float:
        """Return a random start that leaves ``duration`` [h] where the log is long enough."""
        return float(self.rng.uniform(4.0, max(8.0, self.end - duration)))

    def points_where(self, hour: float, *kinds: str, duration: float = 3.0) -> list[int]:
        """Return sampled points (reference points left out) that stay connected for a while."""
        rows = self.span(hour, hour + duration)
        seen = self.connected[rows] & ~self.skipped[rows]
        alive: np.ndarray = np.asarray(seen.all(axis=0))
        plans = self.settings.points
        return [
            i
            for i, plan in enumerate(plans)
            if alive[i] and not plan.reference and (not kinds or plan.kind in kinds)
        ]

    def pick_point(self, hour: float, *kinds: str, duration: float = 3.0) -> int | None:
        """Return a random connected point of these kinds, or None."""
        found = self.points_where(hour, *kinds, duration=duration)
        found = found or self.points_where(hour, duration=duration)
        return int(self.rng.choice(found)) if found else None

    def setpoint(self, gas: str, level: str = "low", point: str = "") -> float:
        """Return a setpoint as fitted; O2 as a deficit."""
        plans = [p for p in self.settings.setpoints if p.gas == gas]
        own = [p for p in plans if p.point == point and point] or [p for p in plans if not p.point]
        plan = next((p for p in own if p.level == level), own[0] if own else None)
        if plan is None:
            return float("inf")
        return OXYGEN_IN_AIR - plan.value if plan.direction == "falling" else plan.value

    def space_of(self, point: int) -> int:
        """Return the number of the space that a point samples."""
        return self.settings.spaces.index(self.settings.points[point].space)

    def points_of(self, space: int) -> list[int]:
        """Return the points in a space."""
        name = self.settings.spaces[space]
        return [i for i, plan in enumerate(self.settings.points) if plan.space == name]

    def analyser_of(self, point: int) -> int:
        """Return the number of the analyser that a point belongs to."""
        return self.settings.analysers.index(self.settings.points[point].analyser)


def build(settings: ShipSettings, rng: np.random.Generator) -> World:
    """Return a ship at rest: clean lines, clean air, everything connected."""
    n = int(np.ceil(settings.days * 24.0 / STEP_H)) + 1
    points, spaces, analysers = (
        len(settings.points),
        len(settings.spaces),
        len(settings.analysers),
    )
    gases = settings.gases

    def grid(width: int, value: float = 0.0) -> np.ndarray:
        return np.full((n, width), value, dtype=np.float32)

    def by_gas(width: int) -> dict[str, np.ndarray]:
        return {gas: grid(width) for gas in gases}

    return World(
        settings=settings,
        rng=rng,
        hours=np.arange(n) * STEP_H,
        blockage=grid(points, 1.0),
        head=grid(points),
        leak=grid(points),
        leak_place=np.full(points, 0.5),
        flushed=grid(points),
        connected=np.ones((n, points), dtype=bool),
        skipped=np.zeros((n, points), dtype=bool),
        known_open=np.zeros((n, points), dtype=bool),
        level=grid(spaces),
        air_changes=grid(spaces, 0.03),
        pump=grid(analysers, 1.0),
        filter_factor=grid(analysers, 1.0),
        wet_trap=grid(analysers),
        stopped=np.zeros((n, analysers), dtype=bool),
        extra_carry=np.zeros(n),
        deck=np.zeros(n),
        deck_clear=np.full(n, 999.0),
        sea=np.zeros(n),
        air_temp=np.full(n, 20.0),
        air_humidity=np.full(n, 70.0),
        cargo=np.zeros(n, dtype=bool),
        source=by_gas(spaces),
        local=by_gas(points),
        residue=by_gas(points),
        damp=by_gas(points),
        slug=by_gas(points),
        wet_optics=by_gas(analysers),
        zero_walk=by_gas(analysers),
        sensitivity={gas: grid(analysers, 1.0) for gas in gases},
        faulty={gas: np.zeros((n, analysers), dtype=bool) for gas in gases},
        ambient_trap_h=np.full(points, 0.5),
    )


def line_figures(settings: ShipSettings) -> tuple[np.ndarray, np.ndarray]:
    """Return clean resistance [kPa per L/min] and swept volume [L] of every line, shape (p,)."""
    length = np.array([plan.length_m for plan in settings.points])
    bore = np.array([plan.bore_mm for plan in settings.points])
    # With a by-pass pump only the last stretch inside the cabinet has to be swept in the dwell.
    share = 0.15 if settings.habits.primed else 1.0
    return clean_resistance(length, bore), line_volume(length, bore) * share
