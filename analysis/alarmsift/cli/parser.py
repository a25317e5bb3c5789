"""The words that the command line understands; a wrong one is answered in one clear message."""

from __future__ import annotations

import argparse
from typing import NoReturn

from alarmsift import __version__
from alarmsift.cli import describe, diagnose, incident, setpoints, simulate, verify
from alarmsift.cli.status import Status

_DESCRIPTION = (
    "Reads the logs of a tanker's fixed gas sampling system and says, for every alarm, what it "
    "most likely was, and which points were not really watched."
)
_CAUTION = (
    "No gas-free certificate and no permit to enter: every alarm is acted on as real until shown "
    "otherwise. Exit status: 0 output written, 2 input, command line or place for the output "
    "unusable, 3 rows were refused and --strict was given, 4 a pack is not intact."
)


class Parser(argparse.ArgumentParser):
    """Says what is wrong in one message instead of a page of usage."""

    def error(self, message: str) -> NoReturn:
        """Print the message and leave with the status for an unusable command line."""
        self.exit(Status.UNUSABLE, f"alarmsift: {_sentence(message)} See '{self.prog} --help'.\n")


def parser() -> argparse.ArgumentParser:
    """Return the parser of the whole command line."""
    top = Parser(prog="alarmsift", description=_DESCRIPTION, epilog=_CAUTION, allow_abbrev=False)
    top.add_argument("--version", action="version", version=f"alarmsift {__version__}")
    # For developers: let an unexpected error through with its traceback.
    top.add_argument("--traceback", action="store_true", help=argparse.SUPPRESS)
    commands = top.add_subparsers(title="commands", metavar="COMMAND", required=True)
    for command in (diagnose, describe, setpoints, incident, verify, simulate):
        part = commands.add_parser(
            command.NAME, help=command.HELP, description=command.DESCRIPTION, allow_abbrev=False
        )
        part.add_argument(
            "--traceback", action="store_true", default=argparse.SUPPRESS, help=argparse.SUPPRESS
        )
        command.arguments(part)
        part.set_defaults(command=command.run)
    return top


def _sentence(message: str) -> str:
    message = message.rstrip(".")
    return f"{message}."


__all__ = ["Parser", "parser"]
