"""Guards: when a verdict of nuisance may not settle an alarm, whatever the probabilities say.

Each guard is a rule of the trade (CP) about an explanation that explains too little. An alarm held
back by a guard reads "unresolved", with the reason: treat it as gas until the next check is done.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np

# Strength of a sign, 1 = present, from which it counts here (CP).
CLEAR = 0.3
WELL_KNOWN = 0.9
WELL_DRIED = 0.6


@dataclass(frozen=True)
class Alarms:
    """E alarms as the guards see them; ``held_back`` says what each part holds."""

    cause: np.ndarray
    strength: Mapping[str, np.ndarray]
    facts: Mapping[str, np.ndarray]

    def named(self, *causes: str) -> np.ndarray:
        """Tell which verdicts are one of these causes, shape (E,)."""
        return np.isin(self.cause, causes)

    def yes(self, key: str, limit: float = CLEAR) -> np.ndarray:
        """Tell where a sign is clearly present, shape (E,)."""
        return np.asarray(np.nan_to_num(self.strength[key]) > limit)

    def no(self, key: str, limit: float = CLEAR) -> np.ndarray:
        """Tell where a sign is clearly absent, shape (E,)."""
        return np.asarray(np.nan_to_num(self.strength[key]) < -limit)

    @property
    def alike(self) -> np.ndarray:
        """Whether all points show it alike, as wet optics and a zero do."""
        return self.yes("equal_rise") | self.yes("equal_level")


Held: TypeAlias = Iterator[tuple[np.ndarray, str]]


def held_back(
    cause: np.ndarray,
    strength: Mapping[str, np.ndarray],
    facts: Mapping[str, np.ndarray],
) -> np.ndarray:
    """Tell why a verdict of nuisance must not settle the alarm, '' where it may, shape (E,).

    Parameters
    ----------
    cause : ndarray of str, shape (E,)
        The verdicts.
    strength : mapping of str to ndarray, shape (E,)
        Strength of each sign by its key (1 = present, -1 = absent, NaN = no data).
    facts : mapping of str to ndarray, shape (E,)
        ``gas``; whether the point before it in the round is of the same space and was high
        (``kin``); whether two other points or more show the shared zero (``elsewhere``); whether
        the point's next turns were read and showed it clean (``clean_soon``); whether it rose
        well above the reading that raised it while it stood (``outgrew``); whether its level was
        only passed, no background that stood (``passed``); whether the sample before was as high at
        other times and left nothing (``share_lost``); whether another point of the space showed it
        as well (``pair``).
    """
    alarms = Alarms(cause, strength, facts)
    held = [one for guard in GUARDS for one in guard(alarms)]
    return np.select([rows for rows, _ in held], [reason for _, reason in held], default="")


def _spike(a: Alarms) -> Held:
    # Gas can be seen once: an alarm is proved to be electrical only where no rest was left that a
    # real sample must have left, where a second draw was clean, or where hydrogen sulphide alone
    # went faster than the space can lose gas: out of cargo it comes with hydrocarbon.
    quick = a.yes("too_quick") & a.no("both_gases") & (a.facts["gas"] == "H2S")
    proved = a.no("left_rest", WELL_KNOWN) | a.no("second_draw") | quick
    yield a.named("spike") & ~proved, "gas can be seen once, and nothing proves a disturbance"


def _test_gas(a: Alarms) -> Held:
    mine = a.named("test_gas")
    # Test gas that nobody wrote down counts only at the cylinder's value, where the turns beside it
    # were read and showed nothing else: a whiff can have that value too, and few tests fit into one
    # turn.
    # Or where the next turns showed the same and it went faster than the space can lose gas.
    beside = np.isfinite(a.strength["next_points_same"]) & ~a.no("next_points_same")
    known = a.yes("test_window") | (a.yes("cylinder_value") & beside)
    known |= a.yes("too_quick") & a.yes("next_points_same")
    yield mine & ~known, "no test is written down, and the readings prove none"
    # And it goes with the test: what was high before it, or stays, is in the space.
    gone = (a.yes("test_window") | a.facts["clean_soon"]) & ~a.yes("outlasts_test")
    yield mine & ~gone, "it did not go with the test"


def _sample(a: Alarms) -> Held:
    """Yield what holds back water, a blocked line and a rest of the sample before."""
    # Gas itself shows at both points of a space.
    yield (
        a.named("carry_over", "blocked", "water") & a.facts["kin"],
        "the point read before it is of the same space, where gas shows at both",
    )
    # Gas next door finds its way in within hours: a rest of the sample that lasts may be that,
    # unless other points keep the same share of theirs.
    lasts = (a.yes("stayed_long") | a.yes("neighbours_followed")) & ~a.yes("share_now")
    yield (
        a.named("carry_over") & lasts,
        "it lasted, and nothing shows that other points keep such a share of the sample before",
    )
    yield (
        a.named("carry_over") & a.facts["share_lost"],
        "the sample before was as high at other times and left nothing",
    )
    # Water makes readings jump; what stays smooth or moves both detectors may be gas behind it.
    lasting = a.yes("persistence") & ~a.yes("scatter") & ~a.no("stayed_long", 0.99)
    yield (
        a.named("water") & (lasting | a.yes("both_gases")),
        "it stayed smooth or moved both detectors, as gas behind the water would",
    )
    # A blocked line explains what the point before it explains, not more.
    yield (
        a.named("blocked") & ~a.yes("follows_poor"),
        "what a blocked line repeats does not explain the reading",
    )
    # Deck vapour reaches a poor line as well as a good one.
    with_others = a.yes("points_together") | a.yes("moves_with_others") | a.yes("reference_rose")
    yield (
        a.named("water", "blocked") & with_others,
        "other points rose with it, as in vapour on deck",
    )


def _moisture(a: Alarms) -> Held:
    mine = a.named("moisture")
    # Condensate is in one detector and has a reason: a fresh line, cold, or wet optics that show at
    # all points alike. Several points that rose unlike are the deck's.
    yield mine & a.yes("both_gases"), "both detectors moved, and condensate is in one"
    # It dries from the first: what stayed as high for a while and then went fast was let out.
    rising = a.yes("further_rise", WELL_KNOWN) & ~a.yes("drying_out", WELL_DRIED) & ~a.alike
    yield mine & rising, "it stayed as high or rose on, and condensate dries from the first"
    unlike = (a.yes("points_together") & ~a.alike) | a.no("equal_level")
    yield mine & unlike, "other points rose unlike it, as in vapour on deck"
    reason = a.yes("fresh_line") | a.yes("colder") | a.alike
    yield mine & ~reason, "nothing tells of cold, of a fresh line or of wet optics"
    # It is infrared that condensate moves: what another cell shows at both points of a space is in
    # the space.
    yield (
        mine & (a.facts["gas"] != "HC") & a.facts["pair"] & ~a.alike,
        "the other point of the space shows it as well, and condensate is in one line",
    )
    # Cold wets a detector slowly and it dries slowly: what jumps up may be a whiff.
    fast = a.yes("lone_visit") | a.yes("sudden_onset")
    yield (
        mine & fast & ~a.yes("fresh_line") & ~a.alike,
        "it came at once, as a whiff of gas would",
    )
    # In a pump room a whiff of gas fades as fast.
    yield (
        mine & a.yes("quick_space") & ~a.alike,
        "gas fades as fast in a space that is ventilated so well",
    )
    yield (
        mine & a.yes("zero_jumped") & ~a.facts["elsewhere"],
        "fewer than two other points show the jump of the zero",
    )


def _level(a: Alarms) -> Held:
    """Yield what holds back a drifting zero and a background."""
    zero, background = a.named("zero_drift"), a.named("tight_setpoint")
    # What names a part of the reading must be a large part of it, and a zero is equal everywhere.
    small = a.no("shared_zero", WELL_KNOWN) | ~(a.yes("shared_zero") | a.yes("equal_rise"))
    yield zero & small, "nothing shows that the zero is the largest part of the reading"
    yield (
        zero & a.no("equal_level"),
        "the other points do not stand as high, and a zero is equal everywhere",
    )
    yield zero & ~a.yes("equal_level"), "nothing shows that all points stand equally high"
    yield background & a.no("background_level"), "the background does not explain the reading"
    # What all points share explains its own part. Where a good part of the reading is a level of
    # the point's own that came within the logs, that may be a slow leak.
    own = a.yes("new_level") & (np.nan_to_num(a.strength["background_level"]) > 0)
    yield a.named("moisture", "zero_drift") & own, SLOW_LEAK
    # A zero or a background explains a level, not what came on top of it.
    yield (
        (zero | background) & a.facts["outgrew"],
        "it rose well above the level that would explain it",
    )
    # A background stays: what came up, went, or is left of something higher may be gas.
    yield (
        background & a.facts["passed"],
        "the level came, went or is left of something higher, and a background stays",
    )
    # Each detector has its own zero: when both moved, something was in the air as well. And the
    # other points must show it too.
    yield zero & a.yes("both_gases"), "both detectors moved, and each has its own zero"
    yield zero & ~a.facts["elsewhere"], "fewer than two other points show the zero"
    # A background was there before these logs and is alone in its space and in its gas; a level
    # that came and stayed may be a slow leak.
    yield background & ~a.no("new_level"), SLOW_LEAK
    next_door = a.yes("neighbours_followed") & ~a.yes("equal_rise")
    yield (
        background & (next_door | a.yes("both_gases") | a.yes("points_together")),
        "a neighbour, the other gas or other points rose with it",
    )


GUARDS = (_spike, _test_gas, _sample, _moisture, _level)
SLOW_LEAK = "the level may have come within these logs, as a slow leak does"


# An alarm this near to a possible leak at the same point is not settled on its own (CP).
NEAR_HOURS = 12.0
POSSIBLE_FROM = 0.05
# Test gas and spikes are told by their own signs, and a zero or a background by its size.
TOLD_APART = ("test_gas", "zero_drift", "tight_setpoint", "spike")


def near_possible_gas(
    point: np.ndarray, raised: np.ndarray, cleared: np.ndarray, real: np.ndarray
) -> np.ndarray:
    """Tell which alarms stand near a possible leak at their own point, shape (E,).

    A leak behind a wet or choked line shows now as gas and now as a jump: what looks like water or
    condensate beside it is held back with it.

    Parameters
    ----------
    point : ndarray of int, shape (E,)
        Faults carry -1.
    raised, cleared : ndarray, shape (E,)
        [h]; cleared may be inf.
    real : ndarray, shape (E,)
        P(gas) + P(ambient_vapour).
    """
    out = np.zeros(len(point), bool)
    risky = (real >= POSSIBLE_FROM) & (point >= 0)
    for p in np.unique(point[risky]):
        mine, here = np.flatnonzero(point == p), risky & (point == p)
        order = np.argsort(raised[here], kind="stable")
        start = raised[here][order]
        # The latest end among all leaks that began no later.
        end = np.maximum.accumulate(np.where(np.isfinite(cleared), cleared, np.inf)[here][order])
        at = np.searchsorted(start, raised[mine] + NEAR_HOURS, "right") - 1
        out[mine] = (at >= 0) & (end[np.maximum(at, 0)] >= raised[mine] - NEAR_HOURS)
    return out


def on_unsettled(
    point: np.ndarray,
    gas: np.ndarray,
    raised: np.ndarray,
    cleared: np.ndarray,
    settled: np.ndarray,
) -> np.ndarray:
    """Tell which alarms rose while another of their point and gas stood unsettled, shape (E,).

    A high alarm is not explained while the low alarm beneath it is not.

    Parameters
    ----------
    point : ndarray of int, shape (E,)
        Faults carry -1.
    gas : ndarray of str, shape (E,)
    raised, cleared : ndarray, shape (E,)
        [h]; cleared may be inf.
    settled : ndarray of bool, shape (E,)
    """
    out = np.zeros(len(point), bool)
    for p, g in {(int(p), g) for p, g in zip(point, gas, strict=True) if p >= 0}:
        mine = np.flatnonzero((point == p) & (gas == g))
        open_ = mine[~settled[mine]]
        if not len(open_):
            continue
        open_ = open_[np.argsort(raised[open_], kind="stable")]
        end = np.maximum.accumulate(cleared[open_])
        at = np.searchsorted(raised[open_], raised[mine], "left") - 1
        out[mine] = (at >= 0) & (end[np.maximum(at, 0)] > raised[mine])
    return out
