"""Weights of evidence of the user's own: what they change, and what they never do."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from alarmsift.diagnosis.weights import PRIOR
from alarmsift.errors import InputError
from alarmsift.pipeline.diagnose import diagnose, measured
from alarmsift.pipeline.signs_read import all_signs, read_signs
from alarmsift.pipeline.verdicts import verdicts_of
from alarmsift.pipeline.weights import weights_in_force
from alarmsift.tables.diagnosis import WEIGHT_COLUMNS, WeightsChange
from tests.simulated import diagnosed, logs_by_seed
from tests.ten_rows import logs_of, of_columns

# Whole diagnoses of whole ships: other tests cover the same lines, and the tracer costs half again.
pytestmark = pytest.mark.no_cover

NEEDED = ["sign", "cause", "present", "absent"]
GASES = ["gas", "ambient_vapour"]


def built_in():
    return weights_in_force().table


def given_rows(*rows):
    return pd.DataFrame(rows, columns=NEEDED)


def no_gas():
    """Every weight that speaks of real gas as low as it can be set."""
    rows = pd.MultiIndex.from_product([[PRIOR, *(s.key for s in all_signs())], GASES])
    table = rows.to_frame(index=False, name=["sign", "cause"]).assign(present=-60.0, absent=-60.0)
    return table.assign(absent=table["absent"].where(table["sign"] != PRIOR))


def weighed_at_random(rng, reach):
    table = built_in()
    table["present"] = rng.uniform(-reach, reach, len(table)).round(1)
    table["absent"] = rng.uniform(-reach, reach, len(table)).round(1)
    return table.assign(absent=table["absent"].where(table["sign"] != PRIOR))


@cache
def read(seed):
    ship, table, _ = measured(logs_by_seed(seed))
    return read_signs(ship, table)


def is_no_looser(treat, than):
    return not ((treat == "nuisance") & (than != "nuisance")).any()


@settings(max_examples=60, deadline=None, derandomize=True)
@given(st.integers(0, 10**6), st.sampled_from([2, 5, 6]), st.sampled_from([3.0, 20.0, 60.0]))
def test_no_table_whatever_makes_a_nuisance_of_an_alarm_that_was_none(number, seed, reach):
    table = weighed_at_random(np.random.default_rng(number), reach)
    plain = verdicts_of(read(seed)).table
    own = verdicts_of(read(seed), table).table
    assert is_no_looser(own["treat_as"], plain["treat_as"])
    assert (own["real"] >= plain["real"]).all()
    possible = (plain["real"] >= 0.01) & ~plain["is_fault"]
    assert set(own.loc[possible, "check"]) <= {"resample"}


@pytest.mark.parametrize("seed", [2, 5, 6])
def test_weights_that_deny_gas_dismiss_no_alarm_and_the_reason_is_told(seed):
    plain = diagnosed(seed).episodes
    result = diagnose(logs_by_seed(seed), weights=no_gas())
    own = result.episodes
    assert is_no_looser(own["treat_as"], plain["treat_as"])
    denied = result.probabilities[GASES].sum(axis=1).to_numpy() < 0.01
    denied &= (plain["treat_as"] == "gas").to_numpy()
    denied &= ~own["cause"].isin(GASES).to_numpy()  # but for gas that an engineer found
    assert denied.any()
    assert set(own.loc[denied, "treat_as"]) == {"unresolved"}
    assert own.loc[denied, "why"].str.contains("With the built-in weights it is no nuisance").all()


def shaken():
    """Weights of which some still call alarms of this ship a nuisance, and cut bouts otherwise."""
    return weighed_at_random(np.random.default_rng(3), 20.0)


@pytest.mark.parametrize(
    ("found", "weights"),
    [("gas", shaken), ("water", shaken), ("spike", no_gas), ("nothing", no_gas)],
)
def test_findings_under_other_weights_dismiss_nothing_either(found, weights):
    """A finding reaches a bout, and other causes cut bouts otherwise."""
    logs = logs_by_seed(3)
    alarms = diagnosed(3).episodes.query("kind == 'alarm'")
    looked = alarms.drop_duplicates("bout", keep="last")
    rows = {
        "time": (looked["raised"] + pd.Timedelta(minutes=5)).to_numpy("datetime64[us]"),
        "point": looked["point"].astype(str).to_numpy(object),
        "gas": looked["gas"].astype(str).to_numpy(object),
        "found": np.full(len(looked), found, dtype=object),
    }
    rows["time"] = pd.DatetimeIndex(rows["time"]).tz_localize("UTC")
    logs = replace(logs, findings=of_columns("findings", rows))
    plain, own = diagnose(logs).episodes, diagnose(logs, weights=weights()).episodes
    assert (own["bout"] != plain["bout"]).any()
    assert is_no_looser(own["treat_as"], plain["treat_as"])


def test_weights_that_fear_gas_make_fewer_nuisances():
    plain = diagnosed(2).episodes
    own = diagnose(logs_by_seed(2), weights=given_rows((PRIOR, "gas", 60, None)))
    left = (own.episodes["treat_as"] == "nuisance").sum()
    assert left < 0.5 * (plain["treat_as"] == "nuisance").sum()
    assert own.weights_change == WeightsChange("a table given from Python", 1)


def test_the_table_holds_every_weight_and_prior_with_reason_and_source_sorted():
    table = diagnosed(2).weights
    assert list(table) == WEIGHT_COLUMNS
    assert PRIOR not in {sign.key for sign in all_signs()}
    assert len(table) == len(table[NEEDED[:2]].drop_duplicates())
    assert (table["source"] != "").all()
    assert table[NEEDED[:2]].apply(tuple, axis=1).is_monotonic_increasing
    assert (table["absent"].isna() == (table["sign"] == PRIOR)).all()
    assert diagnosed(2).weights_change is None


def test_only_the_rows_given_are_changed_and_say_what_they_were():
    table = built_in()
    first = table[table["sign"] != PRIOR].iloc[0]
    rows = given_rows((first["sign"], first["cause"], 12.5, -3), (PRIOR, "water", -4, ""))
    own = weights_in_force(rows)
    assert own.change == WeightsChange("a table given from Python", 2)
    mine = own.table.set_index(NEEDED[:2])
    changed = mine.loc[(first["sign"], first["cause"])]
    assert (changed["present"], changed["absent"]) == (12.5, -3.0)
    assert changed["reason"] == first["reason"]
    assert f"built in: {first['present']:g} and {first['absent']:g}" in changed["source"]
    assert mine.loc[(PRIOR, "water"), "present"] == -4.0
    rest = ~own.table["source"].str.startswith("changed by")
    pd.testing.assert_frame_equal(own.table[rest], table[rest])


def test_a_sign_may_be_given_a_word_on_a_cause_that_it_had_none_on():
    table = built_in().set_index(NEEDED[:2])
    free = next(
        (sign.key, cause)
        for sign in all_signs()
        for cause in ("spike", "water", "gas")
        if (sign.key, cause) not in table.index
    )
    own = weights_in_force(given_rows((*free, 7, 0)))
    assert len(own.table) == len(table) + 1
    assert own.change is not None
    assert own.change.rows == 1


def test_the_printed_table_read_back_changes_nothing(tmp_path):
    path = tmp_path / "my weights.csv"
    built_in().to_csv(path, index=False)
    own = weights_in_force(path)
    assert own.change == WeightsChange("my weights.csv", 0)
    pd.testing.assert_frame_equal(own.table, built_in())


def test_a_file_from_a_spreadsheet_with_semicolons_and_decimal_commas_is_read(tmp_path):
    sign = all_signs()[0].key
    text = f"\ufeffSign; Cause ;present;absent\r\n\r\n{sign};gas;1,5;\u22122,5\r\n"
    path = tmp_path / "own.csv"
    path.write_text(text, encoding="utf-16")
    mine = weights_in_force(path).table.set_index(NEEDED[:2]).loc[(sign, "gas")]
    assert (mine["present"], mine["absent"]) == (1.5, -2.5)


GOOD = "sign,cause,present,absent\nprior,water,3,\n"


@pytest.mark.parametrize(
    ("text", "place", "told"),
    [
        (GOOD + "persistance,gas,1,2\n", "row 3, column 'sign'", "Did you mean 'persistence'?"),
        (GOOD + "prior,ghost,1,\n", "row 3, column 'cause'", "there is no cause 'ghost'"),
        (GOOD + "prior,gas,high,\n", "row 3, column 'present'", "'high' can't be used"),
        (GOOD + "persistence,gas,1,\n", "row 3, column 'absent'", "a blank cell can't be used"),
        (GOOD + "\nprior,gas,nan,\n", "row 4, column 'present'", "expected a number of decibans"),
        (GOOD + "prior,gas,inf,\n", "row 3, column 'present'", "from -60 to 60"),
        (GOOD + "prior,gas,-60.5,\n", "row 3, column 'present'", "from -60 to 60"),
        (GOOD + "prior,gas,5,3\n", "row 3, column 'absent'", "expected a blank cell"),
        (GOOD + "prior,water,5,\n", "row 3, column 'sign'", "given before"),
        (GOOD + "prior,gas,1,5,\n", "row 3", "5 cells, expected 4"),
        ("sign,cause,present\nprior,gas,1\n", "row 1", "column 'absent' is missing"),
        ("sign,cause,present,absent,sign\n", "column 'sign'", "there twice"),
        ("", "row 1", "'sign' is missing"),
        ("\x00\x01\x02\x03" * 50, "file w.csv", "binary"),
        (None, "file w.csv", "no such file"),
    ],
)
def test_a_file_that_cannot_be_used_is_told_in_one_sentence(tmp_path, text, place, told):
    path = tmp_path / "w.csv"
    if text is not None:
        path.write_text(text, encoding="utf-8")
    with pytest.raises(InputError) as error:
        weights_in_force(path)
    words = str(error.value)
    assert words.startswith("file w.csv")
    assert place in words
    assert told in words
    assert str(tmp_path) not in words
    assert error.value.mend
    assert "\n" not in words


def test_a_row_of_a_table_from_python_is_counted_from_one():
    with pytest.raises(InputError, match=r"^row 2, column 'cause': there is no cause 'rain'"):
        diagnose(logs_by_seed(2), weights=given_rows((PRIOR, "gas", 1, 0), (PRIOR, "rain", 1, 0)))


def test_weights_of_ones_own_work_on_logs_without_an_alarm():
    result = diagnose(logs_of({}), weights=no_gas())
    assert result.episodes.empty
    assert result.weights_change is not None


def test_the_users_table_stays_untouched():
    rows = given_rows((PRIOR, "gas", "1", None))
    before = rows.copy(deep=True)
    weights_in_force(rows)
    pd.testing.assert_frame_equal(rows, before)
