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
        # Imported here: matplotlib and jinja2 take most of a second, and a command line that only
        # checks its target should not pay for them.
        from alarmsift.report.pages import write_pages  # noqa: PLC0415

        write_pages(diagnosis, part, pages, progress)
        if study is not None:
            from alarmsift.report.setpoint_folder import write_study  # noqa: PLC0415  (as above)

            write_study(study, part)
        progress.close()
    return folder
