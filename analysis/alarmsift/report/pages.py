"""The pages, pictures and papers of a report folder."""

from __future__ import annotations

from pathlib import Path

from alarmsift.report.detector_names import detector_pages
from alarmsift.report.detector_page import detector_page
from alarmsift.report.detector_pictures import detector_pictures
from alarmsift.report.index_page import index_page
from alarmsift.report.pdf_report import write_pdf
from alarmsift.report.pictures import Pictures
from alarmsift.report.point_page import point_page
from alarmsift.report.point_series import whole_window
from alarmsift.report.render import (
    detector_html,
    environment,
    index_html,
    point_html,
    watch_html,
)
from alarmsift.report.watch_page import watch_page
from alarmsift.tables.diagnosis import Diagnosis
from alarmsift.tables.progress import Progress


def write_pages(
    diagnosis: Diagnosis, folder: Path, pages: dict[str, str], progress: Progress
) -> None:
    """Write every page, picture and paper into a new report folder.

    Parameters
    ----------
    diagnosis : Diagnosis
        With all its columns.
    folder : Path
        Must be there, without pages.
    pages : dict of str
        Name of each point's page, without its ending.
    progress : Progress
    """
    for name in ("points", "detectors", "plots"):
        (folder / name).mkdir()
    window, env = whole_window(diagnosis), environment()
    pictures = Pictures(diagnosis, folder / "plots", window)
    for _, row in diagnosis.points.iterrows():
        point = str(row["point"])
        stem = pages[point]
        page = point_page(
            diagnosis, row, plots=pictures.of_point(point, stem), window=window, pages=pages
        )
        _write(folder / "points" / f"{stem}.html", point_html(env, page))
        progress.step()
    drawn = detector_pictures(diagnosis, folder / "plots", window)
    for name, stem in detector_pages(diagnosis).items():
        detector = detector_page(diagnosis, name, plots=drawn[name], pages=pages)
        _write(folder / "detectors" / f"{stem}.html", detector_html(env, detector))
    zeros = {name: plots[0].svg for name, plots in drawn.items()}
    index = index_page(diagnosis, pages, window=window, detector_svgs=zeros)
    _write(folder / "index.html", index_html(env, index))
    _write(folder / "watch.html", watch_html(env, watch_page(diagnosis, index.urgent_items)))
    write_pdf(diagnosis, index, pages, folder / "report.pdf")
    progress.step()


def _write(path: Path, text: str) -> None:
    path.write_text(text, encoding="utf-8", newline="\n")
