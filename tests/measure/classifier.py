"""A supervised stand-in: a general classifier, cross-validated by ship.

It learns from other ships with known truth, which a user never has; it says how much the logs
hold, not how a product could work.
"""

from __future__ import annotations

import numpy as np
import pandas as pd
from sklearn.ensemble import HistGradientBoostingClassifier
from sklearn.model_selection import GroupKFold

from alarmsift.tables.schema import REAL, UNDETERMINED

FAULT_CAUSES = ("water", "blocked", "pump")
FOLDS = 5
# The contract's limits, as for the product: a cause is named from, nuisance is settled below.
NAMED_FROM, NUISANCE_BELOW = 0.5, 0.01


def learn(x: np.ndarray, rows: pd.DataFrame) -> tuple[np.ndarray, list[str]]:
    """Return probabilities (E, C) from models that never saw the row's ship, and the causes.

    ``x`` (E, F) may hold NaN; ``rows`` has ``ship``, ``kind``, ``truth`` and ``weight``.
    """
    causes = sorted(rows["truth"].unique())
    target = rows["truth"].map({cause: i for i, cause in enumerate(causes)}).to_numpy(int)
    weight = rows["weight"].to_numpy(float)
    share = np.bincount(target, weight, len(causes))
    weight = weight * (share.sum() / len(causes) / share)[target] ** 0.5  # no cause by number alone
    p = np.zeros((len(rows), len(causes)))
    for train, test in GroupKFold(FOLDS).split(x, groups=rows["ship"]):
        told = np.isfinite(x[train]).any(axis=0)
        model = HistGradientBoostingClassifier(
            max_iter=80,
            max_leaf_nodes=16,
            min_samples_leaf=15,
            l2_regularization=2.0,
            max_features=0.25,
            random_state=0,
        )
        model.fit(x[train][:, told], target[train], sample_weight=weight[train])
        p[np.ix_(test, model.classes_)] = model.predict_proba(x[test][:, told])
    fault = (rows["kind"] == "fault").to_numpy()
    p[np.ix_(fault, [cause not in FAULT_CAUSES for cause in causes])] = 0.0
    p[np.ix_(~fault, [cause == "pump" for cause in causes])] = 0.0
    return p / np.maximum(p.sum(axis=1, keepdims=True), 1e-12), causes


def named(p: np.ndarray, causes: list[str], rows: pd.DataFrame) -> pd.DataFrame:
    """Return the rows with ``cause``, ``probability``, ``p_gas`` and ``treat_as``."""
    top = p.max(axis=1)
    cause = np.where(top >= NAMED_FROM, np.array(causes, object)[p.argmax(axis=1)], UNDETERMINED)
    real = p[:, [name in REAL for name in causes]].sum(axis=1)
    treat = np.where(np.isin(cause, REAL), "gas", "unresolved")
    treat = np.where(real < NUISANCE_BELOW, "nuisance", treat)
    return rows.assign(
        cause=cause,
        probability=top,
        p_gas=p[:, causes.index("gas")],
        treat_as=np.where(rows["kind"] == "fault", "unwatched", treat),
    )
