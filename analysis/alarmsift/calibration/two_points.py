"""What a zero and a span check together say of a detector: its zero and its sensitivity.

shown = sensitivity x gas + zero. The zero comes first: a span that is set while the zero is off is
wrong by that zero, and nobody sees it until the zero is put right.
"""

from __future__ import annotations


def sensitivity(shown: float, *, zero: float, certified: float) -> float:
    """Return the share of the span gas that is shown, the zero taken out [-].

    Parameters
    ----------
    shown : float
        Reading of the span gas [unit of the gas].
    zero : float
        Reading of clean air in the same state [unit of the gas].
    certified : float
        What the cylinder holds [unit of the gas].

    Examples
    --------
    >>> sensitivity(46.0, zero=1.5, certified=50.0)
    0.89
    """
    return (shown - zero) / certified


def corrected(shown: float, *, zero: float, sensitivity: float) -> float:
    """Return the gas behind a reading, by a check of both points [unit of the gas].

    Examples
    --------
    >>> round(corrected(20.0, zero=1.5, sensitivity=0.89), 4)
    20.7865
    """
    return (shown - zero) / sensitivity


def left_by_span_first(shown: float, *, zero: float, certified: float) -> float:
    """Return what span gas shows after the span was set first and the zero second.

    Setting the span multiplies the zero as well, and taking that zero away takes it from the span.

    Examples
    --------
    >>> round(left_by_span_first(46.0, zero=1.5, certified=50.0), 3)
    48.37
    """
    return certified - zero * certified / shown
