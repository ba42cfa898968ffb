"""Figure of what broke: one stacked bar per zone, in the order of the layers, told apart by hatching and by labels in
the bars.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import ceil

from matplotlib.axes import Axes
from matplotlib.collections import PolyCollection
from matplotlib.patches import Patch, Rectangle
from matplotlib.transforms import blended_transform_factory

from adhesion_stats.reporting.codes import in_order
from adhesion_stats.reporting.figures import look
from adhesion_stats.reporting.numbers import percent
from adhesion_stats.reporting.results import Zone, results_from
from adhesion_stats.reporting.words import broke_at, word

__all__ = ["plot_failure"]

_PERCENT_A_LETTER = (
    1.5  # % of the bar that a letter takes; a piece without room for its label is named by key and table
)


def plot_failure(
    results: Mapping[str, object], ax: Axes | None = None, *, zones: Sequence[str] | None = None, narrow: bool = False
) -> Axes:
    """Draw the mean failure composition of each zone [% of tested area] as stacked bars, from the substrate outwards.

    Parameters as in ``plot_pulls``. Each piece is a patch whose group id is its code (``A``, ``A/B``, ...); y is the
    row of the zone.
    """
    data = results_from(results)
    drawn = [zone for zone in data["zones"] if zones is None or zone["zone"] in zones]
    codes = in_order(code for zone in data["zones"] for code, share in zone["failure"]["percent"].items() if share > 0)
    columns = 2 if narrow else 4
    key_rows = ceil(len(codes) / columns)
    if ax is None:
        top = 0.14 + 0.19 * max(1, key_rows)
        left, right, width = (0.08, 0.14, 3.5) if narrow else (1.72, 1.15, 7.3)
        height = (0.48 if narrow else 0.31) * len(drawn) + top + 0.48
        ax = look.own_axes(width, height, left=left, right=right, top=top, bottom=0.48)
    ax.set_xlim(0, 100)
    ax.set_ylim(len(drawn) - 0.5, -0.55)
    boxes = [box for row, zone in enumerate(drawn) for box in _bar(ax, row, zone, codes, narrow=narrow)]
    ax.add_collection(PolyCollection(boxes, facecolor=look.PAPER, linewidth=0, zorder=3), autolim=False)
    _names(ax, drawn, narrow=narrow)
    ax.set_xticks(range(0, 101, 20))
    ax.set_xlabel(word("ax_share"), fontproperties=look.font(), color=look.INK)
    look.bare(ax)
    ax.tick_params(axis="y", length=0, pad=5)
    handles = []
    for code in codes:
        colour, hatch = look.FILLS.get(code, look.OTHER_FILL)
        handles.append(Patch(facecolor=colour, edgecolor=look.GREY, hatch=hatch, linewidth=0.6, label=broke_at(code)))
    if handles:
        look.key_above(ax, handles, lift=0.05, ncols=columns, boxes=True)
    return ax


def _bar(ax: Axes, row: int, zone: Zone, codes: Sequence[str], *, narrow: bool) -> list[list[tuple[float, float]]]:
    """Draw one bar; return the boxes on which its labels stand, so that hatching never crosses a letter."""
    centre = row + 0.16 if narrow else float(row)
    half, letter, label = (0.28, _PERCENT_A_LETTER * 1.35, 0.15) if narrow else (0.34, _PERCENT_A_LETTER, 0.22)
    put: dict[str, object] = {"va": "center", "fontproperties": look.font(look.SMALL), "parse_math": False}
    start, shares = 0.0, zone["failure"]["percent"]
    boxes = []
    if not any(share > 0 for share in shares.values()):
        ax.text(1.0, centre, word("not_recorded"), color=look.GREY, **put)  # type: ignore[arg-type]
    for code in codes:
        share = shares.get(code, 0.0)
        if share <= 0:
            continue
        colour, hatch = look.FILLS.get(code, look.OTHER_FILL)
        piece = Rectangle((start, centre - half), share, 2 * half, facecolor=colour, edgecolor=look.GREY, linewidth=0.6)
        piece.set_hatch(hatch)
        piece.set_gid(code)
        ax.add_patch(piece)
        text = f"{code} {percent(share).text}"
        if share >= len(text) * letter + 2.0:
            middle, reach = start + share / 2, len(text) * letter / 2 + 0.5
            boxes.append([(middle + x * reach, centre + y * label) for x, y in ((-1, -1), (1, -1), (1, 1), (-1, 1))])
            ax.text(middle, centre, text, ha="center", color=look.INK, zorder=4, **put)  # type: ignore[arg-type]
        start += share
    return boxes


def _names(ax: Axes, zones: Sequence[Zone], *, narrow: bool) -> None:
    across = blended_transform_factory(ax.transAxes, ax.transData)

    def recorded(zone: Zone) -> str:
        failure = zone["failure"]
        both = {"n": failure["recorded"], "all": failure["recorded"] + failure["not_recorded"]}
        return word("pulls_recorded").format(**both)

    small = look.font(look.SMALL)
    if narrow:
        ax.set_yticks([])
        for row, zone in enumerate(zones):
            name = look.shortened(zone["zone"], 40).split("\n", maxsplit=1)[0]
            ax.text(
                0.004,
                row - 0.29,
                name,
                transform=across,
                ha="left",
                va="center",
                color=look.INK,
                parse_math=False,
                fontproperties=look.font(look.SMALL, bold=True),
            )
            ax.text(
                0.996,
                row - 0.29,
                recorded(zone),
                transform=across,
                ha="right",
                va="center",
                color=look.INK,
                fontproperties=small,
            )
        return
    ax.set_yticks(range(len(zones)), [look.shortened(zone["zone"], 25) for zone in zones], parse_math=False)
    for row, zone in enumerate(zones):
        ax.text(
            1.012, row, recorded(zone), transform=across, ha="left", va="center", color=look.INK, fontproperties=small
        )
