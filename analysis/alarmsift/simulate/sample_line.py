"""How much air one pump draws through a long thin line, and what the gauge then shows.

Range and misfit: laminar flow only. Past a Reynolds number of about 2000 a real line loses more
than this says (White, Fluid Mechanics: transition near 2300); lines here stay below it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from alarmsift.physics import line as law

_LITRE_A_MINUTE = 1.0 / 60_000.0  # [m3/s]
_LITRES = 1000.0  # [L/m3]
_MM = 1e-3  # [m]


def clean_resistance(length_m: np.ndarray, bore_mm: np.ndarray) -> np.ndarray:
    """Return the laminar resistance of clean lines.

    Parameters
    ----------
    length_m : ndarray, shape (n,)
        Length [m].
    bore_mm : ndarray, shape (n,)
        Inner diameter [mm].

    Returns
    -------
    ndarray, shape (n,)
        Resistance [kPa per L/min], from 128 mu L / (pi d^4) (Hagen-Poiseuille).

    Examples
    --------
    >>> round(float(clean_resistance(np.array(100.0), np.array(6.0))) * 5.0, 2)
    4.77
    """
    pascal = law.laminar_resistance(np.asarray(length_m), np.asarray(bore_mm) * _MM)
    return np.asarray(pascal * _LITRE_A_MINUTE / 1000.0)


def line_volume(length_m: np.ndarray, bore_mm: np.ndarray) -> np.ndarray:
    """Return the volume of lines [L], shape (n,), from length [m] and bore [mm]."""
    return np.asarray(law.line_volume(np.asarray(length_m), np.asarray(bore_mm) * _MM) * _LITRES)


@dataclass(frozen=True)
class LineState:
    """What stands in the way at each visit; arrays of shape (n,).

    Attributes
    ----------
    resistance : ndarray
        Clean resistance of the line [kPa per L/min].
    blockage : ndarray
        Resistance over its clean value [-], 1 = clean.
    head : ndarray
        Water head that the pump must lift [kPa].
    leak : ndarray
        Share of the drawn air that enters at a leaking joint [-].
    leak_place : ndarray
        Where the joint sits: 0 at the probe, 1 at the analyser [-].
    pump : ndarray
        What is left of the pump [-], 1 = new.
    filter_resistance : ndarray
        Of the filter that all lines share [kPa per L/min].
    """

    resistance: np.ndarray
    blockage: np.ndarray
    head: np.ndarray
    leak: np.ndarray
    leak_place: np.ndarray
    pump: np.ndarray
    filter_resistance: np.ndarray


def draw(
    line: LineState, free_flow: float, dead_head: float, *, gauge: str
) -> tuple[np.ndarray, np.ndarray]:
    """Return flow and gauge reading when the pump draws on each line.

    The pump's curve is taken as straight from free flow to dead head. A worn pump moves less and
    lifts less; the lift goes with the square root, since leakage past a vane matters less at
    standstill (a simplification, no source).

    Parameters
    ----------
    line : LineState
        Shape (n,).
    free_flow : float
        [L/min].
    dead_head : float
        [kPa].
    gauge : str
        ``line`` or ``pump``: side of the common filter.

    Returns
    -------
    flow : ndarray, shape (n,)
        [L/min].
    suction : ndarray, shape (n,)
        [kPa below ambient].
    """
    far = line.resistance * line.leak_place  # probe to joint: only the point's own air flows there
    near = line.resistance * (1.0 - line.leak_place)
    resistance = near + far * (1.0 - line.leak) + line.resistance * (line.blockage - 1.0)
    flow_max = free_flow * line.pump
    lift = dead_head * np.sqrt(line.pump)
    head = np.minimum(line.head, lift)
    total = resistance + line.filter_resistance
    flow = flow_max * (lift - head) / (lift + flow_max * total)
    suction = resistance * flow + head
    if gauge == "pump":
        suction = suction + line.filter_resistance * flow
    return flow, suction
