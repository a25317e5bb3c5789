"""How an alarm is to be treated: the one place where a verdict may call it a nuisance."""

from __future__ import annotations

import numpy as np

# By the asymmetry of the costs (1:99) an alarm is dismissed only under this probability of real
# gas: decision theory, act when P >= c/(c + r). A user may lower it, never raise it.
NUISANCE_BELOW = 0.01


def treat_as(
    cause: np.ndarray,
    real: np.ndarray,
    *,
    is_fault: np.ndarray,
    supported: np.ndarray,
    settled: np.ndarray,
    bound: float = NUISANCE_BELOW,
) -> np.ndarray:
    """Return ``gas``, ``nuisance``, ``unresolved`` or ``unwatched`` for E alarms.

    Parameters
    ----------
    cause : ndarray of str, shape (E,)
        The verdict.
    real : ndarray, shape (E,)
        P(gas) + P(ambient_vapour).
    is_fault : ndarray of bool, shape (E,)
    supported : ndarray of bool, shape (E,)
        Whether a positive sign speaks for the verdict's cause.
    settled : ndarray of bool, shape (E,)
        False for an alarm still open and for a lone visit not yet followed by another.
    bound : float
        Real gas at or over this probability is never called a nuisance.
    """
    bound = min(bound, NUISANCE_BELOW)
    is_gas = np.isin(cause, ["gas", "ambient_vapour"])
    nuisance = (
        (real < bound) & supported & settled & ~is_gas & (cause.astype(str) != "undetermined")
    )
    out = np.where(is_gas, "gas", np.where(nuisance, "nuisance", "unresolved")).astype(object)
    out[is_fault] = "unwatched"
    return out


def no_looser(treat: np.ndarray, built_in: np.ndarray) -> np.ndarray:
    """Return ``treat`` with ``unresolved`` where only it, and not ``built_in``, says nuisance.

    Parameters
    ----------
    treat, built_in : ndarray of str, shape (E,)
        :func:`treat_as` under weights of the user's own and under the built-in ones.

    Examples
    --------
    >>> no_looser(np.array(["nuisance", "nuisance", "gas"]), np.array(["nuisance", "gas", "gas"]))
    array(['nuisance', 'unresolved', 'gas'], dtype=object)
    """
    loosened = (treat == "nuisance") & (built_in != "nuisance")
    return np.where(loosened, "unresolved", treat.astype(object))
