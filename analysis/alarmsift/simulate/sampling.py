"""What the analyser shows at each visit, and how much of it each cause contributed."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from alarmsift.simulate.detector import traces
from alarmsift.simulate.recurrence import carry
from alarmsift.simulate.rounds import Visits
from alarmsift.simulate.sample_line import LineState, draw
from alarmsift.simulate.space import concentration, follow
from alarmsift.simulate.world import OXYGEN_IN_AIR, STEP_H, UNEVEN, World, line_figures

AMBIENT_TURNS_GAS_H = 3.0  # vapour still in a space so long after the deck is clear is gas
TEST_KEPT = 0.02  # of the sample before, when the cylinder is on
RANGE = {"HC": 100.0, "H2S": 100.0, "CO": 500.0, "O2": 1e9}  # top of the display
FREEZES_BELOW = 0.25  # of the clean flow; under it some analysers repeat the last good value
CO_ANSWER_TO_H2S = 0.25  # ppm CO shown per ppm H2S by an unfiltered cell; common practice

Causes = dict[str, np.ndarray]


@dataclass(frozen=True)
class Flows:
    """Flow at each visit [L/min] and the shares of it that one trouble alone would leave [-]."""

    flow: np.ndarray
    suction: np.ndarray
    clean: np.ndarray
    with_water: np.ndarray
    with_blockage: np.ndarray
    with_pump: np.ndarray
    with_line: np.ndarray
    own_air: np.ndarray
    kept: np.ndarray


@dataclass(frozen=True)
class Channel:
    """One gas at each visit; arrays of shape (n,).

    Attributes
    ----------
    shown : ndarray
        The display's value (O2 as %vol).
    danger : ndarray
        The same, rising with danger (O2 as deficit).
    over : ndarray of bool
        Over the top of the display.
    faulty : ndarray of bool
        The detector is in fault: no number.
    distrusted : ndarray of bool
        The analyser itself puts the status ``fault`` on the number, for want of flow.
    parts : dict
        Cause -> its share of ``danger`` before rounding.
    """

    shown: np.ndarray
    danger: np.ndarray
    over: np.ndarray
    faulty: np.ndarray
    distrusted: np.ndarray
    parts: Causes


def measure_flow(world: World, visits: Visits) -> Flows:
    """Return flow, suction and what share of the last sample stays, at each visit."""
    settings = world.settings
    resistance, volume = line_figures(settings)
    at, p, a = visits.cell, visits.point, visits.analyser
    one, nil = np.ones(len(at)), np.zeros(len(at))
    common = np.median(resistance) * 0.15
    state = {
        "resistance": resistance[p],
        "blockage": world.blockage[at, p].astype(float),
        "head": world.head[at, p].astype(float),
        "leak": world.leak[at, p].astype(float),
        "leak_place": world.leak_place[p],
        "pump": world.pump[at, a].astype(float),
        "filter_resistance": common * world.filter_factor[at, a].astype(float),
    }
    clean = {
        "blockage": one,
        "head": nil,
        "leak": nil,
        "pump": one,
        "filter_resistance": common * one,
    }

    def flow_with(*troubles: str) -> tuple[np.ndarray, np.ndarray]:
        kept = {k: v for k, v in clean.items() if k not in troubles}
        return draw(
            LineState(**(state | kept)),
            settings.free_flow,
            settings.dead_head,
            gauge=settings.habits.gauge,
        )

    all_troubles = tuple(clean)
    flow, suction = flow_with(*all_troubles)
    base = flow_with()[0]
    transit_s = (
        volume[p]
        * (1.0 - 0.5 * state["leak"])
        / np.maximum(flow * (1.0 - 0.5 * state["leak"]), 1e-3)
        * 60.0
    )
    kept = np.exp(-np.maximum(visits.dwell_s - transit_s, 0.0) / settings.lag_s)
    kept = 1.0 - (1.0 - kept) * (1.0 - world.extra_carry[at])
    kept[np.flatnonzero(np.diff(a)) + 1] = 0.0  # the next analyser has its own sample
    return Flows(
        flow,
        suction,
        base,
        flow_with("head")[0] / base,
        flow_with("blockage")[0] / base,
        flow_with("pump", "filter_resistance")[0] / base,
        flow_with("head", "blockage")[0] / base,
        (1.0 - state["leak"]) * (1.0 - world.flushed[at, p]),
        kept,
    )


def measure_gas(
    world: World, visits: Visits, flows: Flows, gas: str, rng: np.random.Generator
) -> Channel:
    """Return what one channel shows at each visit, with the causes' shares."""
    at, p, a = visits.cell, visits.point, visits.analyser
    kept, probe = _with_tests(world, visits, flows, gas)
    mixed = {cause: carry(kept, (1.0 - kept) * air) for cause, air in probe.items()}
    parts = _fresh_and_old(visits, flows, kept, probe, mixed)
    if world.settings.habits.low_flow_shows == "last":
        _freeze(visits, flows, parts)
    zero, gain = traces(world, gas)
    gain_now, testing = gain[at, a], _testing(world, visits)
    if gas == "HC" and "O2" in world.settings.gases:
        gain_now = gain_now * _oxygen_left(world, visits)
    parts = {cause: share * gain_now for cause, share in parts.items()}
    quiet = np.where(testing, 0.0, 1.0)
    parts["moisture"] = (world.damp[gas][at, p] * quiet) + world.wet_optics[gas][at, a]
    parts["water"] = parts["water"] + world.slug[gas][at, p] * quiet
    parts["zero_drift"] = zero[at, a]
    parts["spike"] = _spikes(world, visits, gas)
    distrusted = (flows.flow < world.settings.low_flow_limit) & (
        world.settings.habits.low_flow_shows == "fault"
    )
    return _display(world, visits, gas, parts, distrusted=distrusted, rng=rng)


def probe_air(world: World, gas: str) -> Causes:
    """Return what stands at the probes over the grid, shape (n, points), by cause."""
    plans = world.settings.points
    spaces = concentration(
        world.source[gas].astype(float),
        world.air_changes.astype(float),
        STEP_H,
        seep=_seepage(world),
    )
    out = np.zeros(world.local[gas].shape)
    for i, plan in enumerate(plans):
        column = spaces[:, world.space_of(i)]
        if column.any():
            # Heavy vapour lies low: the upper point sees it later and weaker.
            out[:, i] = 0.75 * follow(column, 1.5, STEP_H) if plan.height == "upper" else column
    deck = np.zeros(out.shape)
    share = {"HC": 1.0, "H2S": world.settings.sour, "CO": 0.0, "O2": 0.01}[gas]
    if share and world.deck.any():
        for i, plan in enumerate(plans):
            lag = float(world.ambient_trap_h[i])
            deck[:, i] = share * plan.exposure * follow(world.deck, lag, STEP_H)
    late = world.deck_clear > AMBIENT_TURNS_GAS_H
    gas_air = out + world.local[gas] + np.where(late[:, None], deck, 0.0)
    return {
        "gas": gas_air,
        "ambient_vapour": np.where(late[:, None], 0.0, deck),
        "tight_setpoint": world.residue[gas].astype(float),
    }


def _seepage(world: World) -> np.ndarray:
    """Return the exchange between spaces [1/h], shape (spaces, spaces)."""
    spaces = world.settings.spaces
    seep = np.zeros((len(spaces), len(spaces)))
    names = [plan.name for plan in world.settings.points]
    for i, plan in enumerate(world.settings.points):
        for other in plan.neighbours:
            if other in names:
                row, column = world.space_of(names.index(other)), world.space_of(i)
                seep[row, column] = 0.004
    return seep


def _oxygen_left(world: World, visits: Visits) -> np.ndarray:
    """Return what too little oxygen leaves of a catalytic bead's answer, shape (n,) [-].

    Full answer down to 10 %vol (common practice), in proportion below.
    """
    missing = probe_air(world, "O2")["gas"][visits.cell, visits.point]
    return np.clip((OXYGEN_IN_AIR - missing) / 10.0, 0.05, 1.0)


def _testing(world: World, visits: Visits) -> np.ndarray:
    on = np.zeros(len(visits.hour), dtype=bool)
    for test in world.tests:
        on |= (
            (visits.hour >= test.start)
            & (visits.hour < test.end)
            & (visits.analyser == test.analyser)
        )
    return on


def _with_tests(world: World, visits: Visits, flows: Flows, gas: str) -> tuple[np.ndarray, Causes]:
    at, p = visits.cell, visits.point
    probe = {cause: air[at, p] * flows.own_air for cause, air in probe_air(world, gas).items()}
    if gas == "CO" and "H2S" in world.settings.gases:
        other = probe_air(world, "H2S")
        probe = {
            cause: air + CO_ANSWER_TO_H2S * other[cause][at, p] * flows.own_air
            for cause, air in probe.items()
        }
    probe["test_gas"] = np.zeros(len(at))
    kept = flows.kept.copy()
    for test in world.tests:
        on = (
            (visits.hour >= test.start)
            & (visits.hour < test.end)
            & (visits.analyser == test.analyser)
        )
        for air in probe.values():
            air[on] = 0.0
        probe["test_gas"][on] = test.values.get(gas, 0.0)
        kept[on] = TEST_KEPT
    return kept, probe


def _fresh_and_old(
    visits: Visits, flows: Flows, kept: np.ndarray, probe: Causes, mixed: Causes
) -> Causes:
    """Split what stands in the detector into the point's own air and what was there before."""
    total = np.sum(list(mixed.values()), axis=0)
    before = np.concatenate([[0.0], total[:-1]])
    same = np.concatenate([[False], visits.point[1:] == visits.point[:-1]])
    parts: Causes = {}
    for cause, air in probe.items():
        own_before = np.concatenate([[0.0], mixed[cause][:-1]])
        parts[cause] = (1.0 - kept) * air + np.where(same, kept * own_before, 0.0)
    old = np.where(same, 0.0, kept * before)
    return parts | _who_kept_it(flows, old)


def _who_kept_it(flows: Flows, old: np.ndarray) -> Causes:
    """Blame the line for an old sample if it cut the flow below half, else carry-over."""
    cut = flows.with_line < 0.5
    wet = cut & (flows.with_water <= flows.with_blockage)
    return {
        "water": np.where(wet, old, 0.0),
        "blocked": np.where(cut & ~wet, old, 0.0),
        "carry_over": np.where(cut, 0.0, old),
    }


def _freeze(visits: Visits, flows: Flows, parts: Causes) -> None:
    """Repeat the point's last good sample while its flow is nearly nil (in place)."""
    bad = flows.flow / flows.clean < FREEZES_BELOW
    if not bad.any():
        return
    order = np.lexsort((visits.hour, visits.point))
    rows = np.arange(len(order))
    good = np.where(bad[order], -1, rows)
    good = np.maximum.accumulate(good)
    valid = good >= 0
    valid &= visits.point[order][np.maximum(good, 0)] == visits.point[order]
    source = np.where(valid, order[np.maximum(good, 0)], order)
    total = np.sum(list(parts.values()), axis=0)
    held = np.zeros(len(order))
    held[order] = total[source]
    blame = _who_kept_it(flows, held)
    for cause, share in tuple(parts.items()):
        parts[cause] = np.where(bad, blame.get(cause, 0.0), share)


def _spikes(world: World, visits: Visits, gas: str) -> np.ndarray:
    out = np.zeros(len(visits.hour))
    for spike in world.spikes:
        if spike.gas == gas:
            later = np.flatnonzero(
                (visits.point == spike.point) & (visits.hour >= spike.hour) & visits.sampled
            )
            if len(later):
                out[later[0]] += spike.amount
    return out


def _display(  # noqa: PLR0913
    world: World,
    visits: Visits,
    gas: str,
    parts: Causes,
    *,
    distrusted: np.ndarray,
    rng: np.random.Generator,
) -> Channel:
    settings = world.settings
    noise = rng.normal(0.0, settings.noise[gas], len(visits.hour))
    true = np.sum(list(parts.values()), axis=0)
    true = true + noise + UNEVEN * true * rng.normal(0.0, 1.0, len(true))
    step = settings.habits.display_step[gas]
    shown = OXYGEN_IN_AIR - true if gas == "O2" else true
    shown = np.round(shown / step) * step + 0.0  # no minus zero
    if settings.habits.clips_negative:
        shown = np.maximum(shown, 0.0)
    over = shown > RANGE[gas]
    shown = np.round(np.minimum(shown, RANGE[gas]), 6)
    danger = np.round(OXYGEN_IN_AIR - shown, 6) if gas == "O2" else shown
    faulty = world.faulty[gas][visits.cell, visits.analyser]
    return Channel(shown, danger, over, faulty, distrusted, parts)
