"""Writes the report folder, whole or not at all."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from alarmsift.report.csv_files import write_csv_files
from alarmsift.report.given import with_all_columns
from alarmsift.report.json_file import write_json_file
from alarmsift.report.page_names import page_names
from alarmsift.report.parquet_files import write_parquet_files
from alarmsift.report.place import whole_folder
from alarmsift.tables.diagnosis import Diagnosis
from alarmsift.tables.progress import SILENT, Progress

if TYPE_CHECKING:
    from alarmsift.setpoints.study import SetpointStudy


def write_report(
    diagnosis: Diagnosis,
    folder: Path,
    *,
    study: SetpointStudy | None = None,
    progress: Progress = SILENT,
) -> Path:
    """Write the report of a diagnosis.

    Parameters
    ----------
    diagnosis : Diagnosis
        What to show; nothing of it is computed here.
    folder : Path
        Where the report is to stand. A report that alarmsift wrote before is replaced; a folder
        with other content is refused.
    study : SetpointStudy, optional
        A setpoint study of the same logs, written as ``setpoints.html``, ``.csv``, ``.json``.
    progress : Progress
        Told what is being written.

    Returns
    -------
    Path
        ``folder``.

    Raises
    ------
    OutputError
        When it can't be written there; what stood there is then untouched.
    """
    folder, diagnosis = Path(folder), with_all_columns(diagnosis)
    pages = page_names(diagnosis.points)
    with whole_folder(folder, "report") as part:
        progress.stage("Writing tables")
        write_csv_files(diagnosis, part)
        write_json_file(diagnosis, part)
        write_parquet_files(diagnosis.logs, part)
        progress.stage("Drawing pages", total=len(pages) + 1)
        _write_pages(diagnosis, part, pages, progress)
        if study is not None:
            from alarmsift.report.setpoint_folder import write_study  # noqa: PLC0415  (as below)

            write_study(study, part)
        progress.close()
    return folder


def _write_pages(
    diagnosis: Diagnosis, folder: Path, pages: dict[str, str], progress: Progress
) -> None:
    # Imported here: matplotlib and jinja2 take most of a second, and a command line that only
    # checks its target should not pay for them.
    from alarmsift.report.detector_names import detector_pages  # noqa: PLC0415
    from alarmsift.report.detector_page import detector_page  # noqa: PLC0415
    from alarmsift.report.detector_pictures import detector_pictures  # noqa: PLC0415
    from alarmsift.report.index_page import index_page  # noqa: PLC0415
    from alarmsift.report.pdf_report import write_pdf  # noqa: PLC0415
    from alarmsift.report.pictures import Pictures  # noqa: PLC0415
    from alarmsift.report.point_page import point_page  # noqa: PLC0415
    from alarmsift.report.point_series import whole_window  # noqa: PLC0415
    from alarmsift.report.render import (  # noqa: PLC0415
        detector_html,
        environment,
        index_html,
        point_html,
        watch_html,
    )
    from alarmsift.report.watch_page import watch_page  # noqa: PLC0415

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
