"""Flammable gas: volume per cent, per cent of the lower limit, and the basis between them.

The lower flammable limit of one gas differs between published sets by up to a third, so a %LFL
without its basis has no meaning. A basis is therefore a gas, a number and a source, never the
name of a standard alone. Which one an instrument follows stands in its own papers.

References
----------
.. [1] IEC 60079-20-1:2010, Annex B, and NFPA 497 (2008), table 4.4.2, both as carried by the
   `chemicals` library (``chemicals.safety.LFL``).
.. [2] Le Chatelier, H., "Estimation of firedamp by flammability limits", *Ann. Mines* 19 (1891)
   388-395.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from alarmsift.physics.quantity import Quantity


@dataclass(frozen=True)
class Basis:
    """A lower flammable limit [vol%], with where it comes from.

    Attributes
    ----------
    gas : str
        The gas that 100 %LFL is meant of.
    vol_percent : float
        Its lower flammable limit in air [vol%].
    source : str
        Where the number was read.

    References
    ----------
    .. [1] IEC 60079-20-1:2010, NFPA 497 (2008).

    Examples
    --------
    >>> Basis("propane", 2.1, "NFPA 497").vol_percent
    2.1
    """

    gas: str
    vol_percent: float
    source: str


_LIMITS: Final = {  # [vol%] IEC 60079-20-1:2010, NFPA 497 (2008), from [1]
    "methane": (4.4, 5.0),
    "ethane": (2.4, 3.0),
    "propane": (1.7, 2.1),
    "n-butane": (1.4, 1.9),
    "isobutane": (1.3, 1.8),
    "n-pentane": (1.1, 1.5),
    "n-hexane": (1.0, 1.1),
    "hydrogen sulfide": (4.0, 4.0),
    "carbon monoxide": (10.9, 12.5),
    "hydrogen": (4.0, 4.0),
    "benzene": (1.2, 1.2),
}

PUBLISHED: Final[tuple[Basis, ...]] = tuple(
    Basis(gas, limit, source)
    for gas, limits in _LIMITS.items()
    for limit, source in zip(limits, ("IEC 60079-20-1:2010", "NFPA 497:2008"), strict=True)
)


def percent_lfl(vol_percent: Quantity, basis: Basis) -> Quantity:
    """Return a share of volume as a share of the lower flammable limit [%LFL].

    Parameters
    ----------
    vol_percent : float or ndarray
        Gas in air [vol%].
    basis : Basis
        The limit that 100 %LFL stands for.

    Notes
    -----
    A ratio [1]_; 100 %LFL is the limit itself. Misfit: another gas than the basis's own, for
    which the detector's relative response is needed (`true_percent_lfl`).

    References
    ----------
    .. [1] IEC 60079-29-1, definition of %LFL.

    Examples
    --------
    One bottle of 1.05 vol% propane on two bases:

    >>> for basis in PUBLISHED:
    ...     if basis.gas == "propane":
    ...         print(basis.source, round(float(percent_lfl(1.05, basis)), 2))
    IEC 60079-20-1:2010 61.76
    NFPA 497:2008 50.0
    """
    return 100.0 * vol_percent / basis.vol_percent


def vol_percent(percent: Quantity, basis: Basis) -> Quantity:
    """Return a share of the lower flammable limit as a share of volume [vol%].

    Parameters
    ----------
    percent : float or ndarray
        Reading [%LFL].
    basis : Basis
        The limit that 100 %LFL stands for.

    Notes
    -----
    The inverse of `percent_lfl` [1]_.

    References
    ----------
    .. [1] IEC 60079-29-1, definition of %LFL.

    Examples
    --------
    >>> round(float(vol_percent(30.0, Basis("propane", 2.1, "NFPA 497"))), 3)
    0.63
    """
    return percent * basis.vol_percent / 100.0


def rebased(percent: Quantity, *, used: Basis, true: Basis) -> Quantity:
    """Return what a reading on one basis is on another [%LFL].

    Parameters
    ----------
    percent : float or ndarray
        Reading [%LFL] on the basis that was used.
    used, true : Basis
        The basis the instrument was set on, and the one that is wanted.

    Notes
    -----
    Same volume, other denominator [1]_.

    References
    ----------
    .. [1] IEC 60079-29-1, definition of %LFL.

    Examples
    --------
    Set with a propane bottle as if 2.1 vol% were the limit; with 1.7 vol% in mind, 30 is 37:

    >>> nfpa, iec = Basis("propane", 2.1, "NFPA 497"), Basis("propane", 1.7, "IEC 60079-20-1")
    >>> round(float(rebased(30.0, used=nfpa, true=iec)), 2)
    37.06
    """
    return percent * used.vol_percent / true.vol_percent


def true_percent_lfl(shown: Quantity, response: Quantity) -> Quantity:
    """Return the share of the limit of a gas that the detector was not set with [%LFL].

    Parameters
    ----------
    shown : float or ndarray
        Reading [%LFL].
    response : float or ndarray
        Transfer factor K of that gas [-]: true over shown, from the instrument's own table.

    Notes
    -----
    ``K * shown`` [1]_. On a methane-set bead heavier vapours read low, K from 1 to about 3 (common
    practice, no source). Never apply K twice.

    References
    ----------
    .. [1] IEC 60079-29-2, use of correction factors.

    Examples
    --------
    >>> float(true_percent_lfl(30.0, 1.6))
    48.0
    """
    return shown * response


def mixture_limit(shares: Quantity, limits: Quantity) -> float:
    """Return the lower flammable limit of a mixed vapour in air [vol%].

    Parameters
    ----------
    shares : ndarray, shape (gases,)
        Parts of the flammable gases by volume, any common unit [-].
    limits : ndarray, shape (gases,)
        Their own lower limits [vol%].

    Notes
    -----
    Le Chatelier, ``1 / sum(y / L)`` [1]_: good for paraffins, doubtful for H2S and hydrogen.

    References
    ----------
    .. [1] Le Chatelier (1891).

    Examples
    --------
    50, 30 and 20 parts of propane, butane and pentane:

    >>> round(mixture_limit(np.array([50.0, 30, 20]), np.array([1.7, 1.4, 1.1])), 4)
    1.4488
    """
    parts = np.asarray(shares, float)
    return float(parts.sum() / (parts / np.asarray(limits, float)).sum())
