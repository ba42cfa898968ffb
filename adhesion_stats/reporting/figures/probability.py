"""Normal probability plots: one small plot for each zone that has at least five counted values, all of them exact."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import ceil
from statistics import NormalDist

from matplotlib.axes import Axes
from matplotlib.collections import LineCollection
from matplotlib.ticker import MaxNLocator

from adhesion_stats.reporting.figures import look
from adhesion_stats.reporting.numbers import MINUS, Scale, count
from adhesion_stats.reporting.results import Pull, Results, Zone, results_from
from adhesion_stats.reporting.words import fill, word

__all__ = ["LEAST_VALUES", "plot_probability", "plotted_pulls", "quantiles", "why_not"]

LEAST_VALUES = 5
_LEVELS = (-1, 0, 1)  # normal quantiles with a rule


def quantiles(n: int) -> list[float]:
    """Normal quantiles at which n ordered values are plotted: median ranks after Filliben.

    Source: J. J. Filliben, Technometrics 17 (1975) 111-117, as in NIST Dataplot ("order statistics medians"):
    1 - 0.5**(1/n), (i - 0.3175)/(n + 0.365) for i = 2 ... n-1, 0.5**(1/n).

    >>> [round(q, 4) for q in quantiles(5)]
    [-1.129, -0.4857, 0.0, 0.4857, 1.129]
    """
    last = 0.5 ** (1 / n)
    ranks = [1 - last, *((i - 0.3175) / (n + 0.365) for i in range(2, n)), last]
    normal = NormalDist()
    return [0.0 if rank == 0.5 else normal.inv_cdf(rank) for rank in ranks]


def plotted_pulls(data: Results, zone: str) -> list[Pull]:
    """The counted exact pulls of a zone in ascending order of strength."""
    mine = [p for p in data["pulls"] if p["zone"] == zone and p["status"] == "counted" and p["counts_as"] == "exact"]
    return sorted(mine, key=lambda pull: (pull["strength"] or 0.0, pull["index"]))


def why_not(data: Results, zone: Zone) -> str:
    """Why the zone has no plot, in words; "" where it has one."""
    exact = plotted_pulls(data, zone["zone"])
    if zone["pulls"]["bounded"]:
        return word("prob_why_bounds")
    if len(exact) < LEAST_VALUES:
        return "".join(str(part) for part in fill("prob_why_few", n=count(len(exact))))
    if len({pull["strength"] for pull in exact}) == 1:
        return word("prob_why_equal")
    return ""


def plot_probability(
    results: Mapping[str, object], ax: Axes | None = None, *, zones: Sequence[str] | None = None, narrow: bool = False
) -> Axes:
    """Draw small normal probability plots on common axes, one for each zone that allows it.

    Parameters as in ``plot_pulls``. ``ax`` becomes the frame; the small plots are its ``child_axes``, in the order of
    the zones, each titled with its zone: x strength in the unit of the report, y normal quantile.
    """
    data = results_from(results)
    drawn = [z for z in data["zones"] if (zones is None or z["zone"] in zones) and not why_not(data, z)]
    scale = Scale(data["unit"], data["places"])
    columns = min(2 if narrow else 4, max(1, len(drawn)))
    rows = max(1, ceil(len(drawn) / columns))
    if ax is None:
        width = 3.5 if narrow else 7.3
        side = (width - 0.6) / (2 if narrow else 4)
        height = 1.45 * rows + 0.52
        right = width - 0.5 - side * columns
        ax = look.own_axes(width, height, left=0.5, right=max(0.1, right), top=0.12, bottom=0.4)
    ax.set_axis_off()
    strengths = {
        z["zone"]: [scale.converted(p["strength"] or 0.0) for p in plotted_pulls(data, z["zone"])] for z in drawn
    }
    everything = [x for values in strengths.values() for x in values]
    if not everything:
        ax.text(0.0, 0.5, word("no_probability"), color=look.INK, fontproperties=look.font(), transform=ax.transAxes)
        return ax
    room = 0.06 * (max(everything) - min(everything))
    reach = 1.15 * max(quantiles(max(len(values) for values in strengths.values())))
    left, right = min(everything) - room, max(everything) + room
    locator = MaxNLocator(nbins=3 if narrow else 4, steps=[1, 2, 5, 10])
    ticks = [x for x in map(float, locator.tick_values(left, right)) if left <= x <= right]
    for i, zone in enumerate(drawn):
        row, column = divmod(i, columns)
        small = ax.inset_axes((column / columns, 1 - (row + 1) / rows + 0.06 / rows, 0.9 / columns, 0.72 / rows))
        small.set_xlim(left, right)
        small.set_ylim(-reach, reach)
        _small_plot(small, zone, strengths[zone["zone"]], plotted_pulls(data, zone["zone"]), scale)
        _frame(small, ticks, first_column=column == 0, last_row=i + columns >= len(drawn))
        name = look.shortened(zone["zone"], 24).split("\n", maxsplit=1)[0]
        name = name if name == zone["zone"] else name.rstrip("…") + "…"
        small.set_title(
            name, loc="left", pad=3, color=look.INK, parse_math=False, fontproperties=look.font(look.SMALL, bold=True)
        )
    ax.text(
        0.45,
        -0.17 / (1.45 * rows),
        word("ax_strength").format(unit=data["unit"]),
        transform=ax.transAxes,
        ha="center",
        va="top",
        color=look.INK,
        fontproperties=look.font(),
    )
    ax.text(
        -0.36 / (1.7 * columns),
        0.5,
        word("ax_quantile"),
        transform=ax.transAxes,
        ha="right",
        va="center",
        rotation=90,
        color=look.INK,
        fontproperties=look.font(),
    )
    return ax


def _small_plot(ax: Axes, zone: Zone, values: Sequence[float], pulls: Sequence[Pull], scale: Scale) -> None:
    heights = quantiles(len(values))
    summary = zone["summary"]
    if summary["mean"] is not None and summary["sd"]:
        mean, sd = scale.converted(summary["mean"]), scale.converted(summary["sd"])
        low, high = ax.get_ylim()
        (line,) = ax.plot([mean + low * sd, mean + high * sd], [low, high], color=look.ACCENT, linewidth=1.0, zorder=2)
        line.set_gid("normal")
    look.draw(ax, look.marks(values, heights, look.MARKS["exact"], size=4.4), gid="exact", zorder=3)
    flagged = [(x, y) for x, y, pull in zip(values, heights, pulls, strict=True) if pull["flags"]]
    if flagged:
        xs, ys = zip(*flagged, strict=True)
        look.draw(ax, look.marks(xs, ys, look.MARKS["flagged"]), gid="flagged", zorder=4)


def _frame(ax: Axes, ticks: Sequence[float], *, first_column: bool, last_row: bool) -> None:
    """Thin rules at the ticks and a base line; numbers at the outer plots only, since all share their axes."""
    (left, right), (low, high) = ax.get_xlim(), ax.get_ylim()
    rules = [[(x, low), (x, high)] for x in ticks] + [[(left, y), (right, y)] for y in _LEVELS]
    ax.add_collection(LineCollection(rules, colors=look.RULE, linewidths=0.6, zorder=1), autolim=False)
    ax.add_collection(LineCollection([[(left, low), (right, low)]], colors=look.GREY, linewidths=0.8), autolim=False)
    ax.set_axis_off()
    put: dict[str, object] = {"textcoords": "offset points", "fontproperties": look.font(look.SMALL), "color": look.INK}
    for x in ticks if last_row else ():
        ax.annotate(f"{x:g}", (x, low), (0, -4), ha="center", va="top", **put)  # type: ignore[arg-type]
    for y in _LEVELS if first_column else ():
        ax.annotate(f"{y:g}".replace("-", MINUS), (left, y), (-5, 0), ha="right", va="center", **put)  # type: ignore[arg-type]
