"""The answers of the signs on hand-made courses (``cases/*.toml``)."""

import pytest

from alarmsift.evidence.sign import ANSWERS, answer_of
from alarmsift.pipeline.signs_read import all_signs
from tests.signs.case_file import all_cases, all_files, windows_of

SIGNS = {sign.key: sign for sign in all_signs()}


@pytest.mark.parametrize("case", all_cases(), ids=str)
def test_answer(case):
    w, row = windows_of(case)
    found = SIGNS[case.sign].read(w)
    answer = answer_of(found.strength)[row]
    assert answer == case.answer, (
        f"{case.given.get('about', '')}: measure {found.measure[row]:g}, "
        f"strength {found.strength[row]:g}"
    )


@pytest.mark.parametrize("name", all_files())
def test_case_file_shows_all_four_answers_or_says_which_it_leaves_out(name):
    content = all_files()[name]
    shown = {case["answer"] for case in content["case"]}
    assert shown <= set(ANSWERS)
    assert shown | set(content.get("left_out", ())) == set(ANSWERS)
    assert not shown & set(content.get("left_out", ()))
    assert name in SIGNS
