"""Plan of the pulls by position, with the shape of each pull's standing and the names of the zones."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from matplotlib.axes import Axes
from matplotlib.patches import Polygon
from matplotlib.ticker import MaxNLocator

from adhesion_stats.reporting.figures import look
from adhesion_stats.reporting.figures.marks import mark_of
from adhesion_stats.reporting.numbers import Scale
from adhesion_stats.reporting.results import Extent, Pull, Results, results_from
from adhesion_stats.reporting.words import word

__all__ = ["placed", "plot_positions"]

_MOST_RAISED = 0.5  # inches; a name that finds no place within that stands in the table only
NEXT = look.Mark("D", 4.6, look.INK, filled=False, width=1.1)
_HATCH = "////"  # it holds in grey, and says nothing by colour
_TEXT = (0.30, 0.16)  # inches that a strength takes below its mark


def placed(data: Results, zones: Sequence[str] | None = None) -> list[tuple[float, float, Pull]]:
    """Pulls with both coordinates: x, y [m] and the pull."""
    found = []
    for pull in data["pulls"]:
        x, y = pull["conditions"].get("x_m"), pull["conditions"].get("y_m")
        if x is not None and y is not None and (zones is None or pull["zone"] in zones):
            found.append((x, y, pull))
    return found


def plot_positions(
    results: Mapping[str, object], ax: Axes | None = None, *, zones: Sequence[str] | None = None, narrow: bool = False
) -> Axes:
    """Draw the pulls where they were made, x and y in metres at the same scale; the mark tells the standing, the text
    the strength.

    Parameters as in ``plot_pulls``. An axes without any mark says that no positions were given.
    """
    data = results_from(results)
    points = placed(data, zones)
    scale = Scale(data["unit"], data["places"])
    kinds = [kind for kind in look.MARKS if any(mark_of(pull) == kind for _, _, pull in points)]
    width = 3.5 if narrow else 7.3
    extents = [e for e in data["on_site"]["extents"] if zones is None or e["zone"] in zones]
    corners = [corner for extent in extents for corner in extent["outline"] or ()]
    xs = [x for x, _, _ in points] + [x for x, _ in corners] or [0.0]
    ys = [y for _, y, _ in points] + [y for _, y in corners] or [0.0]
    wide, high = max(max(xs) - min(xs), 1.0), max(max(ys) - min(ys), 1.0)
    if ax is None:
        top = 0.12 + 0.19 * (-(-max(1, len(kinds) + 3 * bool(extents)) // (2 if narrow else 4 if extents else 6)))
        height = min(7.0, max(1.6, (width - 0.7) * high / wide * 1.12)) + top + 0.5
        ax = look.own_axes(width, height, left=0.55, right=0.12, top=top, bottom=0.5)
    _same_scale(ax, (min(xs), max(xs)), (min(ys), max(ys)))
    drawn = _extents(ax, extents)
    for kind in kinds:
        where = [(x, y) for x, y, pull in points if mark_of(pull) == kind]
        x_of, y_of = zip(*where, strict=True)
        look.draw(ax, look.marks(x_of, y_of, look.MARKS[kind]), gid=kind, zorder=4)
    if not narrow and _far_apart(ax, points):
        for x, y, pull in points:
            if pull["strength"] is not None:
                ax.annotate(
                    scale.strength(pull["strength"]).text,
                    (x, y),
                    (0, -5),
                    textcoords="offset points",
                    ha="center",
                    va="top",
                    color=look.INK,
                    fontproperties=look.font(6.5),
                )
    _zone_names(ax, points)
    ax.grid(visible=True, color=look.RULE, linewidth=0.6)
    ax.set_axisbelow(True)
    for axis, label in ((ax.xaxis, "ax_x"), (ax.yaxis, "ax_y")):
        axis.set_major_locator(MaxNLocator(nbins=5 if narrow else 8, steps=[1, 2, 5, 10]))
        axis.set_label_text(word(label), fontproperties=look.font(), color=look.INK)
    look.bare(ax)
    handles: list[object] = [look.handle(look.MARKS[kind], word(f"key_{kind}")) for kind in kinds]
    handles += drawn
    if handles:
        look.key_above(ax, handles, lift=0.06, ncols=2 if narrow else 4 if drawn else 6)
    return ax


def next_places(data: Results, zones: Sequence[str] | None = None) -> list[tuple[float, float, str, str]]:
    """Where to pull next to bound weak patches: x, y [m], the low pull, its zone; each place once."""
    found: dict[tuple[float, float], tuple[float, float, str, str]] = {}
    for extent in data["on_site"]["extents"]:
        if zones is None or extent["zone"] in zones:
            for low in extent["low"]:
                for side in low["neighbours"]:
                    place = side["next"]
                    if place is not None:
                        at = (place["x_m"], place["y_m"])
                        found.setdefault(at, (*at, low["pull"], extent["zone"]))
    return list(found.values())


def _extents(ax: Axes, extents: Sequence[Extent]) -> list[object]:
    """The area in doubt hatched within the zone's outline, the places to pull next; return what stands in the key."""
    nexts: list[tuple[float, float]] = []
    outlines = [_area(extent["outline"]) for extent in extents if extent["outline"] is not None]
    lows = [low for extent in extents for low in extent["low"]]
    doubts = [_area(low["part"], hatch=_HATCH) for low in lows if low["part"] is not None]
    for gid, patches in (("in_doubt", doubts), ("zone_outline", outlines)):
        for patch in patches:
            patch.set_gid(gid)
            ax.add_patch(patch)
    for low in lows:
        for side in low["neighbours"]:
            place = side["next"]
            if place is not None:
                at = (place["x_m"], place["y_m"])
                ax.plot(
                    [low["x_m"], at[0]], [low["y_m"], at[1]], color=look.INK, linewidth=0.7, linestyle=(0, (2, 2)),
                    zorder=3, gid="towards",
                )  # fmt: skip
                nexts.append(at)
    key: list[object] = []
    if outlines:
        key.append(_area([(0.0, 0.0)], label=word("key_zone_outline")))
    if doubts:
        key.append(_area([(0.0, 0.0)], hatch=_HATCH, label=word("key_in_doubt")))
    if nexts:
        x_of, y_of = zip(*dict.fromkeys(nexts), strict=True)
        look.draw(ax, look.marks(x_of, y_of, NEXT), gid="pull_next", zorder=4)
        key.append(look.handle(NEXT, word("key_pull_next")))
    return key


def _area(corners: Sequence[Sequence[float]], *, hatch: str = "", label: str = "") -> Polygon:
    """An area by its corners: its edge alone, or hatched."""
    return Polygon(
        [(x, y) for x, y in corners], closed=True, facecolor="none", edgecolor=look.GREY, hatch=hatch,
        linewidth=0.5 if hatch else 1.0, zorder=2, label=label,
    )  # fmt: skip


def _same_scale(ax: Axes, x: tuple[float, float], y: tuple[float, float]) -> None:
    """Limits with room around the points, widened on one side so that a metre is as long in both directions."""
    assert ax.figure is not None
    box = ax.get_position()
    shape = box.height * ax.figure.get_figheight() / (box.width * ax.figure.get_figwidth())  # type: ignore[union-attr]
    wide, high = max(1.12 * (x[1] - x[0]), 1.0), max(1.24 * (y[1] - y[0]), 1.0)
    wide, high = max(wide, high / shape), max(high, wide * shape)
    middle = (x[0] + x[1]) / 2, (y[0] + y[1]) / 2
    ax.set_xlim(middle[0] - wide / 2, middle[0] + wide / 2)
    ax.set_ylim(middle[1] - 0.48 * high, middle[1] + 0.52 * high)
    ax.set_aspect("equal", adjustable="box")


def _inches(ax: Axes) -> float:
    """How many inches a metre takes."""
    assert ax.figure is not None
    left, right = ax.get_xlim()
    return float(ax.get_position().width * ax.figure.get_figwidth() / (right - left))  # type: ignore[union-attr]


def _far_apart(ax: Axes, points: Sequence[tuple[float, float, Pull]]) -> bool:
    """Whether the strengths have room beside the marks: few of them would touch."""
    inch = _inches(ax)
    texts = sorted((x * inch, y * inch) for x, y, _ in points)
    touching = 0
    for i, (x, y) in enumerate(texts):
        for other_x, other_y in texts[i + 1 :]:
            if other_x - x >= _TEXT[0]:
                break
            touching += abs(other_y - y) < _TEXT[1]
    return touching * 7 <= len(points)


def _zone_names(ax: Axes, points: Sequence[tuple[float, float, Pull]]) -> None:
    """Each zone's name above its uppermost pull, raised until it covers no other name; none where there is no room."""
    groups: dict[str, list[tuple[float, float]]] = {}
    for x, y, pull in points:
        groups.setdefault(pull["zone"], []).append((x, y))
    inch = _inches(ax)
    busy: list[tuple[float, float, float]] = []
    for name, places in sorted(groups.items(), key=lambda item: min(item[1])):
        top = max(y for _, y in places)
        middle = (min(x for x, _ in places) + max(x for x, _ in places)) / 2
        text = look.shortened(name, 22)
        half = max(len(part) for part in text.split("\n")) * 0.037
        left, right = ax.get_xlim()
        middle = max(left + half / inch, min(middle, right - half / inch))
        x, y, high = middle * inch, top * inch + 0.09, 0.13 * (1 + text.count("\n"))
        while any(abs(x - bx) < half + bh and by - high < y < by + 0.13 for bx, by, bh in busy):
            y += 0.13
        if y - top * inch > _MOST_RAISED:
            continue
        busy.append((x, y, half))
        ax.annotate(
            text,
            (middle, top),
            (0, 72 * (y - top * inch)),
            textcoords="offset points",
            ha="center",
            va="bottom",
            color=look.INK,
            fontproperties=look.font(look.SMALL, bold=True),
            parse_math=False,
        )
