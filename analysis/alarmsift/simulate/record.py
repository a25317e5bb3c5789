"""From a run to the canonical tables: readings, the alarm list, and the answers beside it."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd

from alarmsift.simulate.alarms import Episodes, blocked_by_test
from alarmsift.simulate.crew import answer_delay
from alarmsift.simulate.sampling import RANGE
from alarmsift.simulate.settings import SetpointPlan
from alarmsift.simulate.truth import fault_causes, gas_causes
from alarmsift.simulate.watch import Watch
from alarmsift.simulate.world import World
from alarmsift.tables.schema import GAS_UNITS

_FLOW_STEP, _SUCTION_STEP = 0.1, 0.1


def times(world: World, hours: np.ndarray) -> pd.DatetimeIndex:
    """Return UTC times of hours since the start, at the log's resolution; shape kept."""
    step = world.settings.habits.time_step_s
    seconds = np.round(np.asarray(hours, dtype=float) * 3600.0 / step) * step
    micros = (seconds * 1e6).astype("int64").astype("timedelta64[us]")
    start = world.settings.start.tz_convert("UTC").tz_localize(None).to_datetime64()
    return pd.DatetimeIndex(start.astype("datetime64[us]") + micros).tz_localize("UTC")


def readings(world: World, watch: Watch, rng: np.random.Generator) -> pd.DataFrame:
    """Return the readings table, a row a visit and gas."""
    settings, visits = world.settings, watch.visits
    names = np.array([p.name for p in settings.points])
    humid = np.clip(
        world.air_humidity[visits.cell]
        + 4.0 * _damp(world, watch)
        + rng.normal(0, 1.5, len(visits.hour)),
        5.0,
        100.0,
    )
    shared: dict[str, Any] = {
        "time": times(world, visits.hour),
        "point": names[visits.point],
        "flow": _steps(watch.flows.flow * rng.normal(1.0, 0.012, len(humid)), _FLOW_STEP),
        "suction": _steps(watch.flows.suction * rng.normal(1.0, 0.01, len(humid)), _SUCTION_STEP),
        "temperature": _steps(world.air_temp[visits.cell] + rng.normal(0, 0.3, len(humid)), 0.1),
        "humidity": _steps(humid, 1.0),
        "analyser": np.array(settings.analysers)[visits.analyser],
    }
    frames = []
    for rank, gas in enumerate(settings.gases):
        frame = pd.DataFrame(shared)
        frame["gas"] = gas
        frame["value"], frame["status"] = _shown(world, watch, gas)
        frame["unit"] = GAS_UNITS[gas]
        frame["_rank"], frame["_hour"] = rank, visits.hour
        frames.append(frame)
    frames += _not_sampled(world, watch, names)
    out = pd.concat(frames, ignore_index=True)
    out = out.sort_values(["_hour", "point", "_rank"], kind="stable", ignore_index=True)
    keep = ["time", "point", "gas", "value", *_ordered(settings.habits.columns)]
    return out[keep]


def _ordered(columns: tuple[str, ...]) -> list[str]:
    order = ("unit", "status", "flow", "suction", "temperature", "humidity", "analyser")
    return [name for name in order if name in columns]


def _damp(world: World, watch: Watch) -> np.ndarray:
    cell, point = watch.visits.cell, watch.visits.point
    return np.asarray(world.damp["HC"][cell, point], dtype=float)


def _steps(values: np.ndarray, step: float) -> np.ndarray:
    return np.asarray(np.round(np.maximum(np.round(values / step) * step, 0.0), 3))


def _shown(world: World, watch: Watch, gas: str) -> tuple[np.ndarray, np.ndarray]:
    habits, visits, channel = world.settings.habits, watch.visits, watch.channels[gas]
    value = channel.shown.copy()
    status = np.where(channel.over, "over_range", "ok").astype(object)
    if habits.low_flow_shows == "fault":
        status[watch.flows.flow < world.settings.low_flow_limit] = "fault"
    status[blocked_by_test(world, visits)] = "test"
    status[channel.faulty] = "fault"
    if "status" in habits.columns:
        value = np.where(channel.faulty, np.nan, value)
    else:
        value = np.where(channel.faulty, 0.0, np.minimum(value, RANGE[gas]))
    return value, status


def _not_sampled(world: World, watch: Watch, names: np.ndarray) -> list[pd.DataFrame]:
    idle = watch.turns.where(~watch.turns.sampled)
    if not len(idle.hour) or "status" not in world.settings.habits.columns:
        return []
    frames = []
    for rank, gas in enumerate(world.settings.gases):
        frame = pd.DataFrame({"time": times(world, idle.hour), "point": names[idle.point]})
        frame["gas"], frame["value"], frame["status"] = gas, np.nan, "not_sampled"
        frame["unit"] = GAS_UNITS[gas]
        frame["analyser"] = np.array(world.settings.analysers)[idle.analyser]
        frame["_rank"], frame["_hour"] = rank, idle.hour
        frames.append(frame)
    return frames


class AlarmList:
    """The events table and the truth beside it, filled episode by episode."""

    def __init__(self, world: World, rng: np.random.Generator) -> None:
        self.world, self.rng = world, rng
        self.rows: list[dict[str, Any]] = []
        self.truth: list[dict[str, Any]] = []

    def add(  # noqa: PLR0913  (one alarm)
        self,
        *,
        kind: str,
        point: int,
        gas: str,
        level: str,
        raised: float,
        cleared: float | None,
        cause: str,
        value: float,
    ) -> float:
        """Write one episode; return when it is over for the alarm system [h]."""
        name = self.world.settings.points[point].name
        base = {"point": name, "gas": gas, "event": kind, "level": level}
        self._row(base, raised, "raised", value)
        self.truth.append(base | {"kind": kind, "hour": raised, "cause": cause})
        acted = raised + answer_delay(self.rng, (self.world.settings.start.hour + raised) % 24.0)
        if self.world.settings.habits.logs_acknowledge and acted < self.world.end:
            if self.rng.random() < 0.85:
                self._row(base, acted, "acknowledged")
            if self.rng.random() < 0.15:
                self._row(base, acted + 0.01, "muted")
        over = self.world.end + 1.0 if cleared is None else cleared
        if self.world.settings.habits.latched and kind == "alarm":
            over = max(over, acted) + float(self.rng.exponential(0.4))
            if over < self.world.end:
                self._row(base, over, "reset")
        elif over < self.world.end:
            self._row(base, over, "cleared")
        return over

    def _row(
        self, base: dict[str, Any], hour: float, state: str, value: float | None = None
    ) -> None:
        text = f"{base['point']} {base['gas']} {base['level']}".replace("  ", " ").upper()
        self.rows.append(base | {"hour": hour, "state": state, "value": value, "text": text})

    def table(self) -> pd.DataFrame:
        """Return the events table."""
        frame = pd.DataFrame(
            self.rows,
            columns=["hour", "point", "gas", "event", "level", "state", "value", "text"],
        ).sort_values("hour", kind="stable", ignore_index=True)
        frame.insert(0, "time", times(self.world, frame.pop("hour").to_numpy(dtype=float)))
        return frame

    def answers(self) -> pd.DataFrame:
        """Return point, gas, level, kind, raised, cause: a row an episode."""
        frame = pd.DataFrame(
            self.truth, columns=["point", "gas", "level", "kind", "hour", "cause"]
        ).sort_values("hour", kind="stable", ignore_index=True)
        frame.insert(4, "raised", times(self.world, frame.pop("hour").to_numpy(dtype=float)))
        return frame


def alarm_list(world: World, watch: Watch, rng: np.random.Generator) -> AlarmList:
    """Return the alarm list of a run."""
    book = AlarmList(world, rng)
    for plan, found in watch.alarms:
        _write_gas(world, watch, book, plan, found)
    for found in watch.faults:
        _write(
            world, watch, book, found, fault_causes(watch.flows, found), kind="fault", shown=None
        )
    names = [p.name for p in world.settings.points]
    for hour, point, gas, level in world.phantoms:
        if hour < world.end and point < len(names):
            book.add(
                kind="alarm",
                point=point,
                gas=gas,
                level=level,
                raised=hour,
                cleared=hour + float(rng.uniform(0.02, 0.5)),
                cause="undetermined",
                value=world.setpoint(gas, level),
            )
    return book


def _write_gas(
    world: World, watch: Watch, book: AlarmList, plan: SetpointPlan, found: Episodes
) -> None:
    channel = watch.channels[plan.gas]
    causes = gas_causes(world, watch.visits, channel, plan, found)
    _write(world, watch, book, found, causes, kind="alarm", shown=channel.shown)


def _write(  # noqa: PLR0913  (one kind of alarm)
    world: World,
    watch: Watch,
    book: AlarmList,
    found: Episodes,
    causes: np.ndarray,
    *,
    kind: str,
    shown: np.ndarray | None,
) -> None:
    visits = watch.visits
    over: dict[int, float] = {}
    order = np.argsort(visits.hour[found.raised], kind="stable")
    for i in order.tolist():
        up, down = int(found.raised[i]), int(found.cleared[i])
        point, raised = int(visits.point[up]), float(visits.hour[up])
        if raised < over.get(point, -1.0):
            continue  # still latched
        cleared = float(visits.hour[down]) if down >= 0 else _unplugged(world, point, raised)
        value = float(shown[up]) if shown is not None else float("nan")
        over[point] = book.add(
            kind=kind,
            point=point,
            gas=found.gas,
            level=found.level,
            raised=raised,
            cleared=cleared,
            cause=str(causes[i]),
            value=value,
        )


def _unplugged(world: World, point: int, raised: float) -> float | None:
    """Return when the point is unplugged after a raise [h], if that clears alarms here."""
    if not world.settings.habits.clears_on_disconnect:
        return None
    later = ~world.connected[int(world.cell(raised)) :, point]
    if not later.any():
        return None
    return float(world.hours[int(world.cell(raised)) + int(np.argmax(later))])
