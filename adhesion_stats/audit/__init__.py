"""Audit: is a received record whole, does it follow from its raw files, and what could not be seen?

=========== ============================================================================================
received    the files of a folder as bytes, without trusting it
integrity   hashes, missing and extra files, whether the parts name each other rightly
recompute   the results again, from the raw files, in a fresh process with the installed library
documents   page and notebook against what the results give
outside     hashes and keys that came another way
independent the same by the twin, which shares no code with the library
=========== ============================================================================================

Nothing of the folder is executed. Imports everything below; must not be imported by anything but the command line.
"""

from __future__ import annotations

import tempfile
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Literal

from adhesion_stats.assessment.results import FORMAT_VERSION as RESULTS_VERSION
from adhesion_stats.audit.documents import CellChange, check_cells, check_outputs, check_page
from adhesion_stats.audit.independent import independent_opinion, not_made
from adhesion_stats.audit.integrity import Record, digest, record_of
from adhesion_stats.audit.outside import Outside, check_outside
from adhesion_stats.audit.received import receive
from adhesion_stats.audit.recompute import Recomputation, recompute, relative, what_changed
from adhesion_stats.errors import WrongUsage
from adhesion_stats.messages import Fact, Message, Place, Severity
from adhesion_stats.record import Change, Comparison, canonical_bytes, put
from adhesion_stats.record.manifest import machine, versions
from adhesion_stats.record.revision import REVISION
from adhesion_stats.reporting.assess_folder import NOTEBOOK, PAGE, RESULTS

__all__ = [
    "FORMAT",
    "FORMAT_VERSION",
    "Audit",
    "Outside",
    "audit_named",
    "audit_record",
    "compare_records",
    "rezoned_between",
]

FORMAT, FORMAT_VERSION = "adhesion_stats audit", 1
Outcome = Literal["reproduced", "second opinion differs", "numbers differ", "altered"]
_MOST_DIFFERENCES = 1000


@dataclass(frozen=True)
class Audit:
    """What an audit found.

    Attributes
    ----------
    outcome
        "reproduced", "second opinion differs" (reproduced, and the twin finds other numbers), "numbers differ", or
        "altered" (damaged, or changed after it was made), the worst that holds.
    record
        The record as received.
    messages
        Everything that was found, worst first within each step.
    comparison, changes
        Recorded against recomputed results; None and empty where nothing could be recomputed.
    recomputed
        The results as recomputed, None where the raw files can't be used.
    unusable
        "readings" or "specification" where these can't be used.
    versions
        Versions and kind of machine that are not those of the record: name -> (recorded, here).
    cells
        Cells of the notebook that are not the shipped ones.
    new_findings
        Findings of the recomputation (as dictionaries) that the record does not show.
    second
        What the twin says (see ``twin.SecondOpinion.as_dict``); None where it was not asked.
    """

    outcome: Outcome
    record: Record
    messages: tuple[Message, ...]
    comparison: Comparison | None = None
    changes: tuple[Change, ...] = ()
    recomputed: Mapping[str, object] | None = None
    unusable: str | None = None
    versions: Mapping[str, tuple[str | None, str | None]] = field(default_factory=dict)
    cells: tuple[CellChange, ...] = ()
    new_findings: tuple[Mapping[str, object], ...] = ()
    second: Mapping[str, object] | None = None

    def as_dict(self) -> dict[str, object]:
        """Plain values, as written to audit.json."""
        found = self.comparison
        return {
            "format": FORMAT,
            "format_version": FORMAT_VERSION,
            "outcome": self.outcome,
            "record": {
                "folder": self.record.received.folder.name,
                "manifest_sha256": self.record.manifest_sha256,
                "files": {name: digest(content) for name, content in sorted(self.record.received.files.items())},
            },
            "messages": [{**m.as_dict(), "file": m.place.file} for m in self.messages],
            "comparison": None
            if found is None
            else {
                "entries": found.entries,
                "inexact": found.inexact,
                "largest": found.largest,
                "number_of_differences": len(found.differences),
                "differences": [
                    {
                        "path": d.path,
                        "recorded": _plain(d.recorded),
                        "recomputed": _plain(d.recomputed),
                        "relative": relative(d),
                    }
                    for d in found.differences[:_MOST_DIFFERENCES]
                ],
            },
            "changes": [{"what": c.what, "recorded": c.recorded, "recomputed": c.recomputed} for c in self.changes],
            "versions": {name: list(pair) for name, pair in sorted(self.versions.items())},
            "cells": [{"cell": c.cell, "what": c.what, "lines": list(c.lines)} for c in self.cells],
            "new_findings": [dict(finding) for finding in self.new_findings],
            "second_opinion": None if self.second is None else dict(self.second),
        }


def _plain(value: object) -> object:
    """A side of a difference for JSON: what is not there is named."""
    return value if isinstance(value, str | int | float | bool | list | dict) or value is None else repr(value)


def audit_record(
    folder: Path, *, readings: Path | None = None, outside: Outside | None = None, independent: bool = False
) -> Audit:
    """Audit the record in ``folder``.

    Parameters
    ----------
    folder
        The folder as received.
    readings
        The auditor's own copy of the readings, used in place of the one in the folder.
    outside
        What came another way.
    independent
        Whether the twin is asked for a second opinion.

    Raises
    ------
    WrongUsage
        When the folder or the readings can't be read at all.
    """
    record = record_of(receive(folder))
    messages: list[Message] = list(record.problems)
    messages += check_outside(record, outside or Outside())
    differing = _versions(record)
    files = _raw(record, readings, messages)
    if files is None:
        second = not_made("", code="no_files") if independent else None
        return Audit(_outcome(messages, None), record, tuple(messages), versions=differing, second=second)
    answer = recompute(readings=files["readings"], specification=files["specification"], layout=files.get("layout"))
    comparison: Comparison | None = None
    changes: list[Change] = []
    new: list[Mapping[str, object]] = []
    if answer.results is None:
        messages += _unusable(answer)
    elif record.results is not None:
        older = record.results["format_version"] != answer.results["format_version"]
        if older:
            messages.append(_older(record))
        comparison, changes = what_changed(record.results, answer.results, older=older)
        new = _new_findings(record.results, answer.results)
    if record.results is not None:
        messages += _page(record, same_versions=not differing)
    reproduced = comparison is not None and not comparison.differences
    found, cells = _notebook(record, answer, files, reproduced=reproduced, same_versions=not differing)
    messages += found
    if record.revision is not None:
        facts: dict[str, Fact] = {"digest": str(record.revision.get("revises"))[:64]}
        messages.append(Message("audit_revision", Severity.NOTE, facts=facts))
    if differing:
        messages.append(Message("audit_versions_differ", Severity.NOTE, facts={"names": tuple(sorted(differing))}))
    opinion = _second(record, answer, files) if independent else None
    return Audit(
        _outcome(messages, comparison, opinion),
        record,
        tuple(messages),
        comparison,
        tuple(changes),
        answer.results,
        answer.unusable,
        differing,
        tuple(cells),
        tuple(new),
        opinion,
    )


def _second(record: Record, answer: Recomputation, files: Mapping[str, tuple[str, bytes]]) -> Mapping[str, object]:
    """The second opinion, or why there is none."""
    if record.results is None:
        return not_made("", code="no_results")
    if answer.unusable == "specification":
        return not_made("", code="no_terms")
    return independent_opinion(files, record.results, answer.layout)


def audit_named(
    folder: str,
    readings: str = "",
    manifest_sha256: str = "",
    specification_sha256: str = "",
    independent: str = "",
) -> Audit:
    """Audit with everything named by texts, as in the parameter cell of a notebook; "" for what there is not.

    ``independent``: "yes" asks for the second opinion. Raises ``WrongUsage`` for another word.
    """
    if independent.strip() not in {"", "yes", "no"}:
        raise WrongUsage(f'independent takes "yes", "no" or ""; came: {independent!r}.')
    outside = Outside(manifest_sha256.strip(), specification_sha256.strip())
    own = Path(readings) if readings else None
    return audit_record(Path(folder), readings=own, outside=outside, independent=independent.strip() == "yes")


def compare_records(folder: Path, other: Path) -> tuple[Record, Record, Comparison | None, list[Change]]:
    """Compare the recorded results of two records: contractor's and ours, before and after a revision."""
    first, second = record_of(receive(folder)), record_of(receive(other))
    if first.results is None or second.results is None:
        return first, second, None, []
    return first, second, *what_changed(first.results, second.results, older=False)


def rezoned_between(first: Record, second: Record) -> Mapping[str, object] | None:
    """Return which pulls stand in another zone in the second record than in the first, with the decisions of the second
    one's readings and terms by both zonings; None where none does, or where a record is damaged or can't be used.
    """
    from adhesion_stats.assessment.rezoned import rezoned_since
    from adhesion_stats.entrance import readings_from, specification_from
    from adhesion_stats.errors import InvalidSpecification, UnusableReadings

    readings, specification, layout = (second.file(role) for role in ("readings", "specification", "layout"))
    damaged = first.problems or second.problems
    if damaged or first.results is None or readings is None or specification is None:
        return None
    try:
        terms = specification_from(specification[1], file=specification[0])
        reading = readings_from(readings[1], file=readings[0], specification=terms, layout=layout)
        found = rezoned_since(reading.pulls, terms, first.results)
    except (UnusableReadings, InvalidSpecification):
        return None
    return None if found is None else found.as_dict()


def _outcome(
    messages: Sequence[Message], comparison: Comparison | None, second: Mapping[str, object] | None = None
) -> Outcome:
    if any(message.severity is Severity.ERROR for message in messages):
        return "altered"
    if comparison is None or comparison.differences:
        return "numbers differ"
    return "second opinion differs" if second is not None and second["outcome"] == "differs" else "reproduced"


def _raw(record: Record, readings: Path | None, messages: list[Message]) -> dict[str, tuple[str, bytes]] | None:
    """The raw files by role; None where one is missing."""
    from adhesion_stats.entrance import file_content
    from adhesion_stats.errors import UnusableReadings

    found = {role: file for role in ("readings", "specification", "layout") if (file := record.file(role)) is not None}
    if readings is not None:
        content = file_content(readings, UnusableReadings)
        recorded = found.get("readings")
        if recorded is not None and recorded[1] != content:
            facts: dict[str, Fact] = {"name": recorded[0], "own": digest(content), "recorded": digest(recorded[1])}
            messages.append(Message("audit_other_readings", Severity.ERROR, Place(readings.name), facts))
        found["readings"] = (readings.name if recorded is None else recorded[0], content)
    names = [name for name, _ in found.values()]
    usable = {"readings", "specification"} <= found.keys() and len({*names, RESULTS}) == len(names) + 1
    return found if usable else None


def _versions(record: Record) -> dict[str, tuple[str | None, str | None]]:
    """What computes here and is another version, or another kind of machine, than the record names."""
    found: dict[str, tuple[str | None, str | None]] = {}
    for key, here in (("versions", versions()), ("machine", machine())):
        said = record.manifest.get(key)
        recorded = said if isinstance(said, dict) else {}
        for name in dict.fromkeys([*recorded, *here]):
            pair = (None if recorded.get(name) is None else str(recorded[name]), here.get(name))
            if pair[0] != pair[1]:
                found[name if key == "versions" else f"machine.{name}"] = pair
    return found


def _older(record: Record) -> Message:
    """That the record was made by a version whose results hold less."""
    results, name = record.results, record.parameters["results"]
    assert results is not None
    return Message(
        "audit_older_form", Severity.NOTE, Place(name), {"name": name, "form": str(results["format_version"])}
    )


def _unusable(answer: Recomputation) -> list[Message]:
    from adhesion_stats.wording import message_of

    code = f"audit_unusable_{answer.unusable}"
    return [Message(code, Severity.ERROR, facts={"count": len(answer.messages)}), *map(message_of, answer.messages)]


def _new_findings(recorded: Mapping[str, object], recomputed: Mapping[str, object]) -> list[Mapping[str, object]]:
    """Findings of the recomputation that the record does not have."""
    old, new = recorded["messages"], recomputed["messages"]
    assert isinstance(old, list)
    assert isinstance(new, list)
    return [message for message in new if message not in old]


def _page(record: Record, *, same_versions: bool) -> list[Message]:
    """The page against the recorded results; nothing where these are of an older form."""
    results, page = record.results, record.received.files.get(PAGE)
    assert results is not None
    if page is None or results["format_version"] != RESULTS_VERSION:
        return []
    try:
        return check_page(PAGE, page, results, record.revision, same_versions=same_versions)
    except (KeyError, ValueError, TypeError, IndexError) as error:
        # Results of another version may hold what this version has no words for.
        facts: dict[str, Fact] = {"name": PAGE, "problem": f"{type(error).__name__}: {error}"[:200]}
        return [Message("audit_page_not_made", Severity.WARNING, Place(PAGE), facts)]


def _notebook(
    record: Record,
    answer: Recomputation,
    files: Mapping[str, tuple[str, bytes]],
    *,
    reproduced: bool,
    same_versions: bool,
) -> tuple[list[Message], list[CellChange]]:
    """The cells of the notebook against the shipped one; what they show, where the results were reproduced."""
    from adhesion_stats.reporting.notebook import unexecuted_assessment_notebook

    content = record.received.files.get(NOTEBOOK)
    if content is None:
        return [], []
    named = {role: files[role][0] if role in files else "" for role in ("readings", "specification", "layout")}
    revised = record.revision is not None
    revision = REVISION if revised else ""
    shipped = unexecuted_assessment_notebook(**named, results=RESULTS, revision=revision)
    messages, cells = check_cells(NOTEBOOK, content, shipped)
    if revised:
        files = {**files, "revision": (REVISION, record.received.files[REVISION])}
    if not messages and reproduced and answer.results is not None:
        messages = check_outputs(NOTEBOOK, content, _executed(answer.results, files), same_versions=same_versions)
    return messages, cells


def _executed(results: Mapping[str, object], files: Mapping[str, tuple[str, bytes]]) -> bytes:
    """The shipped notebook, executed on the raw files and the recomputed results."""
    from adhesion_stats.reporting.notebook import execute_assessment_notebook

    with tempfile.TemporaryDirectory(prefix="audit-") as name:
        folder = Path(name)
        for file, content in files.values():
            put(folder, file, content)
        put(folder, RESULTS, canonical_bytes(results))
        return execute_assessment_notebook(
            folder=folder,
            readings=files["readings"][0],
            specification=files["specification"][0],
            layout=files["layout"][0] if "layout" in files else "",
            results=RESULTS,
            revision=files["revision"][0] if "revision" in files else "",
        )
