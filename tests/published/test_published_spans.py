"""Span gas, its basis and the order of zero and span, against figures worked by hand."""

import pytest

from alarmsift.calibration.two_points import corrected, left_by_span_first, sensitivity
from alarmsift.physics.flammable import Basis, percent_lfl, rebased

NFPA = Basis("propane", 2.1, "NFPA 497 (2008)")
IEC = Basis("propane", 1.7, "IEC 60079-20-1:2010")


def test_detector_that_shows_46_of_50_over_a_zero_of_one_and_a_half():
    # Two-point line, worked by hand: (46 - 1.5) / 50; (20 - 1.5) / .89; the span error is -8 %,
    # inside the ten per cent of common practice
    gain = sensitivity(46.0, zero=1.5, certified=50.0)
    assert gain == pytest.approx(0.89, abs=1e-12)
    assert corrected(20.0, zero=1.5, sensitivity=gain) == pytest.approx(20.7865, abs=5e-5)
    assert pytest.approx(-0.08) == (46.0 - 50.0) / 50.0


def test_span_before_zero_leaves_the_span_short_by_a_thirtieth():
    # "Zero, then calibrate" is the order of 40 CFR 86.125-94; by hand 50 - 1.5 x 50/46 = 48.370
    left = left_by_span_first(46.0, zero=1.5, certified=50.0)
    assert left == pytest.approx(48.370, abs=5e-4)
    assert left / 50.0 - 1.0 == pytest.approx(-0.033, abs=5e-4)


def test_propane_bottle_on_the_wrong_basis_reads_a_fifth_low():
    # 1.05 vol% of propane: limits of NFPA 497 (2.1) and IEC 60079-20-1 (1.7)
    assert percent_lfl(1.05, NFPA) == pytest.approx(50.0)
    assert percent_lfl(1.05, IEC) == pytest.approx(61.7647, abs=5e-5)
    assert rebased(50.0, used=NFPA, true=IEC) == pytest.approx(61.7647, abs=5e-5)
    assert 50.0 / rebased(50.0, used=NFPA, true=IEC) == pytest.approx(0.80952, abs=5e-6)
