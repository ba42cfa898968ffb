"""What each command takes: one function a command, in the order in which ``--help`` lists them. Nothing runs here.

Imports: argparse. Must stay light: it is read at every start.
"""

from __future__ import annotations

import argparse
from collections.abc import Callable, Mapping
from pathlib import Path

from adhesion_stats import __version__

__all__ = ["FAIL_ON", "parser_of"]

FAIL_ON: Mapping[str, tuple[str, ...]] = {
    "nonconforming": ("does not conform",),
    "undetermined": ("does not conform", "undetermined"),
}
_READINGS = "readings file (CSV, XLSX, ODS or Parquet)"
_EXIT_CODES = (
    "Exit codes: 0 ran, 1 a fault of this program, 2 usage or specification, 3 unusable readings, 4 an audit's numbers "
    "differ, 5 an audited record is damaged or altered, 6 a decision named by --fail-on."
)
Parser = argparse.ArgumentParser


def parser_of(run: Mapping[str, Callable[[argparse.Namespace], int]]) -> Parser:
    """Return the parser of the command line; ``run`` holds what each command does, by its name."""
    parser = Parser(
        prog="adhesion-stats",
        description="Pull-off tests on concrete: from readings and a contract's terms to a decision per zone "
        "that anyone can rerun.",
        epilog=_EXIT_CODES,
    )
    parser.add_argument("--version", action="version", version=f"adhesion-stats {__version__}")
    commands = parser.add_subparsers(dest="command", required=True, metavar="COMMAND")
    for name, (text, arguments) in _COMMANDS.items():
        command = commands.add_parser(name, help=text)
        arguments(command)
        command.set_defaults(run=run[name])
    return parser


def _readings(command: Parser, text: str = _READINGS) -> None:
    command.add_argument("readings", type=Path, metavar="READINGS", help=text)


def _specification(command: Parser, *, required: bool) -> None:
    command.add_argument(
        "--specification", type=Path, required=required, metavar="SPEC.toml", help="what the contract asks"
    )


def _layout(command: Parser) -> None:
    command.add_argument(
        "--layout", type=Path, metavar="LAYOUT.toml", help="how the readings are laid out; beats the table [readings]"
    )


def _new_folder(command: Parser, text: str, *, metavar: str = "DIR", required: bool = True) -> None:
    command.add_argument("--output", type=Path, required=required, metavar=metavar, help=text)


def _json(command: Parser, text: str = "print one JSON object") -> None:
    command.add_argument("--json", action="store_true", help=text)


def _plan(command: Parser) -> None:
    command.add_argument(
        "specification", type=Path, metavar="SPEC.toml", help="what the contract asks, with a table [plan]"
    )
    _new_folder(command, "new folder for the plan")


def _form(command: Parser) -> None:
    command.add_argument("file", type=Path, metavar="FILE", help="new file, .xlsx or .csv")


def _next(command: Parser) -> None:
    _readings(command, "the readings so far (CSV, XLSX, ODS or Parquet)")
    _specification(command, required=True)
    _layout(command)
    _json(command)


def _check(command: Parser) -> None:
    _readings(command)
    _specification(command, required=False)
    _layout(command)
    command.add_argument(
        "--write-layout", type=Path, metavar="NEW.toml", help="write the layout as understood, to correct and keep"
    )
    _json(command)


def _assess(command: Parser) -> None:
    _readings(command)
    _specification(command, required=True)
    _layout(command)
    _new_folder(command, "new folder for the record")
    command.add_argument(
        "--fail-on",
        choices=sorted(FAIL_ON),
        help="exit with 6 when the contract does not conform (nonconforming), or when it is not shown to conform "
        "(undetermined)",
    )
    command.add_argument("--revises", type=Path, metavar="OLD_DIR", help="the record that this one takes the place of")
    command.add_argument("--reason", default="", metavar="TEXT", help="why it is revised; stands in the new record")


def _record(command: Parser) -> None:
    command.add_argument("folder", type=Path, metavar="DIR", help="folder of the record")


def _audit(command: Parser) -> None:
    _record(command)
    command.add_argument("--readings", type=Path, metavar="FILE", help="your own copy of the readings, used instead")
    _new_folder(command, "new folder for audit.html and audit.json", metavar="NEW_DIR", required=False)
    command.add_argument("--against", type=Path, metavar="OTHER_DIR", help="compare the results of two records instead")
    command.add_argument(
        "--independent",
        action="store_true",
        help="also compute it by a slow plain twin that shares no code with this program, and show both",
    )
    for what, text in (
        ("manifest", "hash of the manifest that came to you another way"),
        ("specification", "hash of the specification that the contract names"),
    ):
        command.add_argument(f"--{what}-sha256", default="", metavar="HEX", help=text)
    command.add_argument(
        "--signed-by",
        action="append",
        default=[],
        metavar="SIGNER=KEY.pem",
        help="a signer and the public key that came to you another way; may be repeated",
    )
    _json(command, "print the contents of audit.json")


def _sign(command: Parser) -> None:
    _record(command)
    command.add_argument(
        "--key", type=Path, required=True, metavar="KEY.pem", help="private key, PEM without a password"
    )
    command.add_argument("--signer", required=True, metavar="NAME", help="such as tester, engineer or auditor")


def _crate(command: Parser) -> None:
    _record(command)
    _new_folder(command, "new folder for the crate", metavar="NEW_DIR")
    command.add_argument("--date", metavar="YYYY-MM-DD", help="day of publication, where the record names no time")
    command.add_argument("--license", default="", metavar="NAME", help="SPDX name or address of the data's licence")
    for who, text in (
        ("author", "person who answers for the data"),
        ("publisher", "organization that publishes it"),
        ("agent", "person who ran the assessment"),
    ):
        command.add_argument(
            f"--{who}", default="", metavar="NAME", help=f'{text}; an address may follow: "A. Tester <https://...>"'
        )


def _risk(command: Parser) -> None:
    command.add_argument("specification", type=Path, metavar="SPEC.toml", help="what the contract asks")
    for name, metavar, text in (
        ("zone", "NAME", "the zone whose rule is looked at; else every different rule"),
        ("pulls", "N", "pulls of a zone; else the number that the contract asks for"),
        ("cov", "SHARE", "true coefficient of variation; 20%% where not given"),
        ("glue-share", "SHARE", "pulls that break in the glue, such as 10%%"),
        ("lost-share", "SHARE", "pulls that give no value"),
        ("between", "SHARE", "of the variance, the share between measurements; 50%% where not given"),
        ("broke", "SHARES", 'where pulls break, such as "A 70%%, A/B 30%%"'),
        ("zones", "N", "zones of the contract that must all conform"),
        ("good", "MEAN", 'true mean of a zone that should pass, such as "2.0 MPa"'),
        ("bad", "MEAN", 'true mean of a zone that should not, such as "1.2 MPa"'),
    ):
        command.add_argument(f"--{name}", metavar=metavar, help=text)
    command.add_argument(
        "--distribution", default="normal", metavar="NAME", help="normal (where not given), lognormal or weibull"
    )
    command.add_argument("--against", type=Path, metavar="OTHER.toml", help="a second specification, side by side")
    command.add_argument("--seed", default="1", metavar="N", help="seed of what is simulated")
    command.add_argument("--output", type=Path, metavar="FILE.html", help="also write a page with the curves")
    _json(command)


def _rules(command: Parser) -> None:
    command.add_argument(
        "name", nargs="*", metavar="NAME", help="name of a rule or method, or its document; else all are listed"
    )
    _json(command, "print a JSON list")


# Name of the command -> what --help says of it, what it takes.
_COMMANDS: Mapping[str, tuple[str, Callable[[Parser], None]]] = {
    "rules": ("list published rules and methods, or show one with the source of each number", _rules),
    "plan": ("before the first pull: how many pulls, where, and a readings form to fill in", _plan),
    "risk": ("before signing: how often a rule passes good and bad zones", _risk),
    "form": ("write a blank readings form", _form),
    "next": ("on site: where each zone stands and what the next pull may be", _next),
    "check": ("say what was read from a file and what is wrong with it", _check),
    "assess": ("decide every zone and write the record: notebook, page, results, manifest", _assess),
    "audit": ("recompute a received record and say what differs or was altered", _audit),
    "sign": ("sign the manifest of a record with an Ed25519 key", _sign),
    "crate": ("write a record as an RO-Crate with a data package, for an archive", _crate),
}
