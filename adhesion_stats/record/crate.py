"""A record as an RO-Crate with a Frictionless data package, so that an archive understands it.

``ro-crate-metadata.json`` (RO-Crate 1.1, Process Run Crate 0.5) says which files there are and which program made them
of which; ``datapackage.json`` (Data Package 1.0, Table Schema) describes ``pulls.csv``: one row a pull, as read and
judged, whatever the layout of the raw file was. The files of the record are copied byte for byte.

Sources: RO-Crate Metadata Specification 1.1 (w3id.org/ro/crate/1.1); Process Run Crate profile 0.5
(w3id.org/ro/wfrun/process/0.5); Frictionless Data Package and Table Schema, version 1.0.
"""

from __future__ import annotations

import csv
import datetime as dt
import hashlib
import io
import mimetypes
import re
from collections.abc import Iterator, Mapping, Sequence

from adhesion_stats.errors import WrongUsage
from adhesion_stats.record.canonical import canonical_bytes
from adhesion_stats.record.manifest import MANIFEST
from adhesion_stats.record.signatures import is_signature

__all__ = ["CRATE", "PACKAGE", "PULLS", "crate_files"]

CRATE, PACKAGE, PULLS = "ro-crate-metadata.json", "datapackage.json", "pulls.csv"
_FORMULA = ("=", "+", "-", "@", "\t", "\r")
_NUMBER = re.compile(r"[+-]?[0-9]+(?:[.,][0-9]+)?")
_PROCESS = "https://w3id.org/ro/wfrun/process/0.5"
_PEOPLE = {"author": "Person", "publisher": "Organization", "agent": "Person"}  # types that the profiles ask for
_WRITTEN = re.compile(r"(?P<name>[^<>]+?)(?:\s*<(?P<address>https?://[^<>\s]+)>)?")
_SPDX = "https://spdx.org/licenses/"
# Name, type and meaning of each column of pulls.csv; the failure codes of the record follow.
_COLUMNS: tuple[tuple[str, str, str], ...] = (
    ("row", "integer", "Row of the pull in the raw file, counted from 1"),
    ("sheet", "string", "Sheet of the raw file"),
    (
        "id",
        "string",
        "Id of the pull as written; an apostrophe stands before a text that a spreadsheet would take for a formula",
    ),
    ("zone", "string", "Zone: the population that one decision is about"),
    ("strength_mpa", "number", "Pull-off strength, MPa; for a bound the value that it is above or below"),
    ("bound", "string", "at_least or at_most where the strength is known as a bound only"),
    ("status", "string", "Standing: counted, invalid, excluded, replaced or lost"),
    ("date", "date", "Date of the test"),
    ("retest_of", "string", "Id of the pull that this one repeats"),
    ("exclusion", "string", "Written reason of an exclusion"),
)


def crate_files(
    files: Mapping[str, bytes],
    manifest: Mapping[str, object],
    results: Mapping[str, object],
    *,
    date: dt.date | None,
    license_: str,
    people: Mapping[str, str],
) -> dict[str, bytes]:
    """Return the files of the crate: those of the record and the three that describe them.

    Parameters
    ----------
    files
        The record's files, name -> bytes.
    manifest, results
        Contents of its ``manifest.json`` and ``results.json``.
    date
        Day of publication; None takes that of the manifest.
    license_
        An SPDX name or an address; "" where none was given.
    people
        "author" (of the data), "publisher" and "agent" (who ran the assessment) by name, with an address behind it
        where there is one: "A. Tester <https://orcid.org/...>"; "" for who was not given. Nobody is added.

    Raises
    ------
    WrongUsage
        When no day of publication is known (RO-Crate asks for one), the record holds a file of these names, or a person
        is written in another way.
    """
    taken = sorted({CRATE, PACKAGE, PULLS} & files.keys())
    if taken:
        raise WrongUsage(f"The record holds a file called {taken[0]}, which a crate needs for itself.")
    created = manifest.get("created")
    published = date.isoformat() if date is not None else created if isinstance(created, str) else None
    if published is None:
        raise WrongUsage("A crate needs a day of publication, and the record names none: give --date YYYY-MM-DD.")
    pulls = _pulls_csv(results)
    described = {**files, PULLS: pulls, PACKAGE: canonical_bytes(_package(results))}
    graph = list(_graph(described, manifest, results, published=published, license_=license_, people=people))
    crate = {"@context": "https://w3id.org/ro/crate/1.1/context", "@graph": graph}
    return {**described, CRATE: canonical_bytes(crate)}


def _listed(results: Mapping[str, object], key: str) -> Sequence[Mapping[str, object]]:
    found = results[key]
    assert isinstance(found, list)  # results as the schema says
    return found


def _codes(results: Mapping[str, object]) -> list[str]:
    found: dict[str, None] = {}
    for pull in _listed(results, "pulls"):
        failure = pull["failure"]
        assert isinstance(failure, Mapping)
        found |= dict.fromkeys(map(str, failure))
    return sorted(found)


def _pulls_csv(results: Mapping[str, object]) -> bytes:
    codes = _codes(results)
    text = io.StringIO(newline="")
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow([name for name, _, _ in _COLUMNS] + [f"failure {code}" for code in codes])
    for pull in _listed(results, "pulls"):
        failure = pull["failure"]
        assert isinstance(failure, Mapping)
        cells = [pull["strength" if name == "strength_mpa" else name] for name, _, _ in _COLUMNS]
        shares = [failure.get(code) if failure else None for code in codes]
        writer.writerow([_cell(cell) for cell in (*cells, *shares)])
    return text.getvalue().encode()


def _cell(value: object) -> str:
    """A value as text; one that a spreadsheet would take for a formula has an apostrophe before it."""
    if not isinstance(value, str):
        return "" if value is None else repr(value) if isinstance(value, float) else str(value)
    return f"'{value}" if value.startswith(_FORMULA) and not _NUMBER.fullmatch(value) else value


def _package(results: Mapping[str, object]) -> dict[str, object]:
    fields: list[dict[str, object]] = [
        {"name": name, "type": kind, "description": text} for name, kind, text in _COLUMNS
    ]
    fields += [
        {
            "name": f"failure {code}",
            "type": "number",
            "description": f"Share of the area that broke at {code}, %",
            "constraints": {"minimum": 0, "maximum": 100},
        }
        for code in _codes(results)
    ]
    resource = {
        "name": "pulls",
        "path": PULLS,
        "profile": "tabular-data-resource",
        "format": "csv",
        "mediatype": "text/csv",
        "encoding": "utf-8",
        "schema": {"fields": fields, "missingValues": [""]},
    }
    return {
        "profile": "tabular-data-package",
        "name": "pull-off-tests",
        "title": _title(results),
        "resources": [resource],
    }


def _title(results: Mapping[str, object]) -> str:
    contract = results["contract"]
    assert isinstance(contract, Mapping)
    return str(contract["title"])


def _graph(
    files: Mapping[str, bytes],
    manifest: Mapping[str, object],
    results: Mapping[str, object],
    *,
    published: str,
    license_: str,
    people: Mapping[str, str],
) -> Iterator[dict[str, object]]:
    """The entities of the crate: descriptor, root, the run, the program, every file."""
    parameters, versions = manifest.get("parameters"), manifest.get("versions")
    assert isinstance(parameters, Mapping)
    assert isinstance(versions, Mapping)
    inputs = [str(parameters[role]) for role in ("readings", "specification", "layout") if parameters.get(role)]
    made = [name for name in files if name not in inputs and name != MANIFEST and not is_signature(name)]
    decision = results["decision"]
    assert isinstance(decision, Mapping)
    yield {
        "@id": CRATE,
        "@type": "CreativeWork",
        "about": {"@id": "./"},
        "conformsTo": {"@id": "https://w3id.org/ro/crate/1.1"},
    }
    root: dict[str, object] = {
        "@id": "./",
        "@type": "Dataset",
        "name": _title(results),
        "description": _description(results, str(decision["outcome"])),
        "datePublished": published,
        "conformsTo": {"@id": _PROCESS},
        "hasPart": [{"@id": _identifier(name)} for name in sorted(files)],
        "mentions": {"@id": "#assessment"},
        "identifier": {"@id": "#manifest-sha256"},
    }
    yield {
        "@id": "#manifest-sha256",
        "@type": "PropertyValue",
        "name": f"SHA-256 of {MANIFEST}",
        "propertyID": "SHA-256",
        "value": hashlib.sha256(files[MANIFEST]).hexdigest(),
    }
    named = {role: entity for role in _PEOPLE if (entity := _person(role, people.get(role, ""))) is not None}
    yield from {str(entity["@id"]): entity for entity in named.values()}.values()
    root |= {role: {"@id": named[role]["@id"]} for role in ("author", "publisher") if role in named}
    if license_:
        root["license"] = {"@id": license_ if "://" in license_ else f"{_SPDX}{license_}"}
        yield {"@id": root["license"]["@id"], "@type": "CreativeWork", "name": license_, "description": license_}  # type: ignore[index]
    yield root
    yield {"@id": _PROCESS, "@type": "CreativeWork", "name": "Process Run Crate", "version": "0.5"}
    yield {
        "@id": "#assessment",
        "@type": "CreateAction",
        "name": "Assessment of the readings against the specification",
        "description": "adhesion-stats assess: every zone is decided, and the record is written",
        "instrument": {"@id": "#adhesion-stats"},
        "object": [{"@id": _identifier(name)} for name in inputs],
        "result": [{"@id": _identifier(name)} for name in sorted(made)],
        "endTime": published,
        "actionStatus": "http://schema.org/CompletedActionStatus",
        **({"agent": {"@id": named["agent"]["@id"]}} if "agent" in named else {}),
    }
    yield {
        "@id": "#adhesion-stats",
        "@type": "SoftwareApplication",
        "name": "adhesion-stats",
        "description": "Decisions from pull-off adhesion tests",
        "softwareVersion": str(versions.get("adhesion_stats")),
        "softwareRequirements": ", ".join(f"{name} {v}" for name, v in sorted(versions.items()) if v is not None),
    }
    roles = {str(name): str(role) for role, name in parameters.items() if name}
    for name in sorted(files):
        yield {
            "@id": _identifier(name),
            "@type": "File",
            "name": name,
            "description": _described(name, roles),
            "encodingFormat": mimetypes.guess_type(name)[0] or "application/octet-stream",
            "contentSize": str(len(files[name])),
        }


def _description(results: Mapping[str, object], outcome: str) -> str:
    """What the crate holds, with structure, client and engineer as the contract names them."""
    contract = results["contract"]
    assert isinstance(contract, Mapping)
    said = [f"Assessment of pull-off adhesion tests. Decision for the contract: {outcome}."]
    said += [
        f"{key.capitalize()}: {contract[key]}." for key in ("structure", "client", "engineer") if contract.get(key)
    ]
    return " ".join(said)


def _person(role: str, written: str) -> dict[str, object] | None:
    """Who has a role, as an entity; None where nobody was given."""
    if not written.strip():
        return None
    found = _WRITTEN.fullmatch(written.strip())
    if found is None:
        raise WrongUsage(f'--{role} takes a name, or a name and an address such as "A. Tester <https://...>".')
    address = found["address"] or f"#{role}"
    return {"@id": address, "@type": _PEOPLE[role], "name": found["name"].strip()}


def _identifier(name: str) -> str:
    """The name as a relative address."""
    from urllib.parse import quote

    return quote(name)


def _described(name: str, roles: Mapping[str, str]) -> str:
    known = {
        MANIFEST: "Every file of the record with its SHA-256, and the versions that made it",
        PULLS: "Every pull as read and judged, one row each; described by datapackage.json",
        PACKAGE: "Columns of pulls.csv as a Table Schema",
        "assessment.html": "The assessment as a page",
        "assessment.ipynb": "The assessment as an executed notebook",
        "revision.json": "The record that this one takes the place of, and what changed",
    }
    raw = {
        "readings": "The readings as received",
        "specification": "What the contract asks, as received",
        "layout": "How the readings are laid out, as received",
        "results": "All results as data",
    }
    return known.get(name) or raw.get(roles.get(name, ""), "Detached signature of the manifest")
