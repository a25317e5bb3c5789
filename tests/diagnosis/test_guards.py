"""When a nuisance may not settle an alarm. The rules: common practice, no source.

Every cause has one alarm that is settled (``SETTLED``: the signs that prove it); each test changes
one fact of it.
"""

import numpy as np
import pytest

from alarmsift.diagnosis.guards import (
    NEAR_HOURS,
    POSSIBLE_FROM,
    held_back,
    near_possible_gas,
    on_unsettled,
)
from alarmsift.pipeline.signs_read import all_signs

PRESENT, UNDECIDED, ABSENT, UNKNOWN = 1.0, 0.0, -1.0, np.nan
KEYS = [sign.key for sign in all_signs()]
SETTLED = {
    "spike": {"left_rest": ABSENT},
    "test_gas": {"test_window": PRESENT},
    "carry_over": {"carried_over": PRESENT},
    "water": {"scatter": PRESENT},
    "blocked": {"follows_poor": PRESENT},
    "moisture": {"fresh_line": PRESENT},
    "zero_drift": {"shared_zero": PRESENT, "equal_level": PRESENT},
    "tight_setpoint": {"background_level": PRESENT, "new_level": ABSENT},
}


def held(
    cause,
    *,
    gas="HC",
    kin_before=False,
    shared_elsewhere=True,
    clean_soon=True,
    outgrew=False,
    passed=False,
    share_lost=False,
    pair=False,
    **facts,
):
    """Tell why the settled alarm of a cause is held back when some facts are otherwise."""
    said = SETTLED[cause] | facts
    assert set(said) <= set(KEYS)
    (answer,) = held_back(
        np.array([cause], object),
        {key: np.array([said.get(key, UNKNOWN)]) for key in KEYS},
        {
            "gas": np.array([gas], object),
            "kin": np.array([kin_before]),
            "elsewhere": np.array([shared_elsewhere]),
            "clean_soon": np.array([clean_soon]),
            "outgrew": np.array([outgrew]),
            "passed": np.array([passed]),
            "share_lost": np.array([share_lost]),
            "pair": np.array([pair]),
        },
    )
    return str(answer)


@pytest.mark.parametrize("cause", SETTLED)
def test_alarm_that_its_signs_prove_is_settled(cause):
    assert not held(cause)


@pytest.mark.parametrize("cause", SETTLED)
def test_alarm_of_which_no_sign_says_anything_is_never_proved(cause):
    unknown = dict.fromkeys(KEYS, UNKNOWN)
    silent = {"carry_over", "water"}  # rest on their own weights; what speaks for gas holds them
    assert bool(held(cause, **unknown)) == (cause not in silent)


def test_spike_is_no_spike_unless_something_proves_that_no_gas_was_there():
    assert held("spike", left_rest=UNKNOWN)
    assert held("spike", left_rest=PRESENT)
    assert held("spike", left_rest=-0.5)  # a rest that may have been too small to see


def test_second_draw_that_was_clean_proves_a_spike():
    assert not held("spike", left_rest=UNKNOWN, second_draw=ABSENT)
    assert held("spike", left_rest=UNKNOWN, second_draw=PRESENT)


def test_hydrogen_sulphide_alone_that_a_closed_tank_cannot_have_lost_so_fast_is_a_spike():
    quick = {"left_rest": UNKNOWN, "too_quick": PRESENT, "both_gases": ABSENT, "gas": "H2S"}
    assert not held("spike", **quick)
    # A pump room is aired twenty times an hour: gas itself is gone as fast.
    assert held("spike", **quick | {"too_quick": ABSENT})


def test_fast_fall_proves_no_spike_where_hydrocarbon_came_too_or_is_all_there_is():
    quick = {"left_rest": UNKNOWN, "too_quick": PRESENT, "both_gases": ABSENT, "gas": "H2S"}
    assert held("spike", **quick | {"both_gases": PRESENT})
    assert held("spike", **quick | {"both_gases": UNKNOWN})
    assert held("spike", **quick | {"gas": "HC"})


def test_test_gas_that_nobody_wrote_down_counts_at_the_cylinders_value_only():
    assert held("test_gas", test_window=UNKNOWN)
    assert held("test_gas", test_window=ABSENT, cylinder_value=ABSENT)
    at_value = {"test_window": ABSENT, "cylinder_value": PRESENT}
    assert not held("test_gas", **at_value, next_points_same=UNDECIDED)
    assert held("test_gas", **at_value, next_points_same=ABSENT)
    assert held("test_gas", **at_value, next_points_same=UNKNOWN)  # nobody read the turns beside it


def test_test_gas_goes_with_the_test():
    assert held("test_gas", outlasts_test=PRESENT)
    unwritten = dict(test_window=ABSENT, cylinder_value=PRESENT, next_points_same=PRESENT)
    assert held("test_gas", **unwritten, clean_soon=False)
    assert not held("test_gas", **unwritten, clean_soon=True)


def test_test_gas_at_the_next_turns_too_counts_where_a_space_could_not_lose_it_so_fast():
    same = {"test_window": UNKNOWN, "next_points_same": PRESENT}
    assert not held("test_gas", **same, too_quick=PRESENT)
    assert held("test_gas", **same, too_quick=ABSENT)
    assert held("test_gas", test_window=UNKNOWN, too_quick=PRESENT)


@pytest.mark.parametrize("cause", ["carry_over", "blocked", "water"])
def test_gas_shows_at_both_points_of_a_space(cause):
    assert held(cause, kin_before=True)


@pytest.mark.parametrize("fact", ["stayed_long", "neighbours_followed"])
def test_rest_of_a_sample_that_lasts_is_held_unless_others_keep_the_same_share(fact):
    assert held("carry_over", **{fact: PRESENT})
    assert held("carry_over", **{fact: PRESENT}, share_now=ABSENT)
    assert not held("carry_over", **{fact: PRESENT}, share_now=PRESENT)


def test_water_makes_readings_jump_and_what_stays_smooth_may_be_gas():
    assert held("water", scatter=ABSENT, persistence=PRESENT)
    assert not held("water", scatter=PRESENT, persistence=PRESENT)
    assert not held("water", scatter=ABSENT, persistence=PRESENT, stayed_long=ABSENT)


@pytest.mark.parametrize("cause", ["water", "moisture", "zero_drift", "tight_setpoint"])
def test_both_gases_moved_so_something_was_in_the_air(cause):
    assert held(cause, both_gases=PRESENT)


def test_blocked_line_explains_no_more_than_the_point_before_it():
    assert held("blocked", follows_poor=ABSENT)
    assert held("blocked", follows_poor=UNKNOWN)


@pytest.mark.parametrize("cause", ["water", "blocked"])
@pytest.mark.parametrize("fact", ["points_together", "moves_with_others", "reference_rose"])
def test_deck_vapour_reaches_a_poor_line_as_well_as_a_good_one(cause, fact):
    assert held(cause, **{fact: PRESENT})


def test_condensate_needs_a_reason():
    assert held("moisture", fresh_line=ABSENT)
    assert not held("moisture", fresh_line=ABSENT, colder=PRESENT)
    assert not held("moisture", fresh_line=ABSENT, equal_rise=PRESENT)


def test_condensate_dries_and_what_goes_on_rising_may_be_gas():
    assert held("moisture", further_rise=PRESENT)
    assert not held("moisture", further_rise=PRESENT, drying_out=PRESENT)
    assert held("moisture", further_rise=PRESENT, drying_out=0.5)  # went late and fast: let out


def test_points_that_rose_unlike_are_the_decks_and_not_condensate():
    assert held("moisture", points_together=PRESENT)
    assert held("moisture", equal_level=ABSENT)
    assert not held("moisture", points_together=PRESENT, equal_rise=PRESENT)


def test_whiff_of_gas_in_a_pump_room_fades_as_fast_as_condensate():
    assert held("moisture", fresh_line=ABSENT, colder=PRESENT, quick_space=PRESENT)
    assert held("moisture", quick_space=PRESENT)  # a line put back just before saw it fade
    assert not held("moisture", quick_space=PRESENT, equal_rise=PRESENT)


def test_zero_that_jumped_is_condensate_only_where_other_points_show_it():
    assert held("moisture", zero_jumped=PRESENT, shared_elsewhere=False)
    assert not held("moisture", zero_jumped=PRESENT, shared_elsewhere=True)


def test_zero_is_equal_at_all_points():
    assert held("zero_drift", equal_level=ABSENT)
    assert held("zero_drift", equal_level=UNKNOWN)
    assert held("zero_drift", shared_elsewhere=False)


def test_zero_must_be_a_large_part_of_the_reading():
    assert held("zero_drift", shared_zero=ABSENT)
    assert held("zero_drift", shared_zero=-0.5)
    assert held("zero_drift", shared_zero=ABSENT, equal_rise=PRESENT)
    assert not held("zero_drift", shared_zero=-0.5, equal_rise=PRESENT)


def test_background_must_be_a_large_part_of_the_reading():
    assert held("tight_setpoint", background_level=ABSENT)


def test_level_that_came_within_the_logs_may_be_a_slow_leak():
    assert held("tight_setpoint", new_level=PRESENT)
    assert held("tight_setpoint", new_level=UNKNOWN)


@pytest.mark.parametrize("fact", ["neighbours_followed", "points_together"])
def test_background_is_alone_in_its_space(fact):
    assert held("tight_setpoint", **{fact: PRESENT})


@pytest.mark.parametrize("cause", ["gas", "ambient_vapour", "pump"])
def test_guards_are_about_nuisances_only(cause):
    everything = {key: np.array([PRESENT]) for key in KEYS}
    facts = {
        key: np.array([key in ("kin", "outgrew", "passed", "share_lost", "pair")])
        for key in ("kin", "elsewhere", "clean_soon", "outgrew", "passed", "share_lost", "pair")
    }
    said = held_back(
        np.array([cause], object), everything, facts | {"gas": np.array(["HC"], object)}
    )
    assert not said.any()


def test_background_that_came_or_went_is_none():
    assert held("tight_setpoint", passed=True)
    assert not held("zero_drift", passed=True)


@pytest.mark.parametrize(("gas", "stays"), [("H2S", True), ("CO", True), ("HC", False)])
def test_condensate_is_in_one_line_and_moves_infrared(gas, stays):
    assert bool(held("moisture", gas=gas, pair=True)) == stays
    assert not held("moisture", gas=gas, pair=True, equal_rise=PRESENT)


@pytest.mark.parametrize(
    ("cause", "facts", "words"),
    [
        ("spike", {"left_rest": UNKNOWN}, "gas can be seen once"),
        ("test_gas", {"test_window": ABSENT}, "no test is written down"),
        ("test_gas", {"outlasts_test": PRESENT}, "did not go with the test"),
        ("water", {"kin_before": True}, "same space"),
        ("carry_over", {"stayed_long": PRESENT}, "it lasted"),
        ("carry_over", {"share_lost": True}, "left nothing"),
        ("water", {"both_gases": PRESENT}, "gas behind the water"),
        ("blocked", {"follows_poor": ABSENT}, "does not explain"),
        ("blocked", {"points_together": PRESENT}, "vapour on deck"),
        ("moisture", {"both_gases": PRESENT}, "both detectors"),
        ("moisture", {"further_rise": PRESENT}, "dries from the first"),
        ("moisture", {"equal_level": ABSENT}, "rose unlike"),
        ("moisture", {"fresh_line": ABSENT}, "nothing tells of cold"),
        ("zero_drift", {"shared_zero": ABSENT}, "nothing shows that the zero"),
        ("zero_drift", {"shared_zero": UNDECIDED}, "nothing shows that the zero"),
        ("zero_drift", {"equal_level": ABSENT}, "do not stand as high"),
        ("zero_drift", {"equal_level": UNKNOWN}, "nothing shows"),
        ("zero_drift", {"both_gases": PRESENT}, "each has its own zero"),
        ("zero_drift", {"shared_elsewhere": False}, "fewer than two"),
        ("zero_drift", {"outgrew": True}, "rose well above"),
        ("tight_setpoint", {"background_level": ABSENT}, "does not explain"),
        ("tight_setpoint", {"passed": True}, "a background stays"),
        ("tight_setpoint", {"new_level": UNKNOWN}, "slow leak"),
        ("tight_setpoint", {"neighbours_followed": PRESENT}, "a neighbour"),
    ],
)
def test_reader_is_told_what_keeps_it_open(cause, facts, words):
    assert words in held(cause, **facts)


def test_rest_of_a_sample_keeps_its_share():
    assert held("carry_over", share_lost=True)
    assert not held("blocked", share_lost=True)


def near(point, raised, cleared, real):
    return near_possible_gas(*(np.array(x) for x in (point, raised, cleared, real))).tolist()


LEAK = POSSIBLE_FROM + 0.01


def test_alarm_within_half_a_day_of_a_possible_leak_at_its_point_is_near_it():
    raised = [100.0, 101.0 + NEAR_HOURS - 0.1, 101.0 + NEAR_HOURS + 0.1, 100.1 - NEAR_HOURS]
    found = near([0] * 4, raised, [101.0, *(t + 1 for t in raised[1:])], [LEAK, 0, 0, 0])
    assert found == [True, True, False, True]


def test_alarm_long_before_a_possible_leak_is_not_near_it():
    assert near([0, 0], [100.0, 99.9 - NEAR_HOURS], [101.0, 90.0], [LEAK, 0.0]) == [True, False]


def test_leak_at_another_point_and_faults_are_not_near():
    assert near([0, 1, -1], [100.0, 100.0, 100.0], [101.0] * 3, [LEAK, 0.0, LEAK]) == [
        True,
        False,
        False,
    ]


def test_possible_leak_that_has_not_cleared_is_near_whatever_follows():
    assert near([0, 0], [100.0, 900.0], [np.inf, 901.0], [LEAK, 0.0]) == [True, True]


def test_long_leak_is_near_though_a_short_one_began_after_it():
    found = near([0, 0, 0], [100.0, 110.0, 300.0], [295.0, 111.0, 301.0], [LEAK, LEAK, 0.0])
    assert found == [True, True, True]


def test_gas_hardly_likely_is_no_possible_leak():
    assert near([0, 0], [100.0, 101.0], [100.5, 102.0], [POSSIBLE_FROM - 0.01, 0.0]) == [
        False,
        False,
    ]


@pytest.mark.parametrize("cause", ["zero_drift", "tight_setpoint"])
def test_level_explains_no_more_than_a_level(cause):
    assert held(cause, outgrew=True)


def test_cold_alone_wets_no_detector_for_one_visit_only():
    cold = dict(fresh_line=UNKNOWN, colder=PRESENT)
    assert held("moisture", **cold, lone_visit=PRESENT)
    assert not held("moisture", **cold, lone_visit=ABSENT)


def test_high_alarm_is_not_explained_while_the_low_alarm_beneath_it_is_not():
    # a low alarm from 10 h to 20 h; highs of the same point and gas at 12 h, at 22 h, of another
    # gas and of another point at 12 h
    said = on_unsettled(
        np.array([0, 0, 0, 0, 1]),
        np.array(["HC", "HC", "HC", "H2S", "HC"], object),
        np.array([10.0, 12.0, 22.0, 12.0, 12.0]),
        np.array([20.0, 13.0, 23.0, 13.0, 13.0]),
        np.array([False, True, True, True, True]),
    )
    assert said.tolist() == [False, True, False, False, False]
