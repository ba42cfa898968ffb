"""One assessment, from two files to a folder: results, executed notebook, page, manifest, the inputs as received."""

from __future__ import annotations

import os
from collections.abc import Callable, Mapping
from concurrent.futures import Future
from dataclasses import dataclass
from pathlib import Path

from adhesion_stats.errors import InvalidSpecification, UnusableReadings, WrongUsage
from adhesion_stats.record import (
    canonical_bytes,
    manifest_bytes,
    new_folder,
    put,
    read_results,
    results_digest,
    time_from_environment,
)
from adhesion_stats.record.revision import REVISION, Predecessor, predecessor, revision_bytes
from adhesion_stats.reporting.notebook import assessment_notebook_ahead

__all__ = ["NOTEBOOK", "PAGE", "RESULTS", "WrittenAssessment", "write_assessment"]

RESULTS, NOTEBOOK, PAGE, MANIFEST = "results.json", "assessment.ipynb", "assessment.html", "manifest.json"


@dataclass(frozen=True)
class WrittenAssessment:
    """Where the record lies and what it says; ``rezoned``: pulls in other zones than in the record that it revises."""

    folder: Path
    results: Mapping[str, object]
    decision: str
    rezoned: Mapping[str, object] | None = None


def write_assessment(
    readings: Path,
    specification: Path,
    folder: Path,
    *,
    layout: Path | None = None,
    revises: tuple[Path, str] | None = None,
    progress: Callable[[str], None],
) -> WrittenAssessment:
    """Assess the readings against the specification and write the record into the new ``folder``.

    ``layout`` is a file that says how the readings are laid out; it becomes part of the record, byte for byte.
    ``revises`` names the record that this one takes the place of, and the reason.
    The folder is there whole or not at all. ``progress`` is told what begins.
    Raises ``UnusableReadings``, ``InvalidSpecification``, ``WrongUsage`` or ``UnwritableFolder``.
    """
    inputs = [path.name for path in (readings, specification, layout) if path is not None]
    names = [*inputs, RESULTS, NOTEBOOK, PAGE, MANIFEST, REVISION]
    if len({name.casefold() for name in names}) < len(names):
        raise WrongUsage(
            f"The record holds the inputs under their own names beside {', '.join(names[len(inputs) :])}; "
            f"{', '.join(inputs[:-1])} and {inputs[-1]} must differ from these and from each other."
        )
    old = None if revises is None else predecessor(revises[0])
    # The notebook's kernel starts while the libraries of this process are still loading, and waits for its files.
    with assessment_notebook_ahead(
        readings=readings.name,
        specification=specification.name,
        layout="" if layout is None else layout.name,
        results=RESULTS,
        revision="" if revises is None else REVISION,
    ) as execute_notebook:
        return _write(
            readings,
            specification,
            layout,
            folder,
            revises=None if old is None or revises is None else (old, revises[1]),
            execute_notebook=execute_notebook,
            progress=progress,
        )


def _write(
    readings: Path,
    specification: Path,
    layout: Path | None,
    folder: Path,
    *,
    revises: tuple[Predecessor, str] | None,
    execute_notebook: Callable[[Path], Future[bytes]],
    progress: Callable[[str], None],
) -> WrittenAssessment:
    from adhesion_stats.assessment import assess
    from adhesion_stats.assessment.rezoned import rezoned_since
    from adhesion_stats.entrance import file_content, layout_content, readings_from, specification_from

    progress(f"Reading {specification.name} and {readings.name}")
    terms_content = file_content(specification, InvalidSpecification)
    readings_content = file_content(readings, UnusableReadings)
    terms = specification_from(terms_content, file=specification.name)
    given = layout_content(layout)
    reading = readings_from(readings_content, file=readings.name, specification=terms, layout=given)
    assessment = assess(reading, terms)
    results = assessment.as_dict()
    with new_folder(folder) as inside:
        put(inside, readings.name, readings_content)
        put(inside, specification.name, terms_content)
        if given is not None:
            put(inside, *given)
        put(inside, RESULTS, canonical_bytes(results))
        revision = rezoned = None
        if revises is not None:
            since = rezoned_since(reading.pulls, terms, revises[0][1])
            rezoned = None if since is None else since.as_dict()
            content = revision_bytes(revises[0], results, reason=revises[1], rezoned=rezoned)
            put(inside, REVISION, content)
            revision = read_results(content)
        progress("Executing the notebook and rendering the page")
        notebook = execute_notebook(inside)

        from adhesion_stats.reporting.page import render_page

        put(inside, PAGE, render_page(results, revision).encode())
        put(inside, NOTEBOOK, notebook.result())
        put(
            inside,
            MANIFEST,
            manifest_bytes(
                folder=inside,
                results_digest=results_digest(results),
                parameters={
                    "readings": readings.name,
                    "specification": specification.name,
                    "layout": "" if given is None else given[0],
                    "results": RESULTS,
                },
                created=time_from_environment(os.environ),
            ),
        )
    return WrittenAssessment(folder, results, assessment.decision, rezoned)
