"""How high an alarm may be set at all."""

from __future__ import annotations

import math

# [%LFL]. Pump rooms: SOLAS II-2/4.5.10. All other spaces: FSS Code chapter 16 and
# MSC.1/Circ.1370, 1.2.1. A space of unknown kind is held to the stricter.
PUBLISHED_HC = {"pump_room": 10.0}
PUBLISHED_HC_OTHER = 30.0
KNOWN = ("ballast", "void", "cofferdam", "duct_keel", "cabinet", "other")


def ceiling(gas: str, kind: str, own: dict[str, float]) -> float:
    """Return the published ceiling or the user's own, the stricter; NaN where there is none.

    Examples
    --------
    >>> ceiling("HC", "void", {}), ceiling("HC", "pump_room", {"HC": 25.0})
    (30.0, 10.0)
    >>> ceiling("H2S", "void", {})
    nan
    """
    user = own.get(gas, math.nan)
    if gas != "HC":
        return user
    stated = PUBLISHED_HC_OTHER if kind in KNOWN else PUBLISHED_HC["pump_room"]
    return stated if math.isnan(user) else min(stated, user)


def overstepped(gas: str, kind: str, own: dict[str, float]) -> float:
    """Return the ceiling that today's setpoint is held to; NaN where there is none.

    A space of unknown kind can't be told to break the rule for pump rooms.

    Examples
    --------
    >>> overstepped("HC", "", {}), overstepped("HC", "pump_room", {})
    (30.0, 10.0)
    """
    return ceiling(gas, kind or "other", own)


def ceiling_words(gas: str, kind: str) -> str:
    """Return where the ceiling comes from."""
    if gas != "HC":
        return "[ceiling] in site.toml"
    if kind in KNOWN:
        return "FSS Code ch. 16, MSC.1/Circ.1370"
    known = "SOLAS II-2/4.5.10"
    return known if kind == "pump_room" else f"{known}, since the kind of space is not known"
