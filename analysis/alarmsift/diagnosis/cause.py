"""The contract of a cause: what happened, what it is mistaken for, how common it is."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Cause:
    """One cause of an alarm.

    Attributes
    ----------
    key : str
        The file's name; one of the causes of ``alarmsift.tables.schema.CAUSES``.
    title : str
        The cause in a few words, for the reader; fits after "most likely".
    story : str
        What happens, one or two sentences.
    mistaken_for : tuple of str
        Causes that look alike.
    prior : float
        How common it is among alarms before any is looked at [decibans against even].
    prior_source : str
    applies : str
        ``alarm``, ``fault`` or ``both``.
    """

    key: str
    title: str
    story: str
    mistaken_for: tuple[str, ...]
    prior: float
    prior_source: str
    applies: str
