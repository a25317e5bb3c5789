"""The words for whoever receives a pack: what it is, how to check it, and what it does not say."""

from __future__ import annotations

from alarmsift.report.json_file import tool_version
from alarmsift.tables.incident import Incident

_TEXT = """\
EVIDENCE PACK OF A GAS SAMPLING SYSTEM
Ship:    {name}
Window:  {start} to {end} (UTC)
{extra}
WHAT THIS IS
The log files of the ship's fixed gas sampling system, {copies}, and what
alarmsift {version} read from them for the window above. Start with
data/report/index.html; it opens in any browser, needs no network, and can be printed.

  data/sources/      the log files{copies_short}
  data/sources.csv   each of them with its SHA-256, and that of the original
  data/rows/         the rows of the window, as they were understood
  data/tables/       timeline, response times, points, detectors, verdicts, evidence, ...
  data/report/       the page and its picture
  data/settings.json, data/versions.json   what was asked for, and with which programs

Times in tables are UTC (Z). Facts are rows of the logs, with file and row number (the line that
a text editor shows; the header is line 1). Inference is what was worked out from them, and is
marked as such; probabilities rest on weights that people set.

HOW TO CHECK THAT NOTHING WAS ALTERED
This folder is a BagIt bag (RFC 8493). Any BagIt tool can validate it. With Python:
  python -m pip install alarmsift
  alarmsift verify THIS_FOLDER            names what is changed, missing or added
  alarmsift verify THIS_FOLDER --rerun    works the tables out again and compares
Without any of these, compare the files with manifest-sha256.txt (sha256sum -c on Linux,
certutil -hashfile FILE SHA256 on Windows).
{signature}
WHAT IT DOES NOT SAY
A matching digest shows that a file is the same as when the pack was sealed. It does not show that
the logs were true, or complete, before that. The logs hold what the equipment wrote and no more;
what was not logged can't be seen here. This is no gas-free certificate and no finding of fault.
"""

_UNSIGNED = """
The pack is not signed: whoever could alter a file could also seal the pack again. Compare
tagmanifest-sha512.txt with a copy of it that reached you another way.
"""
_SIGNED = """
The pack is signed (signature.json: Ed25519 over tagmanifest-sha512.txt). The signature proves
something only if the public key in it is known to you from elsewhere: 'alarmsift verify' prints
its fingerprint; ask the sender to read it out.
"""


def receiver_text(incident: Incident, *, signed: bool) -> str:
    """Return the README of a pack."""
    asked = incident.asked
    extra = [f"Points:  {', '.join(asked.points)}"] if asked.points else []
    if asked.known_at is not None:
        extra.append(
            f"Known at {asked.known_at:%Y-%m-%d %H:%M:%S} UTC: no row after that was used in any "
            "figure.\n         data/sources holds the whole files."
        )
    if asked.left_out:
        extra.append(
            f"LEFT OUT of the copies: {', '.join(asked.left_out)}. The files are not the "
            "originals;\n         data/sources.csv gives the SHA-256 of those."
        )
    return _TEXT.format(
        name=incident.name,
        start=asked.start.strftime("%Y-%m-%d %H:%M:%S"),
        end=asked.end.strftime("%Y-%m-%d %H:%M:%S"),
        extra="".join(f"{line}\n" for line in extra),
        copies="with columns left out" if asked.left_out else "byte for byte",
        copies_short=" (columns left out)" if asked.left_out else "",
        version=tool_version(),
        signature=_SIGNED if signed else _UNSIGNED,
    )
