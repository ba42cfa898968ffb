"""The command line: ``adhesion-stats COMMAND``. Heavy imports happen inside the commands.

Exit codes: 0 ran; 2 usage or specification; 3 unusable readings; 4 an audit's numbers differ; 5 an audited record is
damaged or altered; 6 a decision named by ``--fail-on``; 1 our own fault.
"""

from __future__ import annotations

import argparse
import json
import sys
import time
import traceback
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from adhesion_stats import __version__
from adhesion_stats.errors import InvalidSpecification, NotebookFailed, UnusableReadings, WrongUsage

if TYPE_CHECKING:
    from adhesion_stats.assessment.check import Check
    from adhesion_stats.messages import Message
    from adhesion_stats.terms.layout import Layout
    from adhesion_stats.terms.specification import Specification

__all__ = ["main"]

RAN, OUR_FAULT, USAGE, UNUSABLE, DECIDED_AGAINST = 0, 1, 2, 3, 6
_FAIL_ON = {"nonconforming": ("does not conform",), "undetermined": ("does not conform", "undetermined")}


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="adhesion-stats",
        description="Pull-off tests on concrete: from readings and a contract's terms to a decision per zone "
        "that anyone can rerun.",
        epilog="Exit codes: 0 ran, 1 a fault of this program, 2 usage or specification, 3 unusable readings, "
        "4 an audit's numbers differ, 5 an audited record is damaged or altered, 6 a decision named by --fail-on.",
    )
    parser.add_argument("--version", action="version", version=f"adhesion-stats {__version__}")
    commands = parser.add_subparsers(dest="command", required=True, metavar="COMMAND")

    plan = commands.add_parser(
        "plan", help="before the first pull: how many pulls, where, and a readings form to fill in"
    )
    plan.add_argument(
        "specification", type=Path, metavar="SPEC.toml", help="what the contract asks, with a table [plan]"
    )
    plan.add_argument("--output", type=Path, required=True, metavar="DIR", help="new folder for the plan")
    plan.set_defaults(run=_plan)

    assess = commands.add_parser(
        "assess", help="decide every zone and write the record: notebook, page, results, manifest"
    )
    assess.add_argument("readings", type=Path, metavar="READINGS", help="readings file (CSV, XLSX, ODS or Parquet)")
    assess.add_argument("--specification", type=Path, required=True, metavar="SPEC.toml", help="what the contract asks")
    assess.add_argument(
        "--layout", type=Path, metavar="LAYOUT.toml", help="how the readings are laid out; beats the table [readings]"
    )
    assess.add_argument("--output", type=Path, required=True, metavar="DIR", help="new folder for the record")
    assess.add_argument(
        "--fail-on",
        choices=sorted(_FAIL_ON),
        help="exit with 6 when the contract does not conform (nonconforming), or when it is not shown to conform "
        "(undetermined)",
    )
    assess.add_argument("--revises", type=Path, metavar="OLD_DIR", help="the record that this one takes the place of")
    assess.add_argument("--reason", default="", metavar="TEXT", help="why it is revised; stands in the new record")
    assess.set_defaults(run=_assess)

    following = commands.add_parser("next", help="on site: where each zone stands and what the next pull may be")
    following.add_argument(
        "readings", type=Path, metavar="READINGS", help="the readings so far (CSV, XLSX, ODS or Parquet)"
    )
    following.add_argument(
        "--specification", type=Path, required=True, metavar="SPEC.toml", help="what the contract asks"
    )
    following.add_argument(
        "--layout", type=Path, metavar="LAYOUT.toml", help="how the readings are laid out; beats the table [readings]"
    )
    following.add_argument("--json", action="store_true", help="print one JSON object")
    following.set_defaults(run=_next)

    check = commands.add_parser("check", help="say what was read from a file and what is wrong with it")
    check.add_argument("readings", type=Path, metavar="READINGS", help="readings file (CSV, XLSX, ODS or Parquet)")
    check.add_argument("--specification", type=Path, metavar="SPEC.toml", help="what the contract asks")
    check.add_argument(
        "--layout", type=Path, metavar="LAYOUT.toml", help="how the readings are laid out; beats the table [readings]"
    )
    check.add_argument(
        "--write-layout", type=Path, metavar="NEW.toml", help="write the layout as understood, to correct and keep"
    )
    check.add_argument("--json", action="store_true", help="print one JSON object")
    check.set_defaults(run=_check)

    audit = commands.add_parser("audit", help="recompute a received record and say what differs or was altered")
    audit.add_argument("folder", type=Path, metavar="DIR", help="folder of the record")
    audit.add_argument("--readings", type=Path, metavar="FILE", help="your own copy of the readings, used instead")
    audit.add_argument("--output", type=Path, metavar="NEW_DIR", help="new folder for audit.html and audit.json")
    audit.add_argument("--against", type=Path, metavar="OTHER_DIR", help="compare the results of two records instead")
    audit.add_argument(
        "--manifest-sha256", default="", metavar="HEX", help="hash of the manifest that came to you another way"
    )
    audit.add_argument(
        "--specification-sha256", default="", metavar="HEX", help="hash of the specification that the contract names"
    )
    audit.add_argument(
        "--signed-by",
        action="append",
        default=[],
        metavar="SIGNER=KEY.pem",
        help="a signer and the public key that came to you another way; may be repeated",
    )
    audit.add_argument("--json", action="store_true", help="print the contents of audit.json")
    audit.set_defaults(run=_audit)

    sign = commands.add_parser("sign", help="sign the manifest of a record with an Ed25519 key")
    sign.add_argument("folder", type=Path, metavar="DIR", help="folder of the record")
    sign.add_argument("--key", type=Path, required=True, metavar="KEY.pem", help="private key, PEM without a password")
    sign.add_argument("--signer", required=True, metavar="NAME", help="such as tester, engineer or auditor")
    sign.set_defaults(run=_sign)

    crate = commands.add_parser("crate", help="write a record as an RO-Crate with a data package, for an archive")
    crate.add_argument("folder", type=Path, metavar="DIR", help="folder of the record")
    crate.add_argument("--output", type=Path, required=True, metavar="NEW_DIR", help="new folder for the crate")
    crate.add_argument("--date", metavar="YYYY-MM-DD", help="day of publication, where the record names no time")
    crate.add_argument("--license", default="", metavar="NAME", help="SPDX name or address of the data's licence")
    crate.set_defaults(run=_crate)

    form = commands.add_parser("form", help="write a blank readings form")
    form.add_argument("file", type=Path, metavar="FILE", help="new file, .xlsx or .csv")
    form.set_defaults(run=_form)
    return parser


def main(argv: Sequence[str] | None = None) -> int:
    """Run a command; return the exit code."""
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):  # a console in another code page must not stop a report
            stream.reconfigure(errors="backslashreplace")
    arguments = _parser().parse_args(argv)
    try:
        code = arguments.run(arguments)
    except UnusableReadings as error:
        print(f"These readings can't be used:\n{error}", file=sys.stderr)
        return UNUSABLE
    except InvalidSpecification as error:
        print(f"This specification can't be used:\n{error}", file=sys.stderr)
        return USAGE
    except WrongUsage as error:
        print(error, file=sys.stderr)
        return USAGE
    except NotebookFailed as error:
        print(error, file=sys.stderr)
        return OUR_FAULT
    except OSError as error:  # a full disk, a folder that may not be written: the record is absent, not in part
        print(f"The record could not be written: {error.strerror or error}. Nothing was left behind.", file=sys.stderr)
        return USAGE
    except KeyboardInterrupt:
        print("Interrupted; nothing was written.", file=sys.stderr)
        return 130
    except Exception:  # noqa: BLE001 - the last resort: say whose fault it is, with all that is needed to mend it
        traceback.print_exc()
        print("This is a fault of adhesion-stats, not of your files. Please report the lines above.", file=sys.stderr)
        return OUR_FAULT
    return int(code)


def _said(started: float, text: str) -> None:
    """A line of progress, with the seconds since the start."""
    print(f"{time.monotonic() - started:5.1f} s  {text}", file=sys.stderr, flush=True)


def _refuse_existing(output: Path) -> None:
    if output.exists() or output.is_symlink():
        raise WrongUsage(f"{output} exists already; a record is never overwritten. Name a new folder with --output.")


def _plan(arguments: argparse.Namespace) -> int:
    started = time.monotonic()
    output: Path = arguments.output
    _refuse_existing(output)
    from adhesion_stats.reporting.plan.folder import write_plan
    from adhesion_stats.reporting.plan.text import plan_text

    written = write_plan(arguments.specification, output, progress=lambda text: _said(started, text))
    print(plan_text(written))
    print(f"\nPlan: {output / 'plan.html'}")
    return RAN


def _next(arguments: argparse.Namespace) -> int:
    from adhesion_stats.reporting.plan.site import site_json, site_text, stands

    found = stands(arguments.readings, arguments.specification, layout=arguments.layout)
    print(site_json(found) if arguments.json else site_text(found))
    return RAN


def _assess(arguments: argparse.Namespace) -> int:
    from adhesion_stats.reporting.assess_folder import write_assessment
    from adhesion_stats.reporting.terminal import summary_table

    started = time.monotonic()
    output: Path = arguments.output
    _refuse_existing(output)
    written = write_assessment(
        arguments.readings,
        arguments.specification,
        output,
        layout=arguments.layout,
        revises=_revises(arguments),
        progress=lambda text: _said(started, text),
    )
    print(summary_table(written.results))
    print(f"\nReport: {output / 'assessment.html'}")
    failing = _FAIL_ON.get(arguments.fail_on or "", ())
    return DECIDED_AGAINST if written.decision in failing else RAN


def _revises(arguments: argparse.Namespace) -> tuple[Path, str] | None:
    reason = str(arguments.reason).strip()
    if (arguments.revises is None) != (reason == ""):
        raise WrongUsage('A revision needs both: --revises OLD_DIR and --reason "why".')
    return None if arguments.revises is None else (arguments.revises, reason)


def _specification(path: Path | None) -> Specification | None:
    if path is None:
        return None
    from adhesion_stats.entrance import read_specification

    return read_specification(path)


def _check(arguments: argparse.Namespace) -> int:
    from adhesion_stats.assessment.check import check
    from adhesion_stats.entrance import read_readings
    from adhesion_stats.messages import worst_first

    specification = _specification(arguments.specification)
    new_layout: Path | None = arguments.write_layout
    if new_layout is not None and (new_layout.exists() or new_layout.is_symlink()):
        raise WrongUsage(f"{new_layout} exists already and is not overwritten; name a new file with --write-layout.")
    try:
        reading = read_readings(arguments.readings, specification, arguments.layout)
    except UnusableReadings as error:
        if new_layout is not None:
            from adhesion_stats.entrance import understood_layout

            understood = understood_layout(arguments.readings, specification, arguments.layout)
            _write_layout(new_layout, understood, error.messages)
        if arguments.json:
            print(_json([], worst_first(error.messages)))
        raise
    if new_layout is not None:
        _write_layout(new_layout, reading.layout, reading.messages)
    result = check(reading, specification)
    if arguments.json:
        print(_json([_pull_object(result, i) for i in range(len(result.pulls))], worst_first(result.messages)))
    else:
        from adhesion_stats.locate import packaged
        from adhesion_stats.reporting.check_text import check_text

        ordered = worst_first(result.messages)
        print(check_text(result.pulls.file, result.facts, ordered, unit=result.pulls.entry_unit))
        if ordered:
            print(f"\nCauses and mends: {packaged('docs', 'findings.md')}")
    return RAN


def _write_layout(new: Path, layout: Layout, messages: Sequence[Message]) -> None:
    """Write the layout as far as it was understood; nothing is overwritten."""
    from adhesion_stats.reporting.layout_file import layout_text

    _write_new(new, layout_text(layout, messages).encode())
    print(f"Layout: {new}", file=sys.stderr)


def _write_new(file: Path, content: bytes) -> None:
    """Write a file that is not there yet."""
    try:
        with file.open("xb") as handle:
            handle.write(content)
    except FileExistsError:
        raise WrongUsage(f"{file} exists already and is not overwritten; name a new file.") from None
    except OSError as error:
        raise WrongUsage(f"{file} can't be written: {error.strerror}.") from error


def _pull_object(result: Check, i: int) -> dict[str, object]:
    from adhesion_stats.wording import say_dict

    facts = result.facts[i]
    reasons = facts["reasons"]
    assert isinstance(reasons, list)
    return {
        **{key: facts[key] for key in ("row", "sheet", "id", "zone")},
        "strength_mpa": facts["strength"],
        **{key: facts[key] for key in ("bound", "status")},
        "reasons": [say_dict(reason) for reason in reasons],
        **{key: facts[key] for key in ("failure", "date")},
    }


def _json(pulls: list[dict[str, object]], messages: list[Message]) -> str:
    from adhesion_stats.wording import say_with_place

    findings = [
        {
            "code": message.code,
            "severity": message.severity.value,
            "sheet": message.place.sheet,
            "row": message.place.row,
            "column": message.place.column,
            "text": say_with_place(message),
        }
        for message in messages
    ]
    return json.dumps({"pulls": pulls, "findings": findings}, ensure_ascii=True, indent=2, allow_nan=False)


def _audit(arguments: argparse.Namespace) -> int:
    from adhesion_stats.audit.command import run_audit

    return run_audit(arguments)


def _sign(arguments: argparse.Namespace) -> int:
    from adhesion_stats.audit.command import run_sign

    return run_sign(arguments)


def _crate(arguments: argparse.Namespace) -> int:
    from adhesion_stats.audit.command import run_crate

    return run_crate(arguments)


def _form(arguments: argparse.Namespace) -> int:
    from adhesion_stats.intake import blank_form

    file: Path = arguments.file
    kind = file.suffix.lower()
    if kind not in {".xlsx", ".csv"}:
        raise WrongUsage(f"{file}: a form is written as .xlsx or .csv; this name ends in {kind or 'nothing'!s}.")
    _write_new(file, blank_form("xlsx" if kind == ".xlsx" else "csv"))
    print(f"Form: {file}")
    return RAN
