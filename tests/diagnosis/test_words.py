import numpy as np

from alarmsift.diagnosis.words import fill, verdict_sentence
from alarmsift.pipeline.signs_read import all_signs


def test_verdict_names_cause_reasons_and_doubt():
    said = verdict_sentence("an electrical spike", ["high once"], ["a tail was left"], "gas")
    assert said == "Most likely an electrical spike: high once; against it: a tail was left."


def test_undetermined_says_what_comes_closest():
    said = verdict_sentence(None, [], [], "gas in the space")
    assert said == "The signs do not settle it; gas in the space comes closest."


def test_sentence_without_its_figure_drops_the_figure():
    assert fill("the line was clean (resistance {m:.2f})", 1.25).endswith("(resistance 1.25)")
    assert fill("the line was clean (resistance {m:.2f})", np.nan) == "the line was clean"
    assert fill("no figure here", np.nan) == "no figure here"


def test_every_sentence_on_the_shelf_can_be_filled():
    for sign in all_signs():
        for template in (sign.present, sign.absent):
            for measure in (0.0, 1.5, -3.0, np.nan, np.inf):
                assert "{" not in fill(template, measure), sign.key
