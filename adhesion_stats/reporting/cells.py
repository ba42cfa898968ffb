"""What the cells of a notebook call, so that the notebook itself holds no logic.

The words and digits are those of the page: both are made from the same document. Text that came from a file stays
text: it is escaped, never typeset as a formula, and control characters are shown as such.
"""

from __future__ import annotations

import base64
import io
import warnings
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import TYPE_CHECKING

from adhesion_stats.errors import RecordDiffers
from adhesion_stats.record import Comparison, compare_results, read_results
from adhesion_stats.reporting.blocks_html import as_html, as_text, printable
from adhesion_stats.reporting.document import assessment_document

if TYPE_CHECKING:
    import matplotlib.figure

    from adhesion_stats.reporting.model import Document, Figure, Section

__all__ = [
    "assessment_document",
    "compare_with_record",
    "show",
    "show_blocks",
    "show_figures",
    "show_head",
    "show_revision",
    "show_section",
]

_DOTS_PER_INCH = 110
_DIFFERENCES_NAMED = 20


def show(figure: matplotlib.figure.Figure, *, alt: str) -> None:
    """Show a figure with a text for who can't see it.

    Parameters
    ----------
    figure
        The figure; drawn to PNG, whose bytes do not depend on the time.
    alt
        What the figure shows, in words; not empty.
    """
    text = printable(alt).strip()
    if not text:
        raise ValueError("a figure needs a text for people who can't see it")
    content = io.BytesIO()
    with warnings.catch_warnings(record=True) as caught:
        warnings.simplefilter("always")
        figure.savefig(content, format="png", dpi=_DOTS_PER_INCH, metadata={"Software": None})
    image = base64.b64encode(content.getvalue()).decode("ascii")
    _display({"image/png": image, "text/plain": text}, {"image/png": {"alt": text}})
    boxes = [warning for warning in caught if "missing from font" in str(warning.message)]
    for warning in caught:
        if warning not in boxes:
            warnings.warn_explicit(warning.message, warning.category, warning.filename, warning.lineno)
    if boxes:
        print("The font of this figure lacks some letters; boxes stand for them. The tables show the names in full.")  # noqa: T201 - a cell's output


def show_head(document: Document) -> None:
    """Show the title, whether the data are invented, and the head of the document."""
    from adhesion_stats.reporting.model import Paragraph, Section

    banner = (Paragraph((document.banner,), "warning"),) if document.banner else ()
    title = Paragraph((f"{document.subtitle}: {document.title}",))
    show_blocks(Section(document.title, "head", (*banner, title, document.head)))


def show_revision(path: str | Path) -> None:
    """Show which record this one takes the place of, why, and what changed: the contents of ``revision.json``."""
    from adhesion_stats.reporting.sections.revision import revision_section

    show_blocks(revision_section(read_results(Path(path).read_bytes())))


def show_section(document: Document, anchor: str) -> None:
    """Show a section of the document without its figures: ``decision``, ``basis``, ``zone-by-zone``, ``method``, ...

    Raises
    ------
    KeyError
        When the document has no such section; the text names those it has.
    """
    found = {section.anchor: section for section in _walk(document.sections)}
    if anchor not in found:
        raise KeyError(f"the document has no section {anchor!r}; it has {', '.join(found)}")
    show_blocks(found[anchor])


def show_figures(document: Document, results: Mapping[str, object], kind: str) -> None:
    """Show the figures of a kind (``pulls``, ``failure``, ``probability``, ``positions``), or say there is none."""
    from adhesion_stats.reporting.figures import plot_failure, plot_positions, plot_probability, plot_pulls

    plot = {"pulls": plot_pulls, "failure": plot_failure, "probability": plot_probability, "positions": plot_positions}[
        kind
    ]
    figures = [figure for figure in _figures(document) if figure.kind == kind]
    for figure in figures:
        axes = plot(results, zones=figure.zones)
        root = axes.get_figure(root=True)
        assert root is not None
        show(root, alt=f"{figure.title}. {figure.alt}")
    if not figures:
        print("No such figure: the data do not allow it, or the positions were not given.")  # noqa: T201 - a cell's output


def _walk(sections: tuple[Section, ...]) -> Iterator[Section]:
    for section in sections:
        yield section
        yield from _walk(section.sections)


def _figures(document: Document) -> Iterator[Figure]:
    from adhesion_stats.reporting.model import Figure

    for section in _walk(document.sections):
        for block in section.blocks:
            if isinstance(block, Figure):
                yield block


def show_blocks(section: Section) -> None:
    """Show what a section holds, without its figures, as HTML and as plain text."""
    _display({"text/html": as_html(section), "text/plain": as_text(section)}, {})


def _display(data: dict[str, str], metadata: dict[str, dict[str, str]]) -> None:
    from IPython.display import display

    display(data, raw=True, metadata=metadata)  # type: ignore[no-untyped-call]


def compare_with_record(results: Mapping[str, object], record: str | Path) -> str:
    """Compare results just computed with those of a record.

    Parameters
    ----------
    results
        As from ``assessment.as_dict()``.
    record
        Path of ``results.json``; "" where there is none to compare with.

    Returns
    -------
    str
        One sentence: what was compared, and that it agrees.

    Raises
    ------
    RecordDiffers
        When a number, text or decision differs; the text names each place.
    """
    if not str(record):
        return "No record was named, so nothing was compared: set results in the first cell to compare."
    path = Path(record)
    found = compare_results(read_results(path.read_bytes()), results)
    name = printable(path.name)
    if found.differences:
        raise RecordDiffers(_what_differs(found, name))
    zones = results.get("zones")
    count = len(zones) if isinstance(zones, list) else 0
    exactness = "to the last bit"
    if found.inexact:
        exactness = f"({found.inexact} numbers within a relative difference of {found.largest:.0e}, the rest exactly)"
    return (
        f"Recomputed from the raw files: the decision for the contract, the decisions for {count} "
        f"zone{'' if count == 1 else 's'} and all {found.entries} entries agree with {name} {exactness}."
    )


def _what_differs(found: Comparison, name: str) -> str:
    lines = [
        f"  {d.path}: {name} has {printable(repr(d.recorded))}, recomputed is {printable(repr(d.recomputed))}"
        for d in found.differences[:_DIFFERENCES_NAMED]
    ]
    more = len(found.differences) - _DIFFERENCES_NAMED
    if more > 0:
        lines.append(f"  and {more} more")
    return (
        f"{len(found.differences)} of {found.entries} entries are not what {name} says. "
        "The raw files, the specification or the results were changed, or another version computed them:\n"
        + "\n".join(lines)
    )
