"""The tool's record on this ship: the verdicts that engineers confirmed and refuted."""

from __future__ import annotations

from dataclasses import dataclass

from alarmsift.report.words import Look, cause_look
from alarmsift.tables.diagnosis import Diagnosis


@dataclass(frozen=True)
class RecordLine:
    """Verdicts of one cause."""

    look: Look
    confirmed: int
    refuted: int


@dataclass(frozen=True)
class RecordView:
    """All of the record; ``findings`` counts the rows, ``conflicts`` those against signs of gas."""

    lines: tuple[RecordLine, ...]
    confirmed: int
    refuted: int
    findings: int
    conflicts: int


def record_view(diagnosis: Diagnosis) -> RecordView:
    """Return the record as the first page shows it."""
    record, findings = diagnosis.record, diagnosis.findings
    return RecordView(
        tuple(
            RecordLine(cause_look(row.cause), int(row.confirmed), int(row.refuted))
            for row in record.itertuples()
        ),
        int(record["confirmed"].sum()),
        int(record["refuted"].sum()),
        len(findings),
        int(findings["conflict"].astype(bool).sum()),
    )
