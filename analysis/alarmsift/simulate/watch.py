"""One run of the analyser over the log: visits, flows, channels and alarms."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from alarmsift.simulate.alarms import Episodes, fault_episodes, gas_episodes
from alarmsift.simulate.rounds import Visits, make_rounds
from alarmsift.simulate.sampling import Channel, Flows, measure_flow, measure_gas
from alarmsift.simulate.settings import SetpointPlan
from alarmsift.simulate.world import World


@dataclass(frozen=True)
class Watch:
    """What the analyser did.

    Attributes
    ----------
    turns : Visits
        All turns, skipped ones too.
    visits : Visits
        Sampled ones; the rows of ``flows`` and ``channels``.
    alarms : list of (SetpointPlan, Episodes)
        Gas alarms as raised.
    faults : list of Episodes
        Fault alarms as raised.
    """

    turns: Visits
    visits: Visits
    flows: Flows
    channels: dict[str, Channel]
    alarms: list[tuple[SetpointPlan, Episodes]]
    faults: list[Episodes]


def keep_watch(world: World, stream: int) -> Watch:
    """Run the analyser through the world; ``stream`` names the noise."""
    rng = np.random.default_rng([world.settings.seed, stream])
    _fill_with_purge_air(world)
    turns = make_rounds(world, rng)
    visits = turns.where(turns.sampled)
    flows = measure_flow(world, visits)
    channels = {gas: measure_gas(world, visits, flows, gas, rng) for gas in world.settings.gases}
    alarms = [
        (plan, gas_episodes(world, visits, channels[plan.gas], plan))
        for plan in world.settings.setpoints
    ]
    return Watch(turns, visits, flows, channels, alarms, fault_episodes(world, visits, flows))


def _fill_with_purge_air(world: World) -> None:
    """Leave the purge's own air in the line for the first visit or so after it."""
    names = [plan.name for plan in world.settings.points]
    for row in world.operations:
        if row["action"] == "purge" and row["point"] in names:
            rows = world.span(row["hour"], row["hour"] + 0.9 * world.round_h)
            world.flushed[rows, names.index(row["point"])] = 0.85
