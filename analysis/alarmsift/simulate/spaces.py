"""The spaces of an invented tanker, and the points and lines in them."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from alarmsift.simulate.settings import PointPlan

_BALLAST = (
    "WBT {n}{s} {h}",
    "WBT-{n}{s}-{h}",
    "No.{n} W.B.T. ({s}) {h}",
    "BT{n}{s}{h}",
    "{n}{s} WBT {h}",
)
_HEIGHTS = (("upper", "lower"), ("U", "L"), ("UP", "LO"), ("TOP", "BTM"))
_EXPOSURE = {  # share of the deck's vapour that is drawn in; no source
    "ballast": (0.05, 0.5),
    "void": (0.02, 0.3),
    "pump_room": (0.1, 0.8),
    "cofferdam": (0.02, 0.25),
    "duct_keel": (0.02, 0.2),
    "cabinet": (0.1, 0.7),
    "other": (0.1, 0.6),
}
_VOLUME = {  # [m3]
    "ballast": (800.0, 6000.0),
    "void": (150.0, 1500.0),
    "pump_room": (400.0, 2500.0),
    "cofferdam": (80.0, 600.0),
    "duct_keel": (300.0, 900.0),
    "cabinet": (1.0, 3.0),
    "other": (50.0, 500.0),
}


def draw_points(rng: np.random.Generator, wanted: int, *, reference: bool) -> list[PointPlan]:
    """Return the points of one ship in the order of the round.

    Parameters
    ----------
    rng : Generator
        Source of chance.
    wanted : int
        About how many points, 8 to 30.
    reference : bool
        Whether the round holds a point that draws clean air.
    """
    singles = _singles(rng, wanted)
    tanks = max(2, (wanted - len(singles) - int(reference)) // 2)
    form, (upper, lower) = str(rng.choice(_BALLAST)), _HEIGHTS[int(rng.integers(len(_HEIGHTS)))]
    bore, stretch = float(rng.choice([6.0, 6.0, 8.0])), float(rng.uniform(0.7, 1.4))
    points: list[PointPlan] = []
    for tank in range(tanks):
        number, side = tank // 2 + 1, "PS"[tank % 2]
        space = f"WBT {number}{side}"
        lone = rng.random() < 0.15
        for height, word in (("upper", upper), ("lower", lower)):
            if lone and height == "upper":
                continue
            name = form.format(n=number, s=side, h="" if lone else word).strip(" -")
            length = (30.0 + 28.0 * (tanks // 2 - tank // 2)) * stretch * rng.uniform(0.9, 1.15)
            plan = _plan(rng, name, space, "ballast", length, bore)
            points.append(replace(plan, height="single" if lone else height))
    for name, kind in singles:
        space = name.rstrip(" 0123456789") if kind == "pump_room" else name
        length = float(rng.uniform(15.0, 160.0)) * stretch
        points.append(_plan(rng, name, space, kind, length, bore))
    if rng.random() < 0.25:
        points = [points[i] for i in rng.permutation(len(points))]
    if reference:
        word = str(rng.choice(["CABINET", "Cabinet air", "FRESH AIR", "REF AIR", "Analyser room"]))
        plan = _plan(rng, word, "Cabinet", "cabinet", 3.0, bore)
        points.append(replace(plan, reference=True))
    return _join(rng, points)


def _singles(rng: np.random.Generator, wanted: int) -> list[tuple[str, str]]:
    out = [
        ("PUMP ROOM" + (f" {i + 1}" if i else ""), "pump_room") for i in range(rng.integers(0, 4))
    ]
    out += [("DUCT KEEL", "duct_keel")] if rng.random() < 0.5 else []
    out += [(f"VOID {i + 1}", "void") for i in range(rng.integers(0, max(2, wanted // 5)))]
    out += [(f"COFFERDAM {'FA'[i]}", "cofferdam") for i in range(rng.integers(0, 3))]
    out += [("BOSUN STORE", "other")] if rng.random() < 0.2 else []
    return out[: max(1, wanted - 5)]


def _plan(
    rng: np.random.Generator, name: str, space: str, kind: str, length: float, bore: float
) -> PointPlan:
    return PointPlan(
        name=name,
        space=space,
        kind=kind,
        order=0,
        length_m=round(float(length), 0),
        bore_mm=bore,
        volume_m3=round(float(rng.uniform(*_VOLUME[kind])), -1) or 2.0,
        neighbours=(),
        analyser="A1",
        exposure=float(rng.uniform(*_EXPOSURE[kind])),
    )


def _join(rng: np.random.Generator, points: list[PointPlan]) -> list[PointPlan]:
    """Return the points numbered, with one volume a space and the nearest of the next spaces."""
    spaces = list(dict.fromkeys(p.space for p in points if not p.reference))
    volume = {p.space: p.volume_m3 for p in points}
    out = []
    for order, point in enumerate(points, start=1):
        near: tuple[str, ...] = ()
        if not point.reference:
            at = spaces.index(point.space)
            others = {spaces[k] for k in (at - 2, at + 1, at + 2) if 0 <= k < len(spaces)}
            near = tuple(p.name for p in points if p.space in others and p.height != "upper")
        out.append(replace(point, order=order, volume_m3=volume[point.space], neighbours=near[:3]))
    return out
