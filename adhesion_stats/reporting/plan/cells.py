"""What the cells of the plan's notebook call, so that the notebook itself holds no logic."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from adhesion_stats.errors import RecordDiffers
from adhesion_stats.record import compare_results, read_results
from adhesion_stats.reporting.blocks_html import printable
from adhesion_stats.reporting.cells import show, show_head, show_section
from adhesion_stats.reporting.model import Figure
from adhesion_stats.reporting.plan.document import plan_document
from adhesion_stats.reporting.plan.drawing import plot_plan
from adhesion_stats.reporting.words import word

__all__ = ["compare_with_plan", "plan_document", "show_drawings", "show_head", "show_section"]

_DIFFERENCES_NAMED = 20


def show_drawings(plan: Mapping[str, object]) -> None:
    """Show the drawing of every zone that has an outline, or say that there is none."""
    figures = [
        block
        for section in plan_document(plan).sections
        for zone in section.sections
        for block in zone.blocks
        if isinstance(block, Figure)
    ]
    for figure in figures:
        root = plot_plan(plan, figure.zones[0]).get_figure(root=True)
        assert root is not None
        show(root, alt=f"{figure.title}. {figure.alt}")
    if not figures:
        print(word("plan_no_figure"))  # noqa: T201 - a cell's output


def compare_with_plan(plan: Mapping[str, object], record: str | Path) -> str:
    """Compare a plan just made with ``plan.json``; "" where there is none to compare with.

    Raises
    ------
    RecordDiffers
        When a number, text or place differs; the text names each.
    """
    if not str(record):
        return "No plan was named, so nothing was compared: set plan in the first cell to compare."
    path = Path(record)
    found = compare_results(read_results(path.read_bytes()), plan)
    name = printable(path.name)
    if found.differences:
        lines = [
            f"  {d.path}: {name} has {printable(repr(d.recorded))}, made again it is {printable(repr(d.recomputed))}"
            for d in found.differences[:_DIFFERENCES_NAMED]
        ]
        more = len(found.differences) - _DIFFERENCES_NAMED
        raise RecordDiffers(
            f"{len(found.differences)} of {found.entries} entries are not what {name} says. The specification or the "
            "plan was changed, or another version made it:\n" + "\n".join(lines + [f"  and {more} more"] * (more > 0))
        )
    return f"Made again from the specification: all {found.entries} entries agree with {name}."
