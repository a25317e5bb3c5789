"""What an engineer found: it names the cause, and never teaches the tool to ignore a point."""

from dataclasses import replace
from functools import cache

import numpy as np
import pandas as pd
import pytest

from alarmsift.diagnosis.experience import LOWERS_AT_MOST
from alarmsift.pipeline.diagnose import diagnose
from alarmsift.pipeline.findings import apply_findings
from alarmsift.signs.nothing_found import SIGN
from alarmsift.tables.schema import CAUSES, FINDINGS, conform, empty
from tests.simulated import logs_by_seed
from tests.ten_rows import SETPOINTS, alarms, at, history, logs_of, quiet, table

# Whole diagnoses of whole ships: other tests cover the same lines, and the tracer costs half again.
pytestmark = pytest.mark.no_cover

HEADER = "time point gas found\n"


def episodes():
    """Return five verdicts: two bouts of A, a fault of A, one alarm of B, an old one of A."""
    rows = [
        # episode point gas level    kind  raised bout   cause treat_as
        ("E1", "A", "HC", "low", "alarm", "0:00", "B1", "spike", "nuisance"),
        ("E2", "A", "HC", "low", "alarm", "80:00", "B2", "spike", "nuisance"),
        ("E3", "B", "HC", "low", "alarm", "100:00", "B3", "gas", "gas"),
        ("E4", "A", "HC", "low", "alarm", "101:00", "B4", "moisture", "unresolved"),
        ("E5", "A", "HC", "low", "alarm", "103:00", "B4", "moisture", "unresolved"),
    ]
    names = ["episode", "point", "gas", "level", "kind", "raised", "bout", "cause", "treat_as"]
    frame = pd.DataFrame(rows, columns=names)
    return frame.assign(
        raised=[at(clock) for clock in frame["raised"]],
        cleared=[at(clock) + pd.Timedelta(minutes=40) for clock in frame["raised"]],
        probability=0.9,
        p_gas=0.001,
        runner_up="tight_setpoint",
        why="Because.",
        next_check="Look.",
    )


def outcome(rows, real=0.001, frame=None):
    """Return what findings make of these verdicts, each of 0.9 for its cause."""
    frame = episodes() if frame is None else frame
    found = table("findings", HEADER + rows)
    keys = [*CAUSES]
    share = pd.DataFrame(0.0, index=frame.index, columns=keys)
    for row, cause in enumerate(frame["cause"]):
        share.loc[row, "tight_setpoint"] = 0.1
        share.loc[row, cause if cause in CAUSES else "moisture"] = 0.9
    blank = np.zeros(len(frame))
    return apply_findings(
        frame, found, probability=share, real=np.full(len(frame), real), gas_before=blank
    )


def applied(rows, real=0.001, frame=None):
    return outcome(rows, real, frame).episodes


def causes(frame):
    return dict(zip(frame["episode"], frame["cause"], strict=True))


def test_finding_names_the_cause_of_the_last_bout_before_it_and_of_no_other():
    found = causes(applied("110:00 A HC carry_over"))
    assert found == causes(episodes()) | {"E4": "carry_over", "E5": "carry_over"}


def test_finding_is_said_with_what_the_signs_said():
    row = applied("110:00 A HC carry_over").iloc[3]
    assert row["why"].startswith("An engineer found: carry over. By the signs alone: because.")
    assert row["runner_up"] == "moisture"


def test_finding_reaches_no_further_back_than_three_days():
    assert causes(applied("175:01 A HC carry_over")) == causes(episodes())
    assert causes(applied("174:59 A HC carry_over"))["E5"] == "carry_over"


def test_alarm_raised_after_the_finding_is_not_its_business():
    found = causes(applied("90:00 A HC carry_over"))
    assert found["E2"] == "carry_over"
    assert found["E5"] == "moisture"


def test_finding_of_another_gas_or_point_changes_nothing():
    assert causes(applied("110:00 A H2S carry_over")) == causes(episodes())
    assert causes(applied("110:00 C HC carry_over")) == causes(episodes())


def test_finding_without_a_gas_is_about_the_point():
    assert causes(applied("110:00 A - carry_over"))["E5"] == "carry_over"


@pytest.mark.parametrize("word", ["nothing", "no idea", "undetermined"])
def test_nothing_found_is_no_override(word):
    pd.testing.assert_frame_equal(applied(f'110:00 A HC "{word}"'), episodes())


def test_gas_that_was_found_is_gas_whatever_the_signs_said():
    row = applied("110:00 A HC gas").iloc[4]
    assert (row["cause"], row["treat_as"]) == ("gas", "gas")
    assert applied("110:00 A HC ambient_vapour").iloc[4]["treat_as"] == "gas"


def test_nuisance_that_was_found_against_signs_of_gas_stays_unresolved():
    found = applied("110:00 B HC spike", real=0.6).iloc[2]
    assert (found["cause"], found["treat_as"]) == ("spike", "unresolved")
    assert "do not rule gas out" in found["why"]


@pytest.mark.parametrize("cause", sorted(set(CAUSES) - {"gas", "ambient_vapour"}))
@pytest.mark.parametrize("real", [0.01, 0.2, 0.99])
def test_no_finding_makes_a_nuisance_where_gas_is_possible(cause, real):
    found = applied(f"110:00 A HC {cause}\n110:00 B HC {cause}", real=real)
    touched = found["cause"] == cause
    assert not (found.loc[touched, "treat_as"] == "nuisance").loc[[2, 3, 4]].any()


def test_no_finding_ever_turns_unresolved_into_nuisance():
    for cause in CAUSES:
        for real in (0.0, 0.5):
            found = applied(f"110:00 A HC {cause}", real=real)
            was = episodes()["treat_as"] != "nuisance"
            assert "nuisance" not in set(found.loc[was, "treat_as"])


def with_fault():
    frame = episodes()
    fault = frame.iloc[[4]].assign(
        episode="E6", kind="fault", gas="", level="low flow", bout="B5", cause="blocked",
        treat_as="unwatched", raised=at("104:00"),
    )  # fmt: skip
    return pd.concat([frame, fault], ignore_index=True)


def test_fault_takes_only_what_cuts_the_flow_and_stays_unwatched():
    row = applied("110:00 A - water", frame=with_fault()).iloc[5]
    assert (row["cause"], row["treat_as"]) == ("water", "unwatched")


@pytest.mark.parametrize("gas", ["HC", "-"])
def test_gas_found_after_a_fault_reaches_the_gas_alarm_before_the_fault(gas):
    found = applied(f"110:00 A {gas} gas", frame=with_fault())
    assert found.iloc[4]["treat_as"] == "gas"
    assert found.iloc[5]["cause"] == "blocked"


def test_finding_of_a_gas_is_not_about_a_fault_of_the_line():
    assert applied("110:00 A HC water", frame=with_fault()).iloc[5]["cause"] == "blocked"


def test_low_and_high_alarm_that_stood_together_are_one_thing_to_who_looked():
    frame = episodes()
    frame.loc[4, ["level", "bout"]] = ["high", "B5"]
    frame.loc[3, "cleared"] = at("104:00")
    assert causes(applied("110:00 A HC gas", frame=frame))["E4"] == "gas"
    frame.loc[3, "cleared"] = at("102:00")
    assert causes(applied("110:00 A HC gas", frame=frame))["E4"] == "moisture"


def test_runner_up_is_not_the_cause_that_was_found():
    frame = episodes().assign(cause="undetermined", runner_up="moisture")
    row = applied("110:00 A HC moisture", frame=frame).iloc[4]
    assert (row["cause"], row["runner_up"]) == ("moisture", "tight_setpoint")


def test_probability_is_what_the_signs_give_the_cause_that_was_found():
    assert applied("110:00 A HC tight_setpoint").iloc[4]["probability"] == 0.1


def test_words_of_a_finding_may_be_written_as_people_write():
    assert causes(applied('110:00 A HC " Carry-over"'))["E5"] == "carry_over"


def test_nothing_found_against_signs_of_gas_is_shown_as_a_conflict_and_changes_no_verdict():
    found = outcome("110:00 B HC nothing", real=0.6)
    row = found.episodes.iloc[2]
    assert (row["cause"], row["treat_as"]) == ("gas", "gas")
    assert row["why"].startswith("An engineer found nothing. The signs do not rule gas out")
    assert found.findings["conflict"].tolist() == [True]
    assert found.findings["outcome"].tolist() == ["no_override"]


@pytest.mark.parametrize("order", [("gas", "spike"), ("spike", "gas")])
def test_gas_that_was_found_is_not_unsaid_by_another_finding_of_the_same_bout(order):
    first, second = order
    rows = f"110:00 A HC {first}\n111:00 A HC {second}\n112:00 A HC spike"
    row = applied(rows).iloc[4]
    assert (row["cause"], row["treat_as"]) == ("gas", "gas")


def test_record_counts_verdicts_before_the_finding_and_each_bout_once():
    rows = """
    2:00 A HC spike
    81:00 A HC nothing
    102:00 B HC spike
    110:00 A HC gas
    111:00 A HC gas
    """
    found = outcome(rows.strip())
    assert found.record.to_dict("list") == {
        "cause": ["gas", "moisture", "spike"],
        "confirmed": [0, 0, 1],
        "refuted": [1, 1, 0],
    }
    assert found.findings["outcome"].tolist() == [
        "confirmed", "no_override", "refuted", "refuted", "refuted",
    ]  # fmt: skip


def test_finding_where_the_signs_named_nothing_judges_no_verdict():
    found = outcome("110:00 A HC gas", frame=episodes().assign(cause="undetermined"))
    assert found.record.empty
    assert found.findings["outcome"].tolist() == ["named"]


def test_finding_that_reaches_no_alarm_or_names_no_cause_is_said_to():
    found = outcome('110:00 C HC gas\n110:00 A HC "loose wire"')
    assert found.findings["outcome"].tolist() == ["no_alarm", "not_read"]


@cache
def shaky(findings):
    """Return the alarms of a ship with two alarms of A, the second one small and short."""
    values = quiet(("A", "B", "C", "D"), 600)
    values["A", "HC"][150:170] = 20.0
    values["A", "HC"][500:503] = [12.0, 14.0, 11.0]
    readings = history(values)
    tables = {
        "readings": readings,
        "events": alarms(readings, {("HC", "low"): 10.0}),
        "setpoints": SETPOINTS,
        "findings": HEADER + findings,
    }
    return diagnose(logs_of(tables)).episodes


def odds(p):
    return 10.0 * np.log10(p / (1.0 - p))


def test_gas_that_was_found_makes_later_gas_at_that_point_likelier_the_more_the_oftener():
    blind, once, thrice = (
        odds(shaky("\n".join(["90:00 A HC gas"] * n) or "1:00 A HC gas_oil").iloc[1]["p_gas"])
        for n in (0, 1, 3)
    )
    assert once - blind == pytest.approx(10 * np.log10(4), abs=0.01)
    assert thrice - blind == pytest.approx(10.0, abs=0.01)
    said = shaky("90:00 A HC gas")["why"]
    assert "Gas was found here before" in said.iloc[1]
    assert "Gas was found here before" not in said.iloc[0]


@pytest.mark.parametrize("elsewhere", ["90:00 B HC gas", "90:00 A H2S gas", "190:00 A HC gas"])
def test_gas_found_elsewhere_in_another_gas_or_later_changes_no_prior(elsewhere):
    blind = shaky("1:00 A HC gas_oil").iloc[1]["p_gas"]
    assert shaky(elsewhere).iloc[1]["p_gas"] == blind


@pytest.mark.parametrize("what", ["spike", "nothing", "moisture", "test_gas"])
@pytest.mark.parametrize("many", [1, 5, 300])
def test_nuisances_that_were_found_lower_gas_by_three_decibans_in_all_at_most(what, many):
    """Before the alarm (the prior) and after it (the sign)."""
    clocks = [f"{80 + 80 * n / many:.0f}:00" for n in range(many)]
    rows = "\n".join(f"{clock} A HC {what}" for clock in clocks) + "\n170:00 A HC nothing"
    blind = shaky("1:00 A HC gas_oil").iloc[1]["p_gas"]
    assert odds(blind) - 3.0 - 1e-6 <= odds(shaky(rows).iloc[1]["p_gas"]) < odds(blind)


def test_sign_of_nothing_found_and_prior_together_lower_gas_by_three_against_any_cause():
    weights = {weight.cause: weight.present for weight in SIGN.weights}
    rest = max([0.0, *(w for cause, w in weights.items() if cause != "gas")])
    assert LOWERS_AT_MOST + rest - weights["gas"] <= 3.0
    assert all(weight.absent == 0 for weight in SIGN.weights)


KEYS = ["point", "gas", "level", "raised"]


def treated(seed, findings):
    result = diagnose(replace(logs_by_seed(seed), findings=findings)).episodes
    return result.set_index(KEYS)[["cause", "treat_as"]]


@cache
def treated_blind(seed):
    return treated(seed, empty(FINDINGS))


@pytest.mark.parametrize("what", ["spike", "nothing", "tight_setpoint", None])
@pytest.mark.parametrize("seed", [2, 4, 5])
def test_no_number_of_findings_makes_a_nuisance_of_a_simulated_ship(seed, what):
    """Somebody finds the same at every point every two hours; or what comes, gas as well."""
    logs = logs_by_seed(seed)
    blind = treated_blind(seed)
    start, end = logs.readings["time"].min(), logs.readings["time"].max()
    times = pd.date_range(start, end, freq="2h")
    points = sorted(set(logs.events["point"].dropna().astype(str)))
    rows = pd.DataFrame([(t, p) for t in times for p in points], columns=["time", "point"])
    words = np.random.default_rng(seed).choice([*CAUSES, "nothing"], len(rows))
    told = treated(seed, conform(rows.assign(found=words if what is None else what), FINDINGS))
    was = blind["treat_as"].reindex(told.index)
    assert (told["cause"] != blind["cause"].reindex(told.index)).any() or what == "nothing"
    assert len(was[was.isin(["gas", "unresolved"])]) > 10
    assert "nuisance" not in set(told["treat_as"][was != "nuisance"])


def test_finding_reaches_the_diagnosis():
    values = quiet(("A", "B", "C", "D"), 300)
    values["A", "HC"][150:170] = 20.0
    readings = history(values)
    tables = {
        "readings": readings,
        "events": alarms(readings, {("HC", "low"): 10.0}),
        "setpoints": SETPOINTS,
        "findings": HEADER + "58:00 A HC gas",
    }
    (row,) = diagnose(logs_of(tables)).episodes.itertuples()
    assert (row.cause, row.treat_as) == ("gas", "gas")
    assert row.why.startswith("An engineer found: gas.")
