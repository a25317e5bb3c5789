"""Line health: flow over suction against the line's own clean value.

Flow falls as suction rises when a line narrows or fills with water; both fall together when the
pump ages. So the ratio, relative to its own clean value and with what all lines share taken out,
belongs to the line, and what all lines share belongs to the pump.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from alarmsift.evidence.blocks import Blocks, block_medians
from alarmsift.evidence.shorth import shorth
from alarmsift.evidence.zero import display_step
from alarmsift.timeline.visits import Visits

# The two fits settle within this many turns (checked on ships with a worn pump).
ROUNDS = 3


@dataclass(frozen=True)
class LineModel:
    """Line health at every visit.

    Attributes
    ----------
    own : ndarray, shape (n,)
        ln of conductance over its clean value, what all lines share taken out; 0 = clean,
        ln 0.5 = twice the clean resistance; NaN where not logged.
    flow_share, common_share : ndarray, shape (n,)
        Flow over this line's clean flow, and the median of that over all lines at the time.
    head : ndarray, shape (n,)
        Suction that the clean resistance does not explain [kPa].
    clean_flow, clean_suction : ndarray, shape (P,)
    noise : ndarray, shape (P,)
        Spread of ``own`` in single visits.
    columns : str
        ``flow and suction``, ``flow``, ``suction`` or ``none``.
    blocks : Blocks
        Block medians of ``own``, shape (b, P).
    shared_blocks : ndarray, shape (b, P)
        What was taken out of ``own`` as shared by all lines.
    common_blocks : ndarray, shape (b, analysers)
        Block medians of ``common_share``.
    """

    own: np.ndarray
    flow_share: np.ndarray
    common_share: np.ndarray
    head: np.ndarray
    clean_flow: np.ndarray
    clean_suction: np.ndarray
    noise: np.ndarray
    columns: str
    blocks: Blocks
    shared_blocks: np.ndarray
    common_blocks: np.ndarray


def clean_level(blocks: np.ndarray) -> np.ndarray:
    """Return the clean level of each column of block medians (b, P) of a logarithm, shape (P,).

    The level it keeps to most; but a line that began better than that and stayed so for a while
    was cleaner then, and one that falls steadily was cleanest at its best days.
    """
    out = np.full(blocks.shape[1], np.nan)
    for column in range(blocks.shape[1]):
        series = blocks[:, column]
        series = series[np.isfinite(series)]
        if not len(series):
            continue
        usual = shorth(series)
        spread = 1.4826 * np.median(np.abs(np.diff(series))) if len(series) > 3 else 0.0
        start = np.median(series[: max(len(series) // 12, 3)])
        margin = max(4.0 * spread, 0.15)
        share_above = np.mean(series > usual + margin)
        # Where it ends as it began and was better in between, air was let in in between.
        finish = np.median(series[-max(len(series) // 12, 3) :])
        if abs(start - finish) < margin / 2 and start < usual - max(4.0 * spread, 0.08):
            out[column] = start
            continue
        # A joint that lets air in lifts the ratio too; it is rarely there from the first day.
        out[column] = start if (start > usual + margin and share_above > 0.05) else usual
    return out


def fit_lines(visits: Visits) -> LineModel:
    """Return the health of every line at every visit."""
    n, n_points = len(visits), len(visits.points)
    flow, suction = _floored(visits.flow), _floored(visits.suction)
    have_flow, have_suction = np.isfinite(flow).any(), np.isfinite(suction).any()
    drawn = visits.drawn
    blank = np.full(n, np.nan)
    log_flow, log_suction = np.log(flow), np.log(suction)
    if have_flow and have_suction:
        columns, ratio = "flow and suction", log_flow - log_suction
    elif have_flow:
        columns, ratio = "flow", log_flow
    elif have_suction:
        columns, ratio = "suction", -log_suction
    else:
        columns, ratio = "none", blank
    blocks = block_medians(visits, ratio, drawn)
    clean = clean_level(blocks.median)
    shared = _of_lines(visits, _shared(visits, blocks.median - clean[None, :]), clean, columns)
    # A tank's line is seen for some days of a voyage only, whatever the pump was like just then: so
    # each line's clean level is taken again with the shared part out, and the other way round.
    for _ in range(ROUNDS):
        clean = clean_level(blocks.median - shared)
        middle = _shared(visits, blocks.median - clean[None, :])
        shared = _of_lines(visits, middle - clean_level(middle)[None, :], clean, columns)
    relative = blocks.median - clean[None, :]
    shared_now = _at_lines(blocks, shared, visits)
    own = ratio - clean[visits.point] - shared_now
    flow_blocks = block_medians(visits, log_flow, drawn)
    clean_log_flow = clean_level(flow_blocks.median) if have_flow else np.full(n_points, np.nan)
    flow_share = np.exp(log_flow - clean_log_flow[visits.point])
    common_flow = _shared(visits, flow_blocks.median - clean_log_flow[None, :])
    common_share = np.exp(_at(flow_blocks, common_flow, visits)) if have_flow else blank
    suction_blocks = block_medians(visits, log_suction, drawn)
    clean_suction = np.exp(clean_level(suction_blocks.median))
    head = blank
    if columns == "flow and suction":
        head = suction - flow / np.exp(clean[visits.point] + shared_now)
    own_blocks = Blocks(blocks.hours, blocks.width, relative - shared)
    return LineModel(
        own=own,
        flow_share=flow_share,
        common_share=common_share,
        head=head,
        clean_flow=np.exp(clean_log_flow),
        clean_suction=clean_suction,
        noise=np.maximum(_noise(visits, own), _rounding(visits)),
        columns=columns,
        blocks=own_blocks,
        shared_blocks=shared,
        common_blocks=np.exp(common_flow),
    )


def _floored(column: np.ndarray) -> np.ndarray:
    """Return the column with nothing under half its display step, so that its log exists."""
    step = display_step(column) if np.isfinite(column).any() else 0.0
    return np.where(np.isfinite(column), np.maximum(column, max(step / 2.0, 1e-3)), np.nan)


def _analyser_of_point(visits: Visits) -> np.ndarray:
    out = np.zeros(len(visits.points), "int64")
    out[visits.point] = visits.analyser
    return out


def _shared(visits: Visits, relative: np.ndarray) -> np.ndarray:
    """Return what the lines of each analyser share, shape (b, analysers)."""
    analyser = _analyser_of_point(visits)
    out = np.zeros((len(relative), len(visits.analysers)))
    for code in range(len(visits.analysers)):
        lines = relative[:, analyser == code]
        if lines.shape[1] < 3:  # too few lines to tell the pump from one of them
            continue
        filled = np.isfinite(lines).sum(axis=1) >= 3
        middle = np.zeros(len(lines))
        if filled.any():
            middle[filled] = np.nanmedian(lines[filled], axis=1)
            hours = np.arange(len(lines))
            middle = np.interp(hours, hours[filled], middle[filled])
        out[:, code] = middle
    return out


def _at(blocks: Blocks, shared: np.ndarray, visits: Visits) -> np.ndarray:
    out = np.zeros(len(visits))
    for code in range(shared.shape[1]):
        mine = visits.analyser == code
        out[mine] = np.interp(visits.hours[mine], blocks.hours, shared[:, code])
    return out


def _of_lines(visits: Visits, shared: np.ndarray, clean: np.ndarray, columns: str) -> np.ndarray:
    """Return what each line takes of what all share, shape (b, P).

    A clogged filter before the gauge adds one resistance to every line, and a short line feels it
    most: with R the clean resistance of a line and F the filter's, ln(R / (R + F)). The middle of
    the lines gives F.
    """
    analyser = _analyser_of_point(visits)
    out = shared[:, analyser]
    if columns != "flow and suction":
        return np.asarray(out)
    for code in range(shared.shape[1]):
        lines = np.flatnonzero((analyser == code) & np.isfinite(clean))
        if len(lines) < 3:
            continue
        resistance = np.exp(-clean[lines])
        added = np.median(resistance) * np.expm1(np.maximum(-shared[:, code], 0.0))
        worse = -np.log1p(added[:, None] / resistance[None, :])
        out[:, lines] = np.where(shared[:, code : code + 1] < 0.0, worse, out[:, lines])
    return np.asarray(out)


def _at_lines(blocks: Blocks, shared: np.ndarray, visits: Visits) -> np.ndarray:
    out = np.zeros(len(visits))
    for point in range(shared.shape[1]):
        mine = visits.of(point)
        out[mine] = np.interp(visits.hours[mine], blocks.hours, shared[:, point])
    return out


def _rounding(visits: Visits) -> np.ndarray:
    """Return what the display's rounding alone makes of ln(flow) and ln(suction), shape (P,)."""
    out = np.zeros(len(visits.points))
    for column in (visits.flow, visits.suction):
        if not np.isfinite(column).any():
            continue
        step = display_step(column)
        for point in range(len(visits.points)):
            mine = column[visits.of(point)]
            mine = mine[np.isfinite(mine)]
            if len(mine):
                out[point] = max(out[point], 0.5 * step / max(float(np.median(mine)), step, 1e-3))
    return out


def _noise(visits: Visits, own: np.ndarray) -> np.ndarray:
    out = np.full(len(visits.points), 0.05)
    for point in range(len(visits.points)):
        diff = np.diff(own[visits.of(point)])
        diff = diff[np.isfinite(diff)]
        if len(diff) > 8:
            out[point] = max(1.4826 * float(np.median(np.abs(diff))) / np.sqrt(2.0), 0.02)
    return out
