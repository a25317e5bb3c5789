"""What must hold for every diagnosis, whatever the weights."""

import json
from dataclasses import replace

import numpy as np
import pandas as pd
import pytest

from alarmsift.diagnosis.treat import NUISANCE_BELOW
from alarmsift.pipeline.diagnose import diagnose
from alarmsift.tables.diagnosis import (
    CALIBRATION_COLUMNS,
    CONDITION_COLUMNS,
    COVERAGE_COLUMNS,
    EPISODE_COLUMNS,
    NOT_SETTLED,
    SIGN_COLUMNS,
)
from alarmsift.tables.schema import CAUSES, CONDITIONS, UNDETERMINED
from tests.simulated import diagnosed, diagnosed_without, logs_by_seed
from tests.ten_rows import SETPOINTS, alarms, history, logs_of, quiet

# Whole diagnoses of whole ships: other tests cover the same lines, and the tracer costs half again.
pytestmark = pytest.mark.no_cover

SEEDS = range(1, 9)
REAL = ["gas", "ambient_vapour"]
REASONS = {
    "disconnected", "left_disconnected", "not_sampled", "water", "blocked", "test", "stopped",
    "slow_cycle", "no_log",
}  # fmt: skip


def real_of(result):
    return result.probabilities[REAL].sum(axis=1).to_numpy()


@pytest.mark.parametrize("seed", SEEDS)
def test_probabilities_sum_to_one_and_name_the_cause(seed):
    result = diagnosed(seed)
    p = result.probabilities
    assert list(p.index) == list(result.episodes["episode"])
    assert p.sum(axis=1).to_numpy() == pytest.approx(np.ones(len(p)))
    episodes = result.episodes
    named = episodes["cause"] != UNDETERMINED
    assert set(episodes["cause"]) <= {*CAUSES, UNDETERMINED}
    assert (episodes.loc[~named, "probability"] < 0.5).all()
    by_signs = ~episodes["why"].str.startswith("An engineer found")
    assert (episodes["runner_up"] != episodes["cause"])[by_signs].all()
    assert set(episodes["runner_up"]) <= set(CAUSES)


@pytest.mark.parametrize("seed", SEEDS)
def test_possible_gas_is_never_a_nuisance(seed):
    result = diagnosed(seed)
    nuisance = (result.episodes["treat_as"] == "nuisance").to_numpy()
    assert (real_of(result)[nuisance] < NUISANCE_BELOW).all()
    causes = result.episodes["cause"]
    assert not (nuisance & causes.isin([*REAL, UNDETERMINED])).any()


@pytest.mark.parametrize("seed", SEEDS)
def test_gas_is_treated_as_gas_and_a_fault_as_a_point_unwatched(seed):
    episodes = diagnosed(seed).episodes
    alarm = episodes["kind"] == "alarm"
    assert (episodes.loc[alarm & episodes["cause"].isin(REAL), "treat_as"] == "gas").all()
    assert set(episodes.loc[alarm, "treat_as"]) <= {"gas", "nuisance", "unresolved"}
    faults = episodes[~alarm]
    assert set(faults["treat_as"]) <= {"unwatched"}
    assert set(faults["cause"]) <= {"water", "blocked", "pump", UNDETERMINED}
    assert set(faults["gas"]) <= {""}


@pytest.mark.parametrize("seed", SEEDS)
def test_open_alarm_is_never_a_nuisance(seed):
    episodes = diagnosed(seed).episodes
    open_alarm = episodes["cleared"].isna() & (episodes["kind"] == "alarm")
    assert "nuisance" not in set(episodes.loc[open_alarm, "treat_as"])


@pytest.mark.parametrize("seed", SEEDS)
def test_unresolved_alarm_says_what_keeps_it_open(seed):
    result = diagnosed(seed)
    episodes, real = result.episodes, pd.Series(real_of(result), result.episodes.index)
    by_signs = ~episodes["why"].str.contains("An engineer found")
    named = (episodes["cause"] != UNDETERMINED) & by_signs
    unresolved = (episodes["treat_as"] == "unresolved") & named
    told = episodes["why"].str.contains(NOT_SETTLED, regex=False)
    assert (told == unresolved)[by_signs].all()
    likely = episodes["why"].str.contains("is still [0-9]+% likely")
    assert (likely == (unresolved & (real >= NUISANCE_BELOW)))[by_signs].all()


@pytest.mark.parametrize("still_open", [True, False])
def test_alarm_that_is_still_open_says_so(still_open):
    values = {(name, "HC"): np.full(400, 1.0) for name in "BCDE"}
    own = np.full(400, 9.5) + np.resize([0.0, 0.1, 0.0, -0.1], 400)
    own[-1 if still_open else -20] = 10.5
    readings = history(values | {("A", "HC"): own})
    events = alarms(readings, {("HC", "low"): 10.0})
    result = diagnose(logs_of({"readings": readings, "events": events, "setpoints": SETPOINTS}))
    (why,) = result.episodes["why"]
    assert ("it is still open" in why) == still_open


@pytest.mark.parametrize("hours", [25.0, 61.0])
def test_works_on_a_round_of_days(hours):
    values = {(name, "HC"): np.full(30, 1.0) for name in "ABC"}
    values["A", "HC"][20] = 30.0
    readings = history(values, cycle_min=60.0 * hours)
    events = alarms(readings, {("HC", "low"): 10.0})
    result = diagnose(logs_of({"readings": readings, "events": events, "setpoints": SETPOINTS}))
    assert len(result.episodes) == 1


@pytest.mark.parametrize("seed", SEEDS)
def test_first_check_is_a_resample_while_gas_is_possible(seed):
    result = diagnosed(seed)
    alarm = (result.episodes["kind"] == "alarm").to_numpy()
    possible = alarm & (real_of(result) >= NUISANCE_BELOW)
    assert result.episodes.loc[possible, "next_check"].str.contains("Resample the point now").all()
    assert set(result.episodes["next_check"]) <= set(result.checks["check"])


@pytest.mark.parametrize("seed", SEEDS)
def test_tables_have_the_columns_and_words_of_the_contract(seed):
    result = diagnosed(seed)
    assert list(result.episodes) == EPISODE_COLUMNS
    assert list(result.conditions) == CONDITION_COLUMNS
    assert list(result.coverage) == COVERAGE_COLUMNS
    assert list(result.calibration) == CALIBRATION_COLUMNS
    assert set(result.conditions["condition"]) <= set(CONDITIONS)
    assert set(result.coverage["reason"]) <= REASONS
    assert result.episodes["episode"].is_unique
    assert result.episodes["raised"].is_monotonic_increasing
    assert (result.episodes["level"] == result.episodes["level"].str.lower()).all()
    assert result.conditions["start"].notna().all()
    assert result.conditions["probability"].between(0.0, 1.0).all()
    ends = result.conditions.dropna(subset=["end"])
    assert (ends["end"] >= ends["start"]).all()


@pytest.mark.parametrize("seed", SEEDS)
def test_coverage_spans_are_longer_than_the_limit_and_inside_the_log(seed):
    result = diagnosed(seed)
    coverage, readings = result.coverage, result.logs.readings
    assert (coverage["minutes"] > 0).all()
    length = (coverage["end"] - coverage["start"]) / pd.Timedelta(minutes=1)
    np.testing.assert_allclose(length, coverage["minutes"], atol=1e-3)
    whole = coverage[~coverage["reason"].isin(["disconnected", "left_disconnected"])]
    assert (whole["minutes"] > result.logs.site.cycle_limit_min).all()
    slack = pd.Timedelta(seconds=1)
    assert (coverage["start"] >= readings["time"].min() - slack).all()
    assert (coverage["end"] <= readings["time"].max() + slack).all()


@pytest.mark.parametrize("seed", SEEDS)
def test_every_raised_row_is_an_episode_or_a_counted_repeat(seed):
    result = diagnosed(seed)
    events = result.logs.events
    raised = events[events["state"] == "raised"]["time"]
    assert set(result.episodes["raised"]) <= set(raised)
    assert len(result.episodes) <= len(raised)
    if not any("repeats" in line for line in result.learnt):
        assert len(result.episodes) == len(raised)


@pytest.mark.parametrize("seed", SEEDS)
def test_signs_of_every_episode_can_be_read(seed):
    result = diagnosed(seed)
    rows = {
        (f, r)
        for f, r in result.logs.readings[["source_file", "source_row"]].itertuples(index=False)
    }
    for key in result.episodes["episode"].iloc[:: max(len(result.episodes) // 5, 1)]:
        signs = result.signs(key)
        assert list(signs) == SIGN_COLUMNS
        assert set(signs["answer"]) <= {"present", "absent", "undecided", "no data"}
        assert signs["sign"].is_unique
        assert (signs["last_row"] >= signs["first_row"]).all()
        known = signs[signs["first_row"] > 0]
        assert set(zip(known["source_file"], known["first_row"], strict=True)) <= rows
        assert not signs["words"].str.contains("{", regex=False).any()
        blank = signs["answer"] == "no data"
        assert (signs.loc[blank, ["for_cause", "for_gas"]] == 0).all().all()


def test_unknown_episode_is_a_key_error():
    with pytest.raises(KeyError):
        diagnosed(1).signs("E9999")


@pytest.mark.parametrize("seed", SEEDS)
def test_sentences_are_whole(seed):
    result = diagnosed(seed)
    for text in [*result.episodes["why"], *result.conditions["why"], *result.points["headline"]]:
        assert text.strip()
        assert "{" not in text
        assert "nan" not in text.lower().split()
        assert " inf" not in text


FRAMES = ("episodes", "conditions", "coverage", "calibration", "probabilities", "setpoints",
          "visits", "zeros", "changes", "points", "checks", "weights")  # fmt: skip


def frames_are_plain(result):
    for name in FRAMES:
        frame = getattr(result, name)
        for column in frame.select_dtypes("number"):
            assert not np.isinf(frame[column]).any(), f"{name}.{column}"
        text = frame.to_json(orient="records", date_format="iso")
        json.loads(text, parse_constant=pytest.fail)


@pytest.mark.parametrize("seed", SEEDS)
def test_frames_hold_nothing_that_json_has_no_word_for(seed):
    frames_are_plain(diagnosed(seed))


def same(one, other):
    for name in FRAMES:
        pd.testing.assert_frame_equal(getattr(one, name), getattr(other, name))
    assert one.learnt == other.learnt


@pytest.mark.parametrize("seed", [1, 5])
def test_same_logs_same_diagnosis(seed):
    same(diagnosed(seed), diagnose(logs_by_seed(seed)))


def test_input_tables_stay_untouched():
    logs = logs_by_seed(3)
    names = ("readings", "events", "operations", "points", "setpoints", "findings")
    before = {name: getattr(logs, name).copy(deep=True) for name in names}
    diagnose(logs)
    for name, frame in before.items():
        pd.testing.assert_frame_equal(getattr(logs, name), frame)


@pytest.mark.parametrize("seed", [2, 6])
@pytest.mark.parametrize("table", ["operations", "events", "readings", "points", "setpoints"])
def test_works_without_a_table(seed, table):
    result = diagnosed_without(seed, (), (table,))
    frames_are_plain(result)
    if table == "events":
        assert result.episodes.empty
    else:
        assert len(result.episodes) > 0
        assert result.signs(result.episodes["episode"].iloc[0])["answer"].notna().all()


@pytest.mark.parametrize("columns", [("flow", "suction"), ("status",), ("unit", "temperature")])
def test_works_without_a_column(columns):
    frames_are_plain(diagnosed_without(5, columns))


def test_works_on_everything_missing_at_once():
    result = diagnosed_without(
        5, ("flow", "suction", "status", "temperature"), ("operations", "points", "setpoints")
    )
    frames_are_plain(result)
    assert len(result.episodes) > 0


def test_works_on_one_point():
    logs = logs_by_seed(2)
    point = logs.events["point"].mode()[0]
    one = replace(
        logs,
        readings=logs.readings[logs.readings["point"] == point].reset_index(drop=True),
        events=logs.events[logs.events["point"] == point].reset_index(drop=True),
    )
    result = diagnose(one)
    assert set(result.episodes["point"]) == {point}
    frames_are_plain(result)


def test_works_on_one_gas():
    logs = logs_by_seed(5)
    one = replace(
        logs, readings=logs.readings[logs.readings["gas"] == "H2S"].reset_index(drop=True)
    )
    frames_are_plain(diagnose(one))


def test_works_on_nothing_at_all():
    result = diagnose(logs_of({}))
    assert result.episodes.empty
    assert result.conditions.empty
    assert result.coverage.empty


@pytest.mark.parametrize("rows", [1, 2, 3, 5])
def test_works_on_a_handful_of_readings(rows):
    readings = history(quiet(("A",), rows))
    events = """
    time point gas event level state  value
    0:00 A     HC  alarm low   raised 12
    """
    result = diagnose(logs_of({"readings": readings, "events": events, "setpoints": SETPOINTS}))
    assert result.episodes["treat_as"].tolist() != ["nuisance"]
    frames_are_plain(result)


def test_ship_without_an_alarm_and_without_a_fault_says_so():
    result = diagnose(logs_of({"readings": history(quiet(("A", "B", "C"), 300))}))
    assert result.episodes.empty
    assert set(result.points["headline"]) == {"No alarm and no silent failure found."}
    assert not result.points["needs_person"].any()


def test_no_verdict_rests_on_what_may_be_left_out():
    whole, bare = diagnosed(3), diagnose(logs_by_seed(3), further=False)
    for name in ("episodes", "conditions", "coverage", "calibration", "points", "probabilities"):
        pd.testing.assert_frame_equal(getattr(bare, name), getattr(whole, name))
    for name in ("changes", "detectors", "repairs", "rules", "alarm_load", "alarm_tags"):
        left_out, told = getattr(bare, name), getattr(whole, name)
        assert left_out.empty
        assert list(left_out.columns) == list(told.columns)
        assert len(told), name
