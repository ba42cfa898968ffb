"""A zone drawn to scale: outline with dimensions, keep-outs, numbered positions, retest positions, coordinates.

Pulls and retests differ by shape, keep-outs by hatching; a metre is as long in both directions.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import matplotlib as mpl
import numpy as np
from matplotlib.axes import Axes
from matplotlib.patches import PathPatch, Polygon
from matplotlib.path import Path
from matplotlib.ticker import MaxNLocator

from adhesion_stats.quantities import decimal_text
from adhesion_stats.reporting.figures import look
from adhesion_stats.reporting.figures.svg import SETTINGS, axes_svg
from adhesion_stats.reporting.plan.facts import ZoneFacts, plan_from
from adhesion_stats.reporting.words import word

__all__ = ["plan_svg", "plot_plan"]

PULL = look.Mark("o", 6.4, look.BLUE, filled=True, width=0.8)
RETEST = look.Mark("s", 4.6, look.ACCENT, filled=False, width=1.1)
_SMALL_PULL = look.Mark("o", 3.2, look.BLUE, filled=True, width=0.5)  # several stand close together
_SMALL_RETEST = look.Mark("s", 2.8, look.ACCENT, filled=False, width=0.8)
_KEEP_OUT = ("#e8dcc8", "////")
_TALLEST = 7.5  # inches
_MARGINS = {"left": 0.62, "right": 0.42, "bottom": 0.5}


def plot_plan(plan: Mapping[str, object], zone: str, ax: Axes | None = None, *, narrow: bool = False) -> Axes:
    """Draw the positions of a zone to scale.

    Parameters
    ----------
    plan
        Contents of plan.json.
    zone
        Name of a zone that has an outline.
    ax
        Where to draw; None makes a figure of its own.
    narrow
        For a narrow screen.

    Raises
    ------
    KeyError
        For a zone that the plan does not have, or that has no outline.
    """
    found = next((z for z in plan_from(plan)["zones"] if z["zone"] == zone and z["outline"] is not None), None)
    if found is None:
        raise KeyError(zone)
    corners = np.array(found["outline"])
    low, size = corners.min(axis=0), np.ptp(corners, axis=0)
    kinds = _kinds(found)
    width = 3.5 if narrow else 7.3
    top = 0.34 + 0.2 * (-(-len(kinds) // (1 if narrow else 3)))
    if ax is None:
        inner = width - _MARGINS["left"] - _MARGINS["right"]
        tall = min(_TALLEST, max(0.9, inner * size[1] / size[0]))
        ax = look.own_axes(width, tall + top + _MARGINS["bottom"], top=top, **_MARGINS)
    _scaled(ax, low, size)
    _ground(ax, found, corners)
    _positions(ax, found)
    _dimensions(ax, low, size, found["step_m"] or 0.01)
    look.bare(ax)
    ax.spines["bottom"].set_visible(False)
    for axis, label in ((ax.xaxis, "plan_ax_x"), (ax.yaxis, "plan_ax_y")):
        axis.set_major_locator(MaxNLocator(nbins=4 if narrow else 8, steps=[1, 2, 5, 10]))
        axis.set_label_text(word(label), fontproperties=look.font(look.SMALL), color=look.INK)
    if ax.get_position().height * ax.figure.get_figheight() < 1.2:  # type: ignore[union-attr]
        ax.yaxis.set_major_locator(MaxNLocator(nbins=2, steps=[1, 2, 5, 10]))
    _key(ax, kinds, narrow=narrow)
    return ax


def plan_svg(plan: Mapping[str, object], zone: str, *, narrow: bool = False) -> str:
    """The drawing of a zone as an ``<svg>`` element to stand inside a page; the same bytes each time."""
    number = next(z["number"] for z in plan_from(plan)["zones"] if z["zone"] == zone)
    with mpl.rc_context(SETTINGS):  # type: ignore[arg-type]
        return axes_svg(plot_plan(plan, zone, narrow=narrow), name=f"plan{'-n' if narrow else ''}-{number}")


def _kinds(zone: ZoneFacts) -> list[str]:
    kinds = ["pull"] if zone["measurements"] is None else ["pull", "measurement"]
    if any(position["retests"] for position in zone["positions"]):
        kinds.append("retest")
    return [*kinds, "keep_out"] if zone["keep_outs"] else kinds


def _scaled(ax: Axes, low: np.ndarray, size: np.ndarray) -> None:
    """Limits round the outline, a little wider where the axes are not of its shape."""
    assert ax.figure is not None
    box = ax.get_position()
    wide = box.width * ax.figure.get_figwidth()  # type: ignore[union-attr]
    high = box.height * ax.figure.get_figheight()  # type: ignore[union-attr]
    inch = max(size[0] / wide, size[1] / high)  # metres an inch
    middle = low + size / 2
    ax.set_xlim(middle[0] - wide * inch / 2, middle[0] + wide * inch / 2)
    ax.set_ylim(middle[1] - high * inch / 2, middle[1] + high * inch / 2)
    ax.set_aspect("equal", adjustable="box")


def _ground(ax: Axes, zone: ZoneFacts, corners: np.ndarray) -> None:
    """Outline, parts of equal area, keep-outs."""
    shape = Polygon(
        [(x, y) for x, y in corners.tolist()],
        closed=True,
        facecolor=look.BAND,
        edgecolor=look.INK,
        linewidth=1.3,
        zorder=1,
        gid="outline",
        clip_on=False,
    )
    ax.add_patch(shape)
    if zone["cells"] is not None and len(zone["cells"]) > 1:
        edges = [_box(cell) for cell in zone["cells"]]
        lines = PathPatch(
            Path.make_compound_path(*edges),
            facecolor="none",
            edgecolor=look.GREY,
            linewidth=0.7,
            linestyle=(0, (1, 2.5)),
            zorder=2,
            gid="parts",
        )
        ax.add_patch(lines)
        lines.set_clip_path(shape)
    fill, hatch = _KEEP_OUT
    for part in zone["keep_outs"]:
        ax.add_patch(
            Polygon(
                [(x, y) for x, y in part["corners"]],
                closed=True,
                facecolor=fill,
                edgecolor=look.GREY,
                hatch=hatch,
                linewidth=0.9,
                zorder=3,
                gid="keep_out",
            )
        )


def _box(cell: Sequence[float]) -> Path:
    x0, y0, x1, y1 = cell
    return Path([(x0, y0), (x1, y0), (x1, y1), (x0, y1), (x0, y0)], closed=True)


def _positions(ax: Axes, zone: ZoneFacts) -> None:
    positions = zone["positions"]
    for position in positions:
        for retest in position["retests"]:
            ax.plot(
                [position["x_m"], retest["x_m"]],
                [position["y_m"], retest["y_m"]],
                color=look.ACCENT,
                linewidth=0.7,
                zorder=4,
                gid="join",
            )
    kept = [(r["x_m"], r["y_m"]) for position in positions for r in position["retests"]]
    if kept:
        xs, ys = zip(*kept, strict=True)
        kept_mark = RETEST if zone["measurements"] is None else _SMALL_RETEST
        look.draw(ax, look.marks(xs, ys, kept_mark), gid="retest", zorder=5, clip=False)
    xs, ys = zip(*((p["x_m"], p["y_m"]) for p in positions), strict=True)
    mark = PULL if zone["measurements"] is None else _SMALL_PULL
    look.draw(ax, look.marks(xs, ys, mark), gid="pull", zorder=6, clip=False)
    if zone["measurements"] is not None:
        _measurements(ax, zone)
        return
    every = np.array([*zip(xs, ys, strict=True), *kept])
    for i, (x, y) in enumerate(zip(xs, ys, strict=True), 1):
        across, up, ha, va = _free_side(np.array([x, y]), every)
        ax.annotate(
            str(i),
            (x, y),
            (6.5 * across, 6.5 * up),
            textcoords="offset points",
            ha=ha,
            va=va,
            color=look.INK,
            zorder=7,
            fontproperties=look.font(look.FONT, bold=True),
        )


def _measurements(ax: Axes, zone: ZoneFacts) -> None:
    """The square of each measurement with its number."""
    for number, measurement in enumerate(zone["measurements"] or (), 1):
        x0, y0, x1, y1 = measurement["square"] or (0.0, 0.0, 0.0, 0.0)
        ax.add_patch(
            Polygon(
                [(x0, y0), (x1, y0), (x1, y1), (x0, y1)],
                closed=True,
                facecolor="none",
                edgecolor=look.INK,
                linewidth=0.8,
                zorder=4,
                gid="measurement",
            )
        )
        ax.annotate(
            str(number), (x1, 0.5 * (y0 + y1)), (3.5, 0.0), textcoords="offset points", ha="left", va="center",
            color=look.INK, zorder=7, fontproperties=look.font(look.FONT, bold=True),
        )  # fmt: skip


_SIDES = (
    (1.0, 0.0, "left", "center"),
    (-1.0, 0.0, "right", "center"),
    (0.0, 0.9, "center", "bottom"),
    (0.0, -0.9, "center", "top"),
)


def _free_side(place: np.ndarray, every: np.ndarray) -> tuple[float, float, str, str]:
    """The side of a mark that lies farthest from what is drawn around it; the right where nothing is near."""
    away = every - place
    others = away[(away**2).sum(axis=1) > 0]
    if not len(others):
        return _SIDES[0]
    nearest = others[np.argmin((others**2).sum(axis=1))]
    turn = nearest / np.hypot(*nearest)
    return min(_SIDES, key=lambda side: round(side[0] * turn[0] + side[1] * turn[1], 9))


def _dimensions(ax: Axes, low: np.ndarray, size: np.ndarray, step: float) -> None:
    """Overall width above and height at the right, each between two short strokes."""
    places = 2 if step >= 0.01 else 3
    texts = [f"{decimal_text(float(length), places)} m" for length in size]
    high = low + size
    for ends, text, offset in (
        (((low[0], high[1]), (high[0], high[1])), texts[0], (0.0, 9.0)),
        (((high[0], low[1]), (high[0], high[1])), texts[1], (9.0, 0.0)),
    ):
        upright = offset[0] > 0
        start, end = (ax.transData.transform(point) for point in ends)
        shift = np.array(offset) * (ax.figure.dpi / 72.0)
        back = ax.transData.inverted()
        a, b = back.transform(start + shift), back.transform(end + shift)
        ax.plot(
            [a[0], b[0]], [a[1], b[1]], color=look.INK, linewidth=0.8, clip_on=False, zorder=3, gid="dimension",
            marker=1 if upright else 3, markersize=0,
        )  # fmt: skip
        stroke = np.array([4.0, 0.0] if upright else [0.0, 4.0]) * (ax.figure.dpi / 72.0)
        for point in (start + shift, end + shift):
            p, q = back.transform(point - stroke), back.transform(point + stroke)
            ax.plot([p[0], q[0]], [p[1], q[1]], color=look.INK, linewidth=0.8, clip_on=False, zorder=3)
        ax.annotate(
            text,
            ((a[0] + b[0]) / 2, (a[1] + b[1]) / 2),
            (2.5, 0.0) if upright else (0.0, 2.0),
            textcoords="offset points",
            ha="left" if upright else "center",
            va="center" if upright else "bottom",
            rotation=90 if upright else 0,
            color=look.INK,
            fontproperties=look.font(look.FONT),
            annotation_clip=False,
        )


def _key(ax: Axes, kinds: Sequence[str], *, narrow: bool) -> None:
    handles: list[object] = [look.handle(PULL, word("plan_key_pull"))]
    if "measurement" in kinds:
        square = Polygon([(0, 0)], facecolor="none", edgecolor=look.INK, linewidth=0.8)
        square.set_label(word("plan_key_measurement"))
        handles.append(square)
    if "retest" in kinds:
        handles.append(look.handle(RETEST, word("plan_key_retest")))
    if "keep_out" in kinds:
        fill, hatch = _KEEP_OUT
        patch = Polygon([(0, 0)], facecolor=fill, edgecolor=look.GREY, hatch=hatch, linewidth=0.9)
        patch.set_label(word("plan_key_keep_out"))
        handles.append(patch)
    look.key_above(ax, handles, lift=0.36, ncols=1 if narrow else 3)
