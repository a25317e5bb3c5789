"""``alarmsift verify``: what of an evidence pack is intact, changed, missing or added."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from alarmsift.cli.bar import bar
from alarmsift.cli.places import shown
from alarmsift.errors import PackNotIntact

if TYPE_CHECKING:
    from alarmsift.incident.check import PackCheck

NAME = "verify"
HELP = "check an evidence pack: what is intact, changed, missing or added"
DESCRIPTION = (
    "Checks an evidence pack against its manifests and its signature, if it has one, and names "
    "what is changed, missing or added. Writes nothing. Exit status 4 when the pack is not as it "
    "was sealed."
)


def arguments(parser: argparse.ArgumentParser) -> None:
    """Add what this command understands."""
    parser.add_argument("pack", metavar="PACK", type=Path, help="folder of the pack")
    parser.add_argument(
        "--rerun",
        action="store_true",
        help="also work the tables out again from the pack's own sources, and compare",
    )


def run(options: argparse.Namespace) -> None:
    """Check, print, and say by the exit status whether all is well.

    Raises
    ------
    PackNotIntact
        When something was found against the pack; it was printed.
    """
    from alarmsift.incident.check import verify_pack

    check = verify_pack(options.pack)
    for word in ("changed", "missing", "added"):
        for name in getattr(check, word):
            print(f"{word:8} {name}")
    for objection in check.objections:
        print(f"bagit    {objection}")
    print(f"{len(check.intact)} files intact, {len(check.changed)} changed, ", end="")
    print(f"{len(check.missing)} missing, {len(check.added)} added.")
    print(_signature(check))
    agrees = _rerun(options.pack) if options.rerun else True
    if not check.whole:
        raise PackNotIntact(f"'{shown(options.pack)}' is not as it was sealed.")
    if not agrees:
        raise PackNotIntact(f"'{shown(options.pack)}' does not come out the same from its sources.")


def _signature(check: PackCheck) -> str:
    if check.signature == "none":
        return "Not signed: this shows that nothing changed since it was sealed, not who sealed it."
    if check.signature == "good":
        return (
            f"Signature good. SHA-256 of the public key: {check.signed_by}. It proves something "
            "only if the sender confirms that key to you another way."
        )
    if check.signature == "not checked":
        return "Signed, but not checked: install it with 'python -m pip install alarmsift[sign]'."
    return "Signature NOT good."


def _rerun(pack: Path) -> bool:
    """Print how the rerun came out, and return whether it agrees."""
    from alarmsift.incident.rerun import rerun_pack

    progress = bar()
    try:
        again = rerun_pack(pack, progress=progress)
    finally:
        progress.close()
    for name in again.different:
        print(f"differs  {name}")
    print(f"Rerun: {len(again.same)} files the same, {len(again.different)} different.")
    if again.different:
        print("data/versions.json names the programs it was made with; others may round otherwise.")
    return not again.different
