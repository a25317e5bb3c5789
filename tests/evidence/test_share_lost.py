import numpy as np
import pytest

from alarmsift.evidence.share_lost import share_lost
from tests.signs.case_file import Case, windows_of

HIGH, SHARE = 60.0, 0.3
REST = 1.0 + SHARE * (HIGH - 1.0)


def lost(before, own):
    """Tell it of B, whose sample follows that of A."""
    courses = [{"point": "A", "values": before}, {"point": "B", "values": own}]
    w, row = windows_of(Case("share_now", 0, {"alarmed": "B", "courses": courses}))
    return bool(share_lost(w)[row])


def test_rest_goes_when_the_sample_before_goes():
    assert not lost([HIGH] * 9, [REST] * 9)


@pytest.mark.parametrize("own", [[REST] * 4 + [1.0] * 5, [1.0] * 5 + [REST] * 4])
def test_own_gas_comes_and_goes_while_the_sample_before_stays(own):
    assert lost([HIGH] * 9, own)


def test_sample_before_that_was_not_as_high_says_nothing():
    assert not lost([HIGH] * 4 + [0.5 * HIGH] * 5, [REST] * 4 + [1.0] * 5)


def test_one_second_draw_that_was_clean_is_not_enough():
    assert not lost([HIGH] * 9, [REST] * 4 + [1.0] + [REST] * 4)


def test_nothing_before_it_leaves_nothing_to_tell():
    assert not lost([1.0] * 9, np.full(9, REST))
