"""The sentence that names a user's own weights of evidence wherever verdicts are shown."""

from __future__ import annotations

from alarmsift.tables.diagnosis import Diagnosis


def weights_words(diagnosis: Diagnosis) -> str:
    """Return the sentence, blank when all weights are built in."""
    change = diagnosis.weights_change
    if change is None:
        return ""
    rows = "1 row differs" if change.rows == 1 else f"{change.rows} rows differ"
    return (
        f"Weights of evidence were changed by {change.name}: {rows} from the built-in table. "
        "No alarm is a nuisance that is none under the built-in weights."
    )
