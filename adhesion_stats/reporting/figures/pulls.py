"""Figure of every pull: one row per zone, one mark per pull, limits as vertical lines, the mean as a short bar."""

from __future__ import annotations

import itertools
from collections.abc import Mapping, Sequence
from math import ceil

from matplotlib.axes import Axes
from matplotlib.collections import LineCollection, PolyCollection
from matplotlib.ticker import MaxNLocator
from matplotlib.transforms import blended_transform_factory

from adhesion_stats.reporting.figures import look
from adhesion_stats.reporting.figures.marks import mark_of
from adhesion_stats.reporting.numbers import Scale
from adhesion_stats.reporting.results import Pull, Results, Zone, results_from
from adhesion_stats.reporting.words import word

__all__ = ["plot_pulls"]

_LANE = 0.17  # of a row: how far pulls of nearly equal strength are moved apart
_LANES = (0, 1, -1, 2, -2)
_MOST_ABOVE = 4  # limits that are named above the axes; further ones at their own rows
_AT_ITS_ROWS, _SAID, _AT_THEIR_FOOT = -1, -2, -3


def plot_pulls(
    results: Mapping[str, object], ax: Axes | None = None, *, zones: Sequence[str] | None = None, narrow: bool = False
) -> Axes:
    """Draw every pull by zone with its limits and the mean of the counted values.

    Parameters
    ----------
    results
        Contents of results.json.
    ax
        Where to draw; None makes a figure of its own (``ax.figure``), sized for its number of zones.
    zones
        Names of the zones to draw, in this order; None draws all. The strength axis is that of all zones in any case.
    narrow
        For a narrow screen or column: names stand above their rows.

    Returns
    -------
    Axes
        x: strength in the unit of the report; y: row of the zone (first zone 0, downwards). One line of marks per
        kind of pull, with the kind as its group id (``exact``, ``at_least``, ``at_most``, ``flagged``, ``invalid``,
        ``excluded``, ``replaced``, ``lost``); limits are lines with the ids ``limit-mean``, ``limit-smallest``, ...;
        the means are the collection ``mean``.
    """
    data = results_from(results)
    drawn = [zone for zone in data["zones"] if zones is None or zone["zone"] in zones]
    scale = Scale(data["unit"], data["places"])
    pulls = {zone["zone"]: [p for p in data["pulls"] if p["zone"] == zone["zone"]] for zone in drawn}
    kinds = [kind for kind in look.MARKS if any(mark_of(p) == kind for mine in pulls.values() for p in mine)]
    end = _end(data, scale)
    labels = _LimitLabels.of(drawn, scale, end=end, inches=3.3 if narrow else 4.4)
    key_rows = ceil((len(kinds) + 1) / (2 if narrow else 5))
    if ax is None:
        pitch = 0.46 if narrow else 0.34
        top = 0.12 + 0.19 * key_rows + 0.17 * labels.lanes
        left, right, width = (0.08, 0.14, 3.5) if narrow else (1.72, 1.15, 7.3)
        height = pitch * len(drawn) + top + 0.5
        ax = look.own_axes(width, height, left=left, right=right, top=top, bottom=0.5)
    ax.set_xlim(0, end)
    ax.set_ylim(len(drawn) - 0.5, -0.5)
    _bands(ax, len(drawn))
    centres = [row + 0.14 if narrow else float(row) for row in range(len(drawn))]
    _draw_pulls(ax, [pulls[zone["zone"]] for zone in drawn], centres, scale, gap=(0.034 if narrow else 0.021) * end)
    _draw_means(ax, drawn, centres, scale, reach=0.30 if narrow else 0.38, tip=0.016 * end)
    labels.draw(ax)
    _finish(ax, data, drawn, kinds, label_lanes=labels.lanes, narrow=narrow)
    return ax


def _end(data: Results, scale: Scale) -> float:
    """Right end of the strength axis: beyond every value and every limit, the same in each part of a long figure."""
    values = [pull["strength"] for pull in data["pulls"] if pull["strength"] is not None]
    values += [c["limit"]["mpa"] for zone in data["zones"] for c in zone["criteria"] if c["limit"]]
    return scale.converted(max(values, default=1.0)) * 1.08


def _bands(ax: Axes, rows: int) -> None:
    """Tint every other row, so that the eye keeps the row from name to decision."""
    corners = [(row, x, y) for row in range(0, rows, 2) for x, y in ((0, -0.5), (1, -0.5), (1, 0.5), (0, 0.5))]
    across = blended_transform_factory(ax.transAxes, ax.transData)
    quads = [[(x, row + y) for row, x, y in corners[i : i + 4]] for i in range(0, len(corners), 4)]
    ax.add_collection(
        PolyCollection(quads, facecolor=look.BAND, linewidth=0, zorder=0, transform=across), autolim=False
    )


def _draw_pulls(
    ax: Axes, rows: Sequence[Sequence[Pull]], centres: Sequence[float], scale: Scale, *, gap: float
) -> None:
    """One line of marks per kind; pulls of nearly equal strength stand above each other."""
    places: dict[str, list[tuple[float, float]]] = {}
    for pulls, centre in zip(rows, centres, strict=True):
        last: dict[int, float] = {}
        for pull in sorted(pulls, key=lambda p: (p["strength"] or 0.0, p["index"])):
            x = scale.converted(pull["strength"]) if pull["strength"] is not None else gap / 2
            lane = next((lane for lane in _LANES if x - last.get(lane, -2 * gap) >= gap), 0)
            last[lane] = x
            places.setdefault(mark_of(pull), []).append((x, centre + _LANE * lane))
    for kind, points in places.items():
        xs, ys = zip(*points, strict=True)
        if kind == "flagged":  # still an exact, counted value: the dot stays and gets a frame
            look.draw(ax, look.marks(xs, ys, look.MARKS["exact"], size=2.8), gid="flagged-dot", zorder=4)
        look.draw(ax, look.marks(xs, ys, look.MARKS[kind]), gid=kind, zorder=5, clip=False)


def _draw_means(
    ax: Axes, zones: Sequence[Zone], centres: Sequence[float], scale: Scale, *, reach: float, tip: float
) -> None:
    """A short upright bar at each mean; a mean that is only a lower bound gets a foot towards larger values."""
    bars, feet = [], []
    for zone, centre in zip(zones, centres, strict=True):
        summary = zone["summary"]
        if summary["mean"] is None:
            continue
        mean = scale.converted(summary["mean"])
        bars.append([(mean, centre - reach), (mean, centre + reach)])
        if summary["mean_is_lower_bound"]:
            feet += [[(mean, centre + side * reach), (mean + tip, centre + side * reach)] for side in (-1, 1)]
    for lines, gid, width in ((bars, "mean", 2.2), (feet, "mean-at-least", 1.4)):
        collection = LineCollection(lines, colors=look.ACCENT, linewidths=width, capstyle="butt", zorder=3)
        collection.set_gid(gid)
        ax.add_collection(collection, autolim=False)


def _width(text: str) -> float:
    """About how wide a limit's text is, in inches."""
    return len(text) * 0.062 + 0.08


def _part_at_rows(
    runs: Sequence[tuple[str, float, str, int, int]], places: list[tuple[int, int]], *, end: float, inch: float
) -> None:
    """Texts at one row lie at its head or its foot, those of the smaller limits left of their lines and the others
    right, so that none lies on another. One without such a place stays right of its line at the head.
    """
    at_rows: dict[int, list[int]] = {}
    for i in sorted((i for i, (lane, _) in enumerate(places) if lane == _AT_ITS_ROWS), key=lambda i: runs[i][1]):
        at_rows.setdefault(runs[i][3], []).append(i)
    for mine in at_rows.values():
        taken: dict[int, list[tuple[float, float]]] = {_AT_ITS_ROWS: [], _AT_THEIR_FOOT: []}
        for k, i in enumerate(mine):
            x, width = runs[i][1], _width(runs[i][2]) * inch
            for side, lane in itertools.product((-1, 1) if k < len(mine) // 2 else (1, -1), taken):
                low, high = (x, x + width) if side > 0 else (x - width, x)
                if low >= 0 and high <= end and all(high <= left or right <= low for left, right in taken[lane]):
                    taken[lane].append((low, high))
                    places[i] = (lane, side)
                    break


class _LimitLabels:
    """Limits as vertical lines over the rows that they hold for, each with its text where it begins."""

    def __init__(self, runs: list[tuple[str, float, str, int, int]], places: list[tuple[int, int]], lanes: int) -> None:
        self.runs = runs  # kind, strength in the report's unit, text, first row, last row
        self.places = places  # lane of the text above the axes, or one of the two below; side of its line
        self.lanes = lanes

    @classmethod
    def of(cls, zones: Sequence[Zone], scale: Scale, *, end: float, inches: float) -> _LimitLabels:
        """Find the runs of rows with the same limit and room for their texts."""
        runs: list[tuple[str, float, str, int, int]] = []
        for row, zone in enumerate(zones):
            for criterion in zone["criteria"]:
                limit = criterion["limit"]
                if limit is None:
                    continue
                kind, x = criterion["kind"], scale.converted(limit["mpa"])
                if criterion["by_failure"] is not None:
                    kind = f"{kind}_{criterion['by_failure']['role']}"
                text = word(f"lim_{kind}").format(z=criterion["z"], of=criterion["of"], limit=limit["text"])
                before = next((i for i, r in enumerate(runs) if r[:3] == (kind, x, text) and r[4] >= row - 1), None)
                if before is None:
                    runs.append((kind, x, text, row, row))
                else:
                    runs[before] = (*runs[before][:4], row)
        seen = {run[:3]: i for i, run in reversed(list(enumerate(runs)))}  # the first run of each limit
        firsts = sorted(seen.values())
        top = sorted(firsts[:_MOST_ABOVE], key=lambda i: (runs[i][1], runs[i][0]))
        widths = {i: _width(runs[i][2]) / inches * end for i in top}
        # The left half of the texts stands left of its lines, the rest right of them: so no line runs through a text.
        to_left = [i for i in top[: len(top) // 2] if runs[i][1] >= widths[i]]
        places = [(_AT_ITS_ROWS if i in firsts else _SAID, 1) for i in range(len(runs))]
        for side, order in ((-1, to_left), (1, [i for i in reversed(top) if i not in to_left])):
            lane, edge = 0, None
            for i in order:
                lane = lane + 1 if edge is not None and (runs[i][1] - edge) * side + widths[i] > 0 else 0
                places[i], edge = (lane, side), runs[i][1]
        _part_at_rows(runs, places, end=end, inch=end / inches)
        return cls(runs, places, 1 + max((lane for lane, _ in places), default=0) if top else 1)

    def draw(self, ax: Axes) -> None:
        """Draw lines and texts."""
        for (kind, x, text, first, last), (lane, side) in zip(self.runs, self.places, strict=True):
            width, dashes = look.LIMIT_STYLES[kind.split("_")[0]]
            (drawn,) = ax.plot([x, x], [first - 0.5, last + 0.5], color=look.INK, linewidth=width, zorder=2)
            drawn.set_linestyle(dashes)  # type: ignore[arg-type]
            drawn.set_gid(f"limit-{kind}")
            if lane == _SAID:
                continue
            if lane > 0:
                line = {"arrowstyle": "-", "linewidth": 0.6, "color": look.GREY, "shrinkA": 0, "shrinkB": 0}
                up = (0, 10.0 + 11.5 * lane)
                ax.annotate("", (x, -0.5), up, textcoords="offset points", arrowprops=line, annotation_clip=False)
            inside = lane in {_AT_ITS_ROWS, _AT_THEIR_FOOT}
            foot = lane == _AT_THEIR_FOOT
            ax.annotate(
                text,
                (x, first + (0.5 if foot else -0.5) if inside else -0.5),
                (2.5 * side, 1.0 if foot else -7.5) if inside else (2.0 * side, 4.0 + 11.5 * lane),
                textcoords="offset points",
                ha="left" if side > 0 else "right",
                va="bottom",
                color=look.INK,
                fontproperties=look.font(look.SMALL),
                annotation_clip=False,
                parse_math=False,
                zorder=6,
                bbox={"facecolor": look.PAPER, "edgecolor": "none", "boxstyle": "square,pad=0.1"} if inside else None,
            )


def _finish(
    ax: Axes, data: Results, zones: Sequence[Zone], kinds: Sequence[str], *, label_lanes: int, narrow: bool
) -> None:
    ax.xaxis.set_major_locator(MaxNLocator(nbins=5 if narrow else 8, steps=[1, 2, 2.5, 5, 10]))
    ax.grid(visible=True, axis="x", color=look.RULE, linewidth=0.6)
    ax.set_axisbelow(True)
    ax.set_xlabel(word("ax_strength").format(unit=data["unit"]), fontproperties=look.font(), color=look.INK)
    across = blended_transform_factory(ax.transAxes, ax.transData)
    if narrow:
        ax.set_yticks([])
        for row, zone in enumerate(zones):
            name = look.shortened(zone["zone"], 40).split("\n", maxsplit=1)[0]
            put = {"transform": across, "va": "center", "color": look.INK, "parse_math": False, "zorder": 7}
            small = look.font(look.SMALL, bold=True)
            ax.text(0.008, row - 0.33, name, ha="left", fontproperties=small, **put)  # type: ignore[arg-type]
            small = look.font(look.SMALL)
            ax.text(0.996, row - 0.33, word(zone["outcome"] or "not_asked"), ha="right", fontproperties=small, **put)  # type: ignore[arg-type]
    else:
        ax.set_yticks(range(len(zones)), [look.shortened(zone["zone"], 25) for zone in zones], parse_math=False)
        for row, zone in enumerate(zones):
            ax.text(
                1.012,
                row,
                word(zone["outcome"] or "not_asked"),
                transform=across,
                ha="left",
                va="center",
                color=look.INK,
                fontproperties=look.font(look.SMALL, bold=zone["outcome"] != "conforms"),
            )
    look.bare(ax)
    ax.tick_params(axis="y", length=0, pad=5)
    handles = [look.handle(look.MARKS[kind], word(f"key_{kind}")) for kind in kinds]
    mean = look.handle(look.Mark("|", 9, look.ACCENT, filled=False, width=2.2), word("key_mean"))
    key = look.key_above(ax, [*handles, mean], lift=0.05 + 0.165 * label_lanes, ncols=2 if narrow else 5)
    key.set_zorder(8)
