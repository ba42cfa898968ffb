"""A plan, from a specification to a folder: plan.json, executed notebook, page, readings forms, manifest, the input."""

from __future__ import annotations

import os
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path

from adhesion_stats.entrance import file_content, specification_from
from adhesion_stats.errors import InvalidSpecification, WrongUsage
from adhesion_stats.intake import FormRow, readings_form
from adhesion_stats.locate import packaged
from adhesion_stats.planning import make_plan
from adhesion_stats.record import (
    canonical_bytes,
    manifest_bytes,
    new_folder,
    put,
    results_digest,
    time_from_environment,
)
from adhesion_stats.reporting.notebook import execute_notebook
from adhesion_stats.reporting.numbers import measure
from adhesion_stats.reporting.plan.document import places_of
from adhesion_stats.reporting.plan.facts import PlanFacts, ZoneFacts, plan_from
from adhesion_stats.reporting.words import word

__all__ = ["form_rows", "write_plan"]

PLAN, NOTEBOOK, PAGE, MANIFEST = "plan.json", "plan.ipynb", "plan.html", "manifest.json"
FORM_XLSX, FORM_CSV = "readings-form.xlsx", "readings-form.csv"


def form_rows(plan: Mapping[str, object], *, dolly_mm: float | None) -> tuple[Sequence[FormRow], Sequence[str]]:
    """Rows of the readings form, one a planned pull, and a line of text for each retest position.

    A zone without positions has its rows without places. ``dolly_mm`` is the contract's dolly, written as the diameter;
    None leaves it blank.
    """
    pulls: list[FormRow] = []
    retests: list[str] = []
    size: FormRow = {} if dolly_mm is None else {"diameter [mm]": dolly_mm}
    data: PlanFacts = plan_from(plan)
    for zone in data["zones"]:
        name = zone["zone"]
        if not zone["positions"]:
            width = max(2, len(str(zone["pulls"])))
            pulls += [
                {"zone": name, "id": f"Z{zone['number']}-{i + 1:0{width}d}", **_measurement(zone, i), **size}
                for i in range(zone["pulls"])
            ]
        for position in zone["positions"]:
            place: FormRow = {"x [m]": position["x_m"], "y [m]": position["y_m"]}
            of: FormRow = {} if position["measurement"] is None else {"measurement": position["measurement"]}
            pulls.append({"zone": name, "id": position["id"], **of, **size, **place})
            retests += [
                word("plan_form_retest").format(
                    retest=retest["id"],
                    pull=position["id"],
                    zone=name,
                    x=measure(retest["x_m"], places_of(zone), "m"),
                    y=measure(retest["y_m"], places_of(zone), "m"),
                )
                for retest in position["retests"]
            ]
    return pulls, retests


def _measurement(zone: ZoneFacts, i: int) -> FormRow:
    """The measurement that the i-th pull (from 0) of a zone without positions belongs to."""
    named = zone["measurements"]
    return {} if named is None else {"measurement": named[i // (zone["pulls"] // len(named))]["name"]}


def write_plan(specification: Path, folder: Path, *, progress: Callable[[str], None]) -> Mapping[str, object]:
    """Plan what the specification asks and write the record into the new ``folder``; return the plan's facts.

    The folder is there whole or not at all. ``progress`` is told what begins.
    Raises ``InvalidSpecification``, ``WrongUsage`` or ``UnwritableFolder``.
    """
    taken = (PLAN, NOTEBOOK, PAGE, FORM_XLSX, FORM_CSV, MANIFEST)
    if specification.name.casefold() in taken:
        raise WrongUsage(
            f"The record holds the specification under its own name beside {', '.join(taken)}; "
            f"{specification.name} must differ from these."
        )
    progress(f"Reading {specification.name}")
    content = file_content(specification, InvalidSpecification)
    terms = specification_from(content, file=specification.name)
    plan = make_plan(terms).as_dict()
    rows, retests = form_rows(plan, dolly_mm=terms.method.dolly_mm)
    with new_folder(folder) as inside:
        put(inside, specification.name, content)
        put(inside, PLAN, canonical_bytes(plan))
        put(inside, FORM_XLSX, readings_form("xlsx", rows, retests))
        put(inside, FORM_CSV, readings_form("csv", rows))
        progress("Rendering the page")
        from adhesion_stats.reporting.plan.page import render_plan

        put(inside, PAGE, render_plan(plan).encode())
        progress("Executing the notebook")
        parameters = {"specification": specification.name, "plan": PLAN}
        put(inside, NOTEBOOK, _notebook(inside, parameters))
        put(
            inside,
            MANIFEST,
            manifest_bytes(
                folder=inside,
                results_digest=results_digest(plan),
                parameters=parameters,
                created=time_from_environment(os.environ),
            ),
        )
    return plan


def _notebook(folder: Path, parameters: Mapping[str, str]) -> bytes:
    import nbformat

    text = packaged("notebooks", "plan.ipynb").read_text(encoding="utf-8")
    notebook = nbformat.reads(text, as_version=4)
    return execute_notebook(notebook, parameters=parameters, files=[folder / name for name in parameters.values()])
