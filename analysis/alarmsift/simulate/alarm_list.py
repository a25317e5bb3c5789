"""The alarm list as the system and its people leave it, with the answers beside it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd

from alarmsift.simulate.alarms import Episodes
from alarmsift.simulate.crew import answer_delay
from alarmsift.simulate.record import times
from alarmsift.simulate.truth import fault_causes, gas_causes
from alarmsift.simulate.watch import Watch
from alarmsift.simulate.world import OXYGEN_IN_AIR, World
from alarmsift.tables.schema import UNDETERMINED

_ROWS = ["hour", "point", "gas", "event", "level", "state", "value", "text"]
_ANSWERS = ["point", "gas", "level", "kind", "hour", "cause"]
_ACKNOWLEDGED, _MUTED = 0.85, 0.15  # share of alarms; no source
_REPEAT_H = 1.0


@dataclass(frozen=True)
class Alarm:
    """One alarm or fault; hours since the start of the log, ``cleared`` None = still open."""

    kind: str
    point: int
    gas: str
    level: str
    raised: float
    cleared: float | None
    cause: str
    value: float


class AlarmList:
    """The events table and the truth beside it, filled alarm by alarm."""

    def __init__(self, world: World, rng: np.random.Generator) -> None:
        self.world, self.rng = world, rng
        self.rows: list[dict[str, Any]] = []
        self.truth: list[dict[str, Any]] = []

    def add(self, alarm: Alarm) -> float:
        """Write one alarm; return when it is over for the alarm system [h]."""
        habits, end = self.world.settings.habits, self.world.end
        raised = alarm.raised + habits.alarm_lag_s / 3600.0
        if raised >= end:
            return end
        name = self.world.settings.points[alarm.point].name
        base = {"point": name, "gas": alarm.gas, "event": alarm.kind, "level": alarm.level}
        self._row(base, raised, "raised", alarm.value)
        self.truth.append(base | {"kind": alarm.kind, "hour": raised, "cause": alarm.cause})
        acted = raised + answer_delay(self.rng, self.world.clock_hour(raised))
        self._answer(base, acted)
        over = end + 1.0 if alarm.cleared is None else alarm.cleared + habits.alarm_lag_s / 3600.0
        latched = habits.latched and alarm.kind == "alarm"
        if latched:
            over = max(over, acted) + float(self.rng.exponential(0.4))
        if over < end:
            self._row(base, over, "reset" if latched else "cleared")
        if habits.repeats_raise and alarm.kind == "alarm":
            for again in np.arange(raised + _REPEAT_H, min(over, end), _REPEAT_H)[:6].tolist():
                self._row(base, again, "raised")
        return over

    def _answer(self, base: dict[str, Any], acted: float) -> None:
        if not self.world.settings.habits.logs_acknowledge or acted >= self.world.end:
            return
        if self.rng.random() < _ACKNOWLEDGED:
            self._row(base, acted, "acknowledged")
        if self.rng.random() < _MUTED:
            self._row(base, acted + 0.01, "muted")

    def _row(
        self, base: dict[str, Any], hour: float, state: str, value: float | None = None
    ) -> None:
        text = f"{base['point']} {base['gas']} {base['level']}".replace("  ", " ").upper()
        self.rows.append(base | {"hour": hour, "state": state, "value": value, "text": text})

    def table(self) -> pd.DataFrame:
        """Return the events table."""
        frame = pd.DataFrame(self.rows, columns=_ROWS)
        frame = frame.astype({"value": float})
        frame = frame.sort_values("hour", kind="stable", ignore_index=True)
        frame.insert(0, "time", times(self.world, frame.pop("hour").to_numpy(dtype=float)))
        thin = self.world.settings.habits.thin_events
        return frame.drop(columns=["value", "text"]) if thin else frame

    def answers(self) -> pd.DataFrame:
        """Return point, gas, level, kind, raised, cause: a row an episode."""
        frame = pd.DataFrame(self.truth, columns=_ANSWERS)
        frame = frame.sort_values("hour", kind="stable", ignore_index=True)
        frame.insert(4, "raised", times(self.world, frame.pop("hour").to_numpy(dtype=float)))
        return frame


def alarm_list(world: World, watch: Watch, rng: np.random.Generator) -> AlarmList:
    """Return the alarm list of a run."""
    book = AlarmList(world, rng)
    for plan, found in watch.alarms:
        channel = watch.channels[plan.gas]
        causes = gas_causes(world, watch.visits, channel, plan, found)
        _write(world, watch, book, found, causes=causes, shown=channel.shown)
    for found in watch.faults:
        _write(world, watch, book, found, causes=fault_causes(watch.flows, found), shown=None)
    for alarm in _phantoms(world, rng) + _detector_faults(world, watch):
        book.add(alarm)
    return book


def _write(  # noqa: PLR0913  (one kind of alarm)
    world: World,
    watch: Watch,
    book: AlarmList,
    found: Episodes,
    *,
    causes: np.ndarray,
    shown: np.ndarray | None,
) -> None:
    """Write the alarms of one kind in order; a latched alarm swallows the next ones."""
    visits = watch.visits
    over: dict[int, float] = {}
    for i in np.argsort(visits.hour[found.raised], kind="stable").tolist():
        up, down = int(found.raised[i]), int(found.cleared[i])
        point, raised = int(visits.point[up]), float(visits.hour[up])
        if raised < over.get(point, -1.0):
            continue
        over[point] = book.add(
            Alarm(
                kind="fault" if shown is None else "alarm",
                point=point,
                gas=found.gas,
                level=found.level,
                raised=raised,
                cleared=float(visits.hour[down]) if down >= 0 else _unplugged(world, point, raised),
                cause=str(causes[i]),
                value=float("nan") if shown is None else float(shown[up]),
            )
        )


def _unplugged(world: World, point: int, raised: float) -> float | None:
    """Return when the point is unplugged after a raise [h], if that clears alarms here."""
    if not world.settings.habits.clears_on_disconnect:
        return None
    row = int(world.cell(raised))
    later = ~world.connected[row:, point]
    return float(world.hours[row + int(np.argmax(later))]) if later.any() else None


def _phantoms(world: World, rng: np.random.Generator) -> list[Alarm]:
    """Return alarms that no reading explains; no cause of the list fits them."""
    return [
        Alarm(
            kind="alarm",
            point=point,
            gas=gas,
            level=level,
            raised=hour,
            cleared=hour + float(rng.uniform(0.02, 0.5)),
            cause=UNDETERMINED,
            value=_as_shown(gas, world.setpoint(gas, level)),
        )
        for hour, point, gas, level in world.phantoms
    ]


def _as_shown(gas: str, danger: float) -> float:
    return OXYGEN_IN_AIR - danger if gas == "O2" else danger


def _detector_faults(world: World, watch: Watch) -> list[Alarm]:
    """Return a ``detector`` fault, at the point in turn, for every stretch without a number."""
    out: list[Alarm] = []
    gas = world.settings.gases[0]
    for analyser in range(len(world.settings.analysers)):
        mine = np.flatnonzero(watch.visits.analyser == analyser)
        bad = watch.channels[gas].faulty[mine].astype(np.int8)
        edges = np.diff(np.concatenate([[0], bad, [0]]))
        for up, down in zip(np.flatnonzero(edges > 0), np.flatnonzero(edges < 0), strict=True):
            still = down >= len(mine)
            out.append(
                Alarm(
                    kind="fault",
                    point=int(watch.visits.point[mine[up]]),
                    gas="",
                    level="detector",
                    raised=float(watch.visits.hour[mine[up]]),
                    cleared=None if still else float(watch.visits.hour[mine[down]]),
                    cause=UNDETERMINED,
                    value=float("nan"),
                )
            )
    return out
