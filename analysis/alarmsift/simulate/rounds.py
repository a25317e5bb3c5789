"""The analyser's round: which point is looked at when."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from alarmsift.simulate.world import STEP_H, World


@dataclass(frozen=True)
class Visits:
    """Every turn of every analyser, in order of analyser and time; arrays of shape (n,).

    Attributes
    ----------
    hour : ndarray
        Moment of the reading, end of the dwell [h].
    point, analyser, cell : ndarray of int
        Point, analyser and grid row.
    dwell_s : ndarray
        [s].
    sampled : ndarray of bool
        False: the turn was skipped (disconnected) and leaves a ``not_sampled`` row.
    """

    hour: np.ndarray
    point: np.ndarray
    analyser: np.ndarray
    cell: np.ndarray
    dwell_s: np.ndarray
    sampled: np.ndarray

    def where(self, keep: np.ndarray) -> Visits:
        """Return the visits of a mask, shape (n,)."""
        return Visits(
            self.hour[keep],
            self.point[keep],
            self.analyser[keep],
            self.cell[keep],
            self.dwell_s[keep],
            self.sampled[keep],
        )


def make_rounds(world: World, rng: np.random.Generator) -> Visits:
    """Return the visits of all analysers over the whole log."""
    parts = [_one_analyser(world, a, rng) for a in range(len(world.settings.analysers))]
    visits = Visits(
        *(
            np.concatenate([getattr(part, name) for part in parts])
            for name in ("hour", "point", "analyser", "cell", "dwell_s", "sampled")
        )
    )
    return visits.where(visits.hour < world.end)


@dataclass
class _Tape:
    """What one analyser has done so far."""

    hour: list[np.ndarray]
    point: list[np.ndarray]
    dwell_s: list[np.ndarray]
    sampled: list[np.ndarray]

    def add(self, hour: np.ndarray, point: np.ndarray, dwell_s: float, sampled: np.ndarray) -> None:
        self.hour.append(hour)
        self.point.append(point)
        self.dwell_s.append(np.full(len(hour), dwell_s))
        self.sampled.append(sampled)


def _one_analyser(world: World, analyser: int, rng: np.random.Generator) -> Visits:
    """Walk from one change of the connected set to the next; between two of them it is periodic."""
    settings = world.settings
    mine = np.array([i for i, p in enumerate(settings.points) if world.analyser_of(i) == analyser])
    stops = _standstill(world, analyser)
    halted = set(np.flatnonzero(world.stopped[:, analyser]).tolist())  # off, not in a test
    again = {hour: point for hour, point in world.resamples if point in mine}
    borders = _borders(world, mine, stops, sorted(again))
    tape = _Tape([np.zeros(0)], [np.zeros(0, int)], [np.zeros(0)], [np.zeros(0, bool)])
    now, position = 0.0, 0
    for border, until in zip(borders[:-1].tolist(), borders[1:].tolist(), strict=True):
        row = int(world.cell(border))
        now = max(now, border)
        if stops[row]:
            held = int(mine[position])
            if (row not in halted) and world.connected[row, held] and rng.random() < 0.6:
                tape.add(
                    np.array([border + 0.7 * (until - border)]),
                    np.array([held]),
                    settings.dwell_s,
                    np.array([True]),
                )
            continue
        if border in again and world.connected[row, again[border]]:
            dwell_s = 1.5 * settings.dwell_s
            now += dwell_s / 3600.0
            tape.add(np.array([now]), np.array([again[border]]), dwell_s, np.array([True]))
        if now < until:
            now, position = _turn(
                world, tape, mine, row=row, now=now, until=until, position=position, rng=rng
            )
    hour = np.concatenate(tape.hour)
    return Visits(
        hour,
        np.concatenate(tape.point),
        np.full(len(hour), analyser),
        world.cell(hour),
        np.concatenate(tape.dwell_s),
        np.concatenate(tape.sampled),
    )


def _standstill(world: World, analyser: int) -> np.ndarray:
    stops = world.stopped[:, analyser].copy()
    if world.settings.habits.stands_still:
        for test in world.tests:
            if test.analyser == analyser:
                stops[world.span(test.start, test.end)] = True
    return np.asarray(stops)


def _borders(world: World, mine: np.ndarray, stops: np.ndarray, extra: list[float]) -> np.ndarray:
    state = np.column_stack([world.connected[:, mine], world.skipped[:, mine], stops])
    turns = np.flatnonzero(np.any(state[1:] != state[:-1], axis=1)) + 1
    return np.unique(np.concatenate([[0.0], turns * STEP_H, extra, [world.end]]))


def _turn(  # noqa: PLR0913  (the state of one walk)
    world: World,
    tape: _Tape,
    mine: np.ndarray,
    *,
    row: int,
    now: float,
    until: float,
    position: int,
    rng: np.random.Generator,
) -> tuple[float, int]:
    """Go round from ``now`` to ``until``; return the hour and the place in the ring then."""
    dwell_s = world.settings.dwell_s
    live = world.connected[row, mine]
    in_round = ~world.skipped[row, mine]
    if not world.settings.habits.not_sampled_rows:
        in_round &= live
    order = np.flatnonzero(in_round)
    if not len(order):
        return until, position
    ring = np.concatenate([order[order >= position], order[order < position]])
    # A turn at an unplugged line is passed over in a few seconds.
    nominal = np.where(live, dwell_s, 3.0) if live[order].any() else np.full(len(mine), dwell_s)
    count = int((until - now) * 3600.0 / nominal[ring].mean()) + 2 * len(ring)
    which = ring[np.arange(count) % len(ring)]
    when = now + np.cumsum(nominal[which] * rng.normal(1.0, 0.012, count)) / 3600.0
    inside = min(int(np.searchsorted(when, until)), count - 1)
    tape.add(when[:inside], mine[which[:inside]], dwell_s, live[which[:inside]])
    return (float(when[inside - 1]) if inside else now), int(which[inside])
