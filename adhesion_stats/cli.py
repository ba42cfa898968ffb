"""The command line: ``adhesion-stats COMMAND``. Heavy imports happen inside the commands.

Exit codes: 0 ran; 2 usage or specification; 3 unusable readings; 4 an audit's numbers differ; 5 an audited record is
damaged or altered; 6 a decision named by ``--fail-on``; 1 our own fault.
"""

from __future__ import annotations

import argparse
import contextlib
import json
import sys
import time
import traceback
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from adhesion_stats.arguments import FAIL_ON, parser_of
from adhesion_stats.errors import InvalidSpecification, NotebookFailed, UnusableReadings, WrongUsage
from adhesion_stats.plain_text import plain_stream

if TYPE_CHECKING:
    from adhesion_stats.assessment.check import Check
    from adhesion_stats.messages import Message
    from adhesion_stats.terms.layout import Layout
    from adhesion_stats.terms.specification import Specification

__all__ = ["main"]

RAN, OUR_FAULT, USAGE, UNUSABLE, DECIDED_AGAINST = 0, 1, 2, 3, 6


def _parser() -> argparse.ArgumentParser:
    return parser_of(
        {
            "rules": _rules,
            "plan": _plan,
            "risk": _risk,
            "form": _form,
            "next": _next,
            "check": _check,
            "assess": _assess,
            "audit": _audit,
            "sign": _sign,
            "crate": _crate,
        }
    )


def main(argv: Sequence[str] | None = None) -> int:
    """Run a command; return the exit code."""
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):  # a console in another code page must not stop a report
            stream.reconfigure(errors="backslashreplace")
    # Names of files and what they hold are printed; none of it may command the terminal.
    with contextlib.redirect_stdout(plain_stream(sys.stdout)), contextlib.redirect_stderr(plain_stream(sys.stderr)):
        return _run(argv)


def _run(argv: Sequence[str] | None) -> int:
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


def _refuse_existing_file(file: Path) -> None:
    if file.exists() or file.is_symlink():
        raise WrongUsage(f"{file} exists already and is not overwritten; name a new file.")


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


def _risk(arguments: argparse.Namespace) -> int:
    from adhesion_stats.entrance import read_specification
    from adhesion_stats.planning.risk import risk_facts
    from adhesion_stats.planning.risk_asked import asked_from
    from adhesion_stats.reporting.risk_text import risk_json, risk_text

    asked = asked_from(vars(arguments))
    if arguments.output is not None:
        _refuse_existing_file(arguments.output)
    against = None if arguments.against is None else read_specification(arguments.against)
    facts = risk_facts(read_specification(arguments.specification), asked, against=against)
    if arguments.output is not None:
        from adhesion_stats.reporting.risk_page import render_risk

        _write_new(arguments.output, render_risk(facts).encode())
    print(risk_json(facts) if arguments.json else risk_text(facts))
    if arguments.output is not None:
        print(f"Page: {arguments.output}", file=sys.stderr)
    return RAN


def _next(arguments: argparse.Namespace) -> int:
    from adhesion_stats.reporting.plan.site import site_json, site_text, stands

    found = stands(arguments.readings, arguments.specification, layout=arguments.layout)
    print(site_json(found) if arguments.json else site_text(found))
    return RAN


def _assess(arguments: argparse.Namespace) -> int:
    from adhesion_stats.reporting.assess_folder import write_assessment
    from adhesion_stats.reporting.terminal import rezoned_lines, summary_table

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
    print(rezoned_lines(written.results, written.rezoned), end="")
    print(f"\nReport: {output / 'assessment.html'}")
    failing = FAIL_ON.get(arguments.fail_on or "", ())
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


def _rules(arguments: argparse.Namespace) -> int:
    from adhesion_stats.reporting.rules_text import rules_json, rules_text

    name = " ".join(arguments.name) or None
    print(rules_json(name) if arguments.json else rules_text(name))
    return RAN


def _form(arguments: argparse.Namespace) -> int:
    from adhesion_stats.intake import blank_form

    file: Path = arguments.file
    kind = file.suffix.lower()
    if kind not in {".xlsx", ".csv"}:
        raise WrongUsage(f"{file}: a form is written as .xlsx or .csv; this name ends in {kind or 'nothing'!s}.")
    _write_new(file, blank_form("xlsx" if kind == ".xlsx" else "csv"))
    print(f"Form: {file}")
    return RAN
