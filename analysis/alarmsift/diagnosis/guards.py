"""Guards: when a verdict of nuisance may not settle an alarm, whatever the probabilities say.

Each guard is a rule of the trade (CP) about an explanation that explains too little. An alarm held
back by a guard reads "unresolved", with the reason: treat it as gas until the next check is done.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

CLEAR = 0.3
WELL_KNOWN = 0.9
WELL_DRIED = 0.6


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
        other times and left nothing (``share_lost``).
    """

    def yes(key: str) -> np.ndarray:
        return np.nan_to_num(strength[key]) > CLEAR

    def no(key: str, limit: float = CLEAR) -> np.ndarray:
        return np.nan_to_num(strength[key]) < -limit

    def named(*causes: str) -> np.ndarray:
        return np.isin(cause, causes)

    held: list[tuple[str, np.ndarray]] = []

    def hold(rows: np.ndarray, reason: str) -> None:
        held.append((reason, rows))

    # Gas can be seen once: an alarm is proved to be electrical only where no rest was left that a
    # real sample must have left, where a second draw was clean, or where hydrogen sulphide alone
    # went faster than the space can lose gas: out of cargo it comes with hydrocarbon.
    quick = yes("too_quick") & no("both_gases")
    proved = no("left_rest", WELL_KNOWN) | no("second_draw") | (quick & (facts["gas"] == "H2S"))
    hold(named("spike") & ~proved, "gas can be seen once, and nothing proves a disturbance")
    # Test gas that nobody wrote down counts only at the cylinder's value, where the turns beside it
    # were read and showed nothing else: a whiff can have that value too, and few tests fit into one
    # turn.
    # Or where the next turns showed the same and it went faster than the space can lose gas.
    beside = np.isfinite(strength["next_points_same"]) & ~no("next_points_same")
    known = yes("test_window") | (yes("cylinder_value") & beside)
    known |= yes("too_quick") & yes("next_points_same")
    hold(named("test_gas") & ~known, "no test is written down, and the readings prove none")
    # And it goes with the test: what was high before it, or stays, is in the space.
    gone = (yes("test_window") | facts["clean_soon"]) & ~yes("outlasts_test")
    hold(named("test_gas") & ~gone, "it did not go with the test")
    # Gas itself shows at both points of a space.
    hold(
        named("carry_over", "blocked", "water") & facts["kin"],
        "the point read before it is of the same space, where gas shows at both",
    )
    # Gas next door finds its way in within hours: a rest of the sample that lasts may be that,
    # unless other points keep the same share of theirs.
    lasts = yes("stayed_long") | yes("neighbours_followed")
    hold(
        named("carry_over") & lasts & ~yes("share_now"),
        "it lasted, and no other point keeps such a share of the sample before",
    )
    hold(
        named("carry_over") & facts["share_lost"],
        "the sample before was as high at other times and left nothing",
    )
    # Water makes readings jump; what stays smooth or moves both detectors may be gas behind it.
    lasting = yes("persistence") & ~yes("scatter") & ~no("stayed_long", 0.99)
    hold(
        named("water") & (lasting | yes("both_gases")),
        "it stayed smooth or moved both detectors, as gas behind the water would",
    )
    # A blocked line explains what the point before it explains, not more.
    hold(
        named("blocked") & ~yes("follows_poor"),
        "what a blocked line repeats does not explain the reading",
    )
    # Deck vapour reaches a poor line as well as a good one.
    with_others = yes("points_together") | yes("moves_with_others") | yes("reference_rose")
    hold(
        named("water", "blocked") & with_others,
        "other points rose with it, as in vapour on deck",
    )
    # Condensate is in one detector and has a reason: a fresh line, cold, or wet optics that show at
    # all points alike. Several points that rose unlike are the deck's.
    alike = yes("equal_rise") | yes("equal_level")
    # It dries from the first: what stayed as high for a while and then went fast was let out.
    dried = np.nan_to_num(strength["drying_out"]) > WELL_DRIED
    rising = (np.nan_to_num(strength["further_rise"]) > WELL_KNOWN) & ~dried & ~alike
    reason = yes("fresh_line") | yes("colder") | alike
    unlike = (yes("points_together") & ~alike) | no("equal_level")
    hold(named("moisture") & yes("both_gases"), "both detectors moved, and condensate is in one")
    hold(
        named("moisture") & rising,
        "it stayed as high or rose on, and condensate dries from the first",
    )
    hold(named("moisture") & unlike, "other points rose unlike it, as in vapour on deck")
    hold(
        named("moisture") & ~reason,
        "nothing tells of cold, of a fresh line or of wet optics",
    )
    # Cold wets a detector slowly and it dries slowly: what jumps up may be a whiff.
    fast = yes("lone_visit") | yes("sudden_onset")
    hold(
        named("moisture") & fast & ~yes("fresh_line") & ~alike,
        "it came at once, as a whiff of gas would",
    )
    # In a pump room a whiff of gas fades as fast.
    hold(
        named("moisture") & yes("quick_space") & ~alike,
        "gas fades as fast in a space that is ventilated so well",
    )
    hold(
        named("moisture") & yes("zero_jumped") & ~facts["elsewhere"],
        "no other point shows the jump of the zero",
    )
    # What names a part of the reading must be a large part of it, and a zero is equal everywhere.
    hold(
        named("zero_drift") & no("shared_zero") & ~yes("equal_rise"),
        "the zero is not the largest part of the reading",
    )
    hold(
        named("zero_drift") & (no("shared_zero", WELL_KNOWN) | ~yes("equal_level")),
        "the other points do not stand as high, and a zero is equal everywhere",
    )
    hold(
        named("tight_setpoint") & no("background_level"),
        "the background does not explain the reading",
    )
    # What all points share explains its own part. Where a good part of the reading is a level of
    # the point's own that came within the logs, that may be a slow leak.
    own = yes("new_level") & (np.nan_to_num(strength["background_level"]) > 0)
    hold(named("moisture", "zero_drift") & own, SLOW_LEAK)
    # A zero or a background explains a level, not what came on top of it.
    hold(
        named("zero_drift", "tight_setpoint") & facts["outgrew"],
        "it rose well above the level that would explain it",
    )
    # A background stays: what came up, went, or is left of something higher may be gas.
    hold(
        named("tight_setpoint") & facts["passed"],
        "the level came, went or is left of something higher, and a background stays",
    )
    # Each detector has its own zero: when both moved, something was in the air as well. And the
    # other points must show it too.
    hold(
        named("zero_drift") & (yes("both_gases") | ~facts["elsewhere"]),
        "both detectors moved, or no other point shows the zero",
    )
    # A background was there before these logs and is alone in its space and in its gas; a level
    # that came and stayed may be a slow leak.
    next_door = yes("neighbours_followed") & ~yes("equal_rise")
    alone = ~next_door & ~yes("both_gases") & ~yes("points_together")
    hold(named("tight_setpoint") & ~no("new_level"), SLOW_LEAK)
    hold(
        named("tight_setpoint") & ~alone,
        "a neighbour, the other gas or other points rose with it",
    )
    return np.select([rows for _, rows in held], [reason for reason, _ in held], default="")


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
