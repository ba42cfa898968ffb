"""A figure as SVG text for a page: the same bytes each time, no address, colours that follow the page's light or dark
dress.
"""

from __future__ import annotations

import io
import re
import warnings
from collections.abc import Mapping, Sequence

import matplotlib as mpl
from matplotlib.axes import Axes

from adhesion_stats.reporting.figures import look
from adhesion_stats.reporting.figures.failure import plot_failure
from adhesion_stats.reporting.figures.positions import plot_positions
from adhesion_stats.reporting.figures.probability import plot_probability
from adhesion_stats.reporting.figures.pulls import plot_pulls

__all__ = ["KINDS", "SETTINGS", "axes_svg", "figure_svg"]

KINDS = {
    "pulls": plot_pulls,
    "failure": plot_failure,
    "probability": plot_probability,
    "positions": plot_positions,
}
SETTINGS = {
    "svg.hashsalt": "adhesion_stats",
    "svg.fonttype": "none",  # letters as text in the page's own type: any script, and a tenth of the size of outlines
    "font.family": ["DejaVu Sans"],
    "path.simplify": False,
    "hatch.linewidth": 0.5,
    "axes.unicode_minus": True,
}

_FAMILY = "font-family: 'DejaVu Sans'; "  # as matplotlib writes it at each text
_TYPE = "font-family: var(--sans, 'DejaVu Sans', sans-serif)"  # once for the whole figure


def figure_svg(
    results: Mapping[str, object], kind: str, *, zones: Sequence[str] | None = None, narrow: bool = False
) -> str:
    """The figure ``kind`` ("pulls", "failure", "probability", "positions") as an ``<svg>`` element to stand inside a
    page.

    Ids start with the kind, the first zone's place and the width, so that several figures can share a page. Raises
    KeyError for an unknown kind.
    """
    with mpl.rc_context(SETTINGS):  # type: ignore[arg-type]
        ax = KINDS[kind](results, zones=zones, narrow=narrow)
        return axes_svg(ax, name=f"{kind}{'-n' if narrow else ''}-{_first(results, zones)}")


def _first(results: Mapping[str, object], zones: Sequence[str] | None) -> int:
    """Place of the first drawn zone among all: part of the ids, which names could not be."""
    if not zones:
        return 0
    return next((i for i, zone in enumerate(results["zones"]) if zone["zone"] == zones[0]), 0)  # type: ignore[arg-type, var-annotated]


def axes_svg(ax: Axes, *, name: str) -> str:
    """The axes' figure as an ``<svg>`` element: no prolog, no metadata, no sizes in points, ids kept only where they
    are used.
    """
    written = io.StringIO()
    with mpl.rc_context(SETTINGS), warnings.catch_warnings():  # type: ignore[arg-type]
        # Texts are measured with DejaVu; what it lacks (other scripts) the page's own type shows.
        warnings.filterwarnings("ignore", message="Glyph .* missing from font", category=UserWarning)
        nothing = dict.fromkeys(("Date", "Creator", "Format", "Type"))
        ax.figure.savefig(written, format="svg", metadata=nothing, transparent=True)  # type: ignore[union-attr]
    text = written.getvalue()
    text = text[text.index("<svg") :]
    text = re.sub(r"<metadata>.*?</metadata>", "", text, count=1, flags=re.DOTALL)
    text = re.sub(r"<defs>\s*<style.*?</style>\s*</defs>", "", text, count=1, flags=re.DOTALL)
    text = re.sub(r'<path d="[^"<]*" style="fill: none(?:; opacity: 0)?"/>', "", text)  # backgrounds that show nothing
    used = frozenset(re.findall(r'<[^>]*(?:href="#|url\(#)([^")>]+)', text))
    # Only tags are changed: between them stand names from the file, in which anything may be written.
    text = re.sub(r"<[^>]*>", lambda tag: _tag(tag[0], used, name), text)
    for _ in range(3):
        text = re.sub(r"<g>\s*</g>", "", text)
    return re.sub(r"\n\s*", "\n", text).strip()


def _tag(tag: str, used: frozenset[str], name: str) -> str:
    """One tag made fit for a page: ids with the figure's name or none, colours by the page's dress, two decimals in
    paths.
    """
    if tag.startswith("<svg"):
        box = re.search(r'viewBox="[^"]+"', tag)
        assert box is not None, "matplotlib wrote an SVG without a viewBox"
        return f'<svg {box[0]} focusable="false" aria-hidden="true" style="stroke-linejoin: round; {_TYPE}">'
    tag = re.sub(r'\sid="([^"]*)"', lambda m: f' id="{name}-{m[1]}"' if m[1] in used else "", tag)
    tag = tag.replace("xlink:href=", "href=").replace('href="#', f'href="#{name}-').replace("url(#", f"url(#{name}-")
    tag = re.sub(r' transform="rotate\(-?0 [^"]*"', "", tag).replace(_FAMILY, "")
    tag = re.sub(r'^<rect(.*) fill="(#\w+)"', r'<rect\1 style="fill: \2"', tag)  # var() may stand in a style only
    tag = re.sub(r"#[0-9a-f]{6}", lambda m: f"var(--fig-{m[0][1:]}, {m[0]})" if m[0] in look.DARK else m[0], tag)
    return re.sub(r'(?<= )(d|x|y)="[^"]*"', _shorter, tag)


def _shorter(match: re.Match[str]) -> str:
    """Coordinates with two decimals (a hundredth of a point) and single blanks."""
    return re.sub(r"(\.\d\d)\d+", r"\1", match[0]).replace(" \n", " ").replace("\n", " ")
