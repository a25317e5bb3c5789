"""Every word of the trade that the pages use, with one meaning and one address.

The words are explained at ``index.html#glossary``; each stands at ``#term-KEY`` there, and any page
can lead to it.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass

from alarmsift.report.words import CAUSES, CONDITIONS, REASONS, TREAT_AS, Look

WORDS: tuple[tuple[str, str], ...] = (
    ("point", "One sampling point: a place in a space, and the sample line from it."),
    ("line", "The small-bore pipe from a point to the analyser."),
    ("analyser", "Pump, selector valves and detectors; usually one a ship."),
    ("detector", "The instrument for one gas in an analyser, shared by all its points."),
    ("visit", "One turn of the analyser at one point: one value a gas."),
    ("round", "One turn over all connected points, also called a cycle."),
    (
        "cycle limit",
        "The longest time that a point may go unwatched; 30 minutes unless site.toml says.",
    ),
    ("reference point", "The point that should always draw clean air."),
    ("setpoint", "The value at which an alarm is raised; low, high or another level."),
    ("deadband", "How far a reading must go back past the setpoint before the alarm clears."),
    (
        "alarm",
        "A gas alarm; it goes from raised to cleared, and this report calls that an episode.",
    ),
    (
        "fault alarm",
        "An alarm of the system about itself, such as low flow: the point is not watched.",
    ),
    ("bout", "Alarms of one point, gas and level that follow closely and share a cause."),
    ("condition", "A state of a line, detector or analyser over time, with or without alarms."),
    ("sign", "One measured piece of evidence, with the rows that it rests on."),
    (
        "deciban",
        "The weight of a sign. 10 decibans make a cause ten times as likely against the rest, "
        "20 a hundred times, 3 about twice; negative ones speak against it.",
    ),
    ("runner-up", "The second most likely cause."),
    (
        "90 % interval",
        "A range that holds the true figure nine times out of ten, if its assumptions hold.",
    ),
    ("shared zero", "What a detector shows of itself at every point alike, with no gas there."),
    ("tolerance", "How far a detector may be off before it must be adjusted."),
    ("zero check", "Clean air is given to a detector: what it shows then is its error."),
    ("span check", "A test gas of known strength is given to a detector: it must show that."),
    ("as found, as left", "What a detector showed at a check before and after it was touched."),
    ("line health", "Flow over suction against its own clean value; 0.5 is twice the resistance."),
    ("flow share", "Flow over the flow of this line when clean."),
    ("chatter", "An alarm that comes and goes: three times raised within six visits."),
    ("standing alarm", "An alarm that stays on for a day or longer."),
    ("%LFL", "Per cent of the lower flammable limit, also called LEL."),
    ("ppm", "Parts of the gas in a million parts of air, by volume."),
    ("ship's time", "The clock of the logs; UTC stands beside it in smaller print."),
    ("SHA-256", "A fingerprint of a file: it changes when a single letter does."),
)
REASONS_SAID: dict[str, str] = {
    "disconnected": "The line was taken off, and no log shows that it was for too long.",
    "left_disconnected": "The space was empty again, and the line was still off.",
    "water": "Water stood in the line, so no air of the space reached the detector.",
    "blocked": "The line let too little through for a reading to mean anything.",
    "not_sampled": "The analyser went round without calling at this point.",
    "stopped": "No point was visited: the system stood still.",
    "slow_cycle": "The round took longer than the cycle limit.",
    "test": "The detectors were being checked or adjusted.",
    "no_log": "Rows are missing in the export. That is no proof that nobody watched.",
}


@dataclass(frozen=True)
class Term:
    """One word: ``key`` is its address; ``look`` and ``badge`` say how it is drawn, if it is."""

    key: str
    word: str
    meaning: str
    look: Look | None = None
    badge: str = ""


@dataclass(frozen=True)
class Chapter:
    """Terms of one kind."""

    title: str
    terms: tuple[Term, ...]


def address(word: str) -> str:
    """Return the part of the address that stands for a word.

    Examples
    --------
    >>> address("left_disconnected"), address("%LFL"), address("ship's time")
    ('left-disconnected', 'lfl', 'ships-time')
    """
    return re.sub(r"[^a-z0-9]+", "-", word.lower().replace("'", "")).strip("-")


def _causes() -> tuple[Term, ...]:
    return tuple(
        Term(
            f"cause-{address(key)}",
            look.word,
            f"{look.meaning[0].upper()}{look.meaning[1:]}.",
            look,
        )
        for key, look in CAUSES.items()
    )


CHAPTERS: tuple[Chapter, ...] = (
    Chapter("Words", tuple(Term(address(word), word, said) for word, said in WORDS)),
    Chapter("Causes", _causes()),
    Chapter(
        "How an alarm is to be treated",
        tuple(
            Term(f"treat-{key}", word, said, badge=key) for key, (word, _, said) in TREAT_AS.items()
        ),
    ),
    Chapter(
        "Conditions",
        tuple(
            Term(f"condition-{address(key)}", word, said)
            for key, (word, said) in CONDITIONS.items()
        ),
    ),
    Chapter(
        "Why a point went unwatched",
        tuple(
            Term(f"reason-{address(key)}", REASONS[key][0], said)
            for key, said in REASONS_SAID.items()
        ),
    ),
)
TERMS: Mapping[str, Term] = {term.key: term for part in CHAPTERS for term in part.terms}
