"""What the logs show of each rule, on small ships (``cases/*.toml``)."""

import pytest

from alarmsift.evidence.rule import MET, NOT_DECIDABLE, NOT_MET
from alarmsift.pipeline.diagnose import diagnose
from alarmsift.pipeline.rules import all_rules
from alarmsift.tables.diagnosis import RULE_COLUMNS
from tests.rules.case_file import all_cases, all_files, logs_of_case
from tests.simulated import diagnosed
from tests.ten_rows import logs_of

RULES = {rule.key: rule for rule in all_rules()}


@pytest.mark.parametrize("case", all_cases(), ids=str)
def test_outcome(case):
    rules = diagnose(logs_of_case(case.given)).rules.set_index("rule")
    row = rules.loc[case.rule]
    assert row["outcome"] == case.given["outcome"], (case.given["about"], row["why"])
    assert row["where"] == ", ".join(case.given.get("where", []))


@pytest.mark.parametrize("rule", RULES)
def test_case_file_shows_a_ship_for_each_outcome(rule):
    assert {case["outcome"] for case in all_files()[rule]} == {MET, NOT_MET, NOT_DECIDABLE}


def test_every_case_file_is_of_a_rule():
    assert set(all_files()) == set(RULES)


@pytest.mark.parametrize("rule", RULES.values(), ids=RULES)
def test_rule_cites_its_source_and_bears_the_name_of_its_file(rule):
    assert rule.check.__module__ == f"alarmsift.rules.{rule.key}"
    assert any(name in rule.source for name in ("MSC.1/Circ.1370", "FSS Code", "SOLAS"))
    assert "memory" not in rule.source  # what was not read is never said to be asked for


def test_logs_without_a_row_decide_nothing():
    rules = diagnose(logs_of({})).rules
    assert len(rules) == len(RULES)
    assert set(rules["outcome"]) == {NOT_DECIDABLE}


@pytest.mark.parametrize("seed", [2, 4])
def test_table_of_a_simulated_ship_says_why_in_every_row(seed):
    rules = diagnosed(seed).rules
    assert rules.columns.tolist() == RULE_COLUMNS
    assert sorted(rules["rule"]) == sorted(RULES)
    assert (rules["why"].str.endswith(".") & (rules["source"] != "")).all()
    assert (rules.loc[rules["where"] != "", "outcome"] == NOT_MET).all()
