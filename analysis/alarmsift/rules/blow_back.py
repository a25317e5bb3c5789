"""Are lines blown through when a tank has been emptied of ballast?"""

import numpy as np

from alarmsift.evidence.rule import Kept, Rule, Ruling, counted, met, not_decidable, not_met

WITHIN_HOURS = 24.0  # of the end of the discharge (CP)


def check(kept: Kept) -> Ruling:
    """Return whether a purge follows each discharge, where purges are logged at all."""
    operations, points = kept.ship.operations, kept.ship.visits.points
    ends = operations.of("ballast_discharge_end")
    ends = ends[(ends["point"] >= 0) & (ends["hours"] + WITHIN_HOURS <= _last(kept))]
    purges = operations.of("purge")
    if not len(ends) or not len(purges):
        return not_decidable("The logs hold no discharge of ballast, or no purge at all.")
    point, hours = ends["point"].to_numpy(), ends["hours"].to_numpy(float)
    of, when = purges["point"].to_numpy(), purges["hours"].to_numpy(float)
    after = (when >= hours[:, None] - 1.0) & (when <= hours[:, None] + WITHIN_HOURS)
    done = (after & ((of == point[:, None]) | (of < 0))).any(axis=1)
    if not done.all():
        where = [points[p] for p in point[~done]]
        return not_met(
            where,
            f"No purge within {WITHIN_HOURS:.0f} h of {int((~done).sum())} of {len(done)} "
            "discharges, counted by point; a day is allowed for it here.",
        )
    return met(f"A purge follows {counted(len(done), 'discharge')}, counted by point.")


def _last(kept: Kept) -> float:
    hours = kept.ship.visits.hours
    return float(np.max(hours)) if len(hours) else 0.0


RULE = Rule(
    key="blow_back",
    title="Lines are blown through when ballast has been discharged",
    source="IMO FSS Code chapter 16, 2.2.1.6",
    check=check,
)
