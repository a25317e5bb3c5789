"""Where a point's page leads: to its neighbours, its place in the round, its detectors."""

from __future__ import annotations

from dataclasses import dataclass

import pandas as pd

from alarmsift.report.detector_names import detector_pages
from alarmsift.report.figures import text
from alarmsift.tables.diagnosis import Diagnosis


@dataclass(frozen=True)
class Link:
    """A name and the stem of its page; blank where it has none."""

    name: str
    page: str


@dataclass(frozen=True)
class PointLinks:
    """The points beside a point, those drawn before and after it, and its detectors."""

    neighbours: tuple[Link, ...] = ()
    drawn_before: Link | None = None
    drawn_after: Link | None = None
    detectors: tuple[Link, ...] = ()


def point_links(diagnosis: Diagnosis, row: pd.Series, pages: dict[str, str]) -> PointLinks:
    """Return where the page of one point leads.

    Parameters
    ----------
    diagnosis : Diagnosis
        What is shown.
    row : Series
        The point's row in ``diagnosis.points``, which stand in the order of the round.
    pages : dict
        Point -> page stem.
    """
    points = diagnosis.logs.points
    told = points.loc[points["point"] == row["point"], "neighbours"]
    before, after = _in_the_round(diagnosis.points, row, pages)
    return PointLinks(
        named_points(text(told.iloc[0]) if len(told) else "", pages),
        before,
        after,
        _detectors(diagnosis, row),
    )


def named_points(words: str, pages: dict[str, str]) -> tuple[Link, ...]:
    """Return the points that a cell of neighbours names; a name may hold blanks itself.

    Examples
    --------
    >>> named_points("A1 PUMP ROOM X", {"A1": "a1", "PUMP ROOM": "pump-room", "PUMP": "pump"})
    (Link(name='A1', page='a1'), Link(name='PUMP ROOM', page='pump-room'), Link(name='X', page=''))
    """
    rest, out = words.split(), []
    while rest:
        count = next(
            (n for n in range(len(rest), 0, -1) if " ".join(rest[:n]) in pages), 1
        )  # the longest name that there is
        name = " ".join(rest[:count])
        out.append(Link(name, pages.get(name, "")))
        rest = rest[count:]
    return tuple(out)


def _in_the_round(
    points: pd.DataFrame, row: pd.Series, pages: dict[str, str]
) -> tuple[Link | None, Link | None]:
    """Return the points that the same analyser draws just before and just after this one."""
    mine = points[points["analyser"].map(text) == text(row["analyser"])]
    names = mine["point"].astype(str).tolist()
    if len(names) < 2:
        return None, None
    here = names.index(str(row["point"]))
    before, after = names[here - 1], names[(here + 1) % len(names)]
    return Link(before, pages.get(before, "")), Link(after, pages.get(after, ""))


def _detectors(diagnosis: Diagnosis, row: pd.Series) -> tuple[Link, ...]:
    own = f"({text(row['analyser'])})"
    return tuple(
        Link(name, page)
        for name, page in detector_pages(diagnosis).items()
        if " " not in name or name.partition(" ")[2] == own
    )
