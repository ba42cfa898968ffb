"""The page: one HTML file that needs nothing else, from the results alone. Same results, same bytes.

Everything that comes from a file is text here: the template escapes it, and control characters become visible
escapes. The page holds no script and no address; its content policy forbids both.
"""

from __future__ import annotations

import functools
import unicodedata
from collections.abc import Callable, Mapping

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from adhesion_stats.reporting.document import assessment_document
from adhesion_stats.reporting.figures import figure_svg, look
from adhesion_stats.reporting.model import Document, Figure
from adhesion_stats.reporting.words import word

__all__ = ["document_page", "render_page"]


def _visible(value: object) -> object:
    """Text with its control characters shown as escapes; markup made by the template itself stays as it is."""
    if not isinstance(value, str) or isinstance(value, Markup) or value.isprintable():
        return value
    return "".join(
        c if c.isprintable() or unicodedata.category(c) == "Zs" else c.encode("unicode_escape").decode() for c in value
    )


def _kind(value: object) -> str:
    """Class name of a part or block, by which the template chooses how to show it."""
    return type(value).__name__


@functools.cache
def _environment() -> Environment:
    environment = Environment(
        loader=PackageLoader("adhesion_stats.reporting", "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        finalize=_visible,
    )
    environment.filters["kind"] = _kind
    environment.globals["word"] = word
    environment.globals["dark_colours"] = tuple(sorted((name[1:], dark) for name, dark in look.DARK.items()))
    return environment


def document_page(document: Document, svg: Callable[[Figure, bool], str], *, skip: str) -> str:
    """A document as one self-contained HTML page.

    Parameters
    ----------
    document
        What to show.
    svg
        Draws a figure of the document, narrow or wide, as an ``<svg>`` element.
    skip
        Text of the jump over the head, to the first section.

    Returns
    -------
    str
        HTML, to be written as UTF-8.
    """

    def drawn(figure: Figure, narrow: bool) -> Markup:
        # Made by our own figure code; names inside are text of an SVG that is escaped, not markup.
        return Markup(svg(figure, narrow))  # noqa: S704

    return _environment().get_template("page.html.j2").render(document=document, svg=drawn, skip=skip)


def render_page(results: Mapping[str, object], revision: Mapping[str, object] | None = None) -> str:
    """The assessment as one self-contained HTML page.

    Parameters
    ----------
    results
        Contents of results.json.
    revision
        Contents of revision.json, None where the record is no revision.

    Returns
    -------
    str
        HTML, to be written as UTF-8.
    """

    def svg(figure: Figure, narrow: bool) -> str:
        return figure_svg(results, figure.kind, zones=figure.zones, narrow=narrow)

    return document_page(assessment_document(results, revision), svg, skip=word("skip"))
