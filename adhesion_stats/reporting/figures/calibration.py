"""Figures of the calibration study: small plots of equal axes over n, with the claim and its band of chance.

Lines differ by marker and stroke as well as by lightness, so that they hold in grey; no reds beside greens. Every
function makes a figure of its own, for notebooks.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import ceil
from typing import TYPE_CHECKING

from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.ticker import FixedLocator, NullLocator

from adhesion_stats.reporting.figures import look

if TYPE_CHECKING:
    from adhesion_stats.reporting.calibration import Rate

__all__ = ["Style", "plot_coverage", "plot_exact_bounds", "plot_false_alarms", "plot_fits", "plot_levels_elsewhere"]

_SIZES = (3, 10, 20, 30)
_SIDES = (", low side", ", high side", ", two-sided")


@dataclass(frozen=True, slots=True)
class Style:
    """How one line is drawn."""

    colour: str
    stroke: str | tuple[float, tuple[float, ...]]
    marker: str
    filled: bool = True
    size: float = 3.2


PLAIN = Style(look.BLUE, "-", "o")
_OF_SIDE = {
    ", low side": Style(look.BLUE, "-", "v"),
    ", high side": Style(look.ACCENT, (0, (4, 1.5)), "^"),
    ", two-sided": Style(look.GREY, (0, (1, 1.2)), "o", filled=False),
}
_OF_POPULATION = {
    "normal": Style(look.GREY, "-", "o", filled=False),
    "lognormal 25 %": Style(look.ACCENT, "-", "^"),
    "Weibull 25 %": Style(look.BLUE, (0, (4, 1.5)), "v"),
    "normal in steps of 0.1, step not known": Style(look.INK, (0, (1, 1.2)), "s", filled=False),
    "normal, 20 % bounded and skipped": Style(look.INK, (0, (6, 1.5, 1, 1.5)), "D", filled=False),
    "15 % weak patches": Style("#d3bd98", "-", "s"),
}
_OF_BOUNDED = {
    "none": Style(look.BLUE, "-", "o"),
    "20 % taken as values": Style(look.ACCENT, (0, (4, 1.5)), "o", filled=False),
}
# The bounds of the wall of coverage, each with a short title.
BOUNDS = {
    "tolerance bound 95 % content, 75%": "tolerance bound\n95 % content, 75 %",
    "lognormal tolerance bound 95 % content, 75%": "the same,\nlognormal",
    "tolerance bound, sd pooled (36 more df), 95 % content, 75%": "the same,\nsd pooled",
    "interval of the mean, 95%": "interval of\nthe mean, 95 %",
    "interval of the sd, 95%": "interval of\nthe sd, 95 %",
    "EN 1990 prediction of the next value, 95%": "EN 1990, next\nvalue, 95 %",
    "lower prediction of the smallest of the next 3, 95%": "smallest of the\nnext 3, 95 %",
    "upper limit of share below, 95%": "upper limit of the\nshare below, 95 %",
    "order statistic, 50 % content, at least 75%": "order statistic of the\nmedian, 75 % or more",
}
POPULATIONS = ("normal", "lognormal", "Weibull", "weak patches", "steps of 0.1")


def plot_false_alarms(rows: Sequence[Rate], *, nominal: float) -> Figure:
    """False-alarm rate of every test in normal samples over n, with the claim and three standard errors of it."""
    mine = [row for row in rows if row.population == "normal" and row.claim == nominal and row.kind != "drawn again"]
    names = sorted(dict.fromkeys(_without_side(row.subject) for row in mine), key=_family)
    figure, panels = _wall(len(names), columns=5, height=1.3, legend=0.42, own_scale=True)
    for ax, name in zip(panels, names, strict=True):
        here = [row for row in mine if _without_side(row.subject) == name]
        near = all(0.78 * nominal <= row.found <= 1.22 * nominal for row in here)
        low, high = (80 * nominal, 120 * nominal) if near else (0.0, 105 * max(row.found for row in here))
        ticks = (low, 100 * nominal, high) if near else _whole(high)
        margin = 0.04 * (high - low)
        _frame(ax, _brief(name), low=low - margin, high=high + margin, ticks=ticks)
        _claim(ax, here)
        for side in (*_SIDES, ""):
            line = [row for row in here if row.subject == name + side]
            _line(ax, line, _OF_SIDE.get(side, PLAIN))
    keys = [(side.removeprefix(", "), style) for side, style in _OF_SIDE.items()]
    _legend(figure, [*keys, ("one kind only", PLAIN)], f"false alarms, % (claim {100 * nominal:g} %)")
    return figure


def plot_levels_elsewhere(rows: Sequence[Rate], *, nominal: float, tests: Sequence[str]) -> Figure:
    """Rate of flags of some tests in populations that are not normal, recorded in steps, or with bounded pulls."""
    mine = [row for row in rows if row.claim == nominal and row.kind != "drawn again" and row.subject in tests]
    figure, panels = _wall(len(tests), columns=3, height=1.75, legend=0.62, own_scale=True)
    for ax, name in zip(panels, tests, strict=True):
        here = [row for row in mine if row.subject == name]
        high = max((row.found for row in here if row.population in _OF_POPULATION), default=nominal)
        _frame(ax, _brief(name), low=-3 * high, high=105 * high, ticks=_whole(105 * high))
        _claim(ax, [row for row in here if row.population == "normal"])
        for population, style in _OF_POPULATION.items():
            _line(ax, [row for row in here if row.population == population], style)
    _legend(figure, list(_OF_POPULATION.items()), f"samples flagged, % (nominal {100 * nominal:g} %)")
    return figure


def plot_exact_bounds(rows: Sequence[Rate]) -> Figure:
    """Coverage less claim, in points, of every bound in the population for which it is exact; band as above."""
    mine = [row for row in rows if row.kind == "exact" and not row.subject.startswith("order")]
    # What holds without a distribution is shown once.
    mine = [row for row in mine if not row.subject.startswith("chance") or row.population == "normal"]
    names = list(dict.fromkeys((row.subject, row.population) for row in mine))
    figure, panels = _wall(len(names), columns=5, height=1.05, legend=0.42)
    for ax, (subject, population) in zip(panels, names, strict=True):
        here = sorted((r for r in mine if (r.subject, r.population) == (subject, population)), key=lambda row: row.n)
        _frame(ax, _brief(subject), low=-0.75, high=0.75, ticks=(-0.5, 0.0, 0.5))
        xs, bands = [row.n for row in here], [300 * row.error for row in here]
        ax.fill_between(xs, [-b for b in bands], bands, color="#b9ccd6", linewidth=0.0, zorder=1.5, gid="band")
        ax.axhline(0.0, color=look.INK, linewidth=0.9, zorder=2, gid="claim")
        points = [100 * (row.found - row.claim) for row in here]
        ax.plot(xs, points, **_drawn(PLAIN), zorder=3, gid=f"{subject}|{population}|none")  # type: ignore[arg-type]
    _legend(figure, [("found", PLAIN)], "coverage less claim, percentage points")
    return figure


def plot_coverage(rows: Sequence[Rate]) -> Figure:
    """Coverage of bounds with a formula over n: a row for each bound, a column for each population."""
    mine = [row for row in rows if row.kind != "drawn again"]
    places = len(BOUNDS) * len(POPULATIONS)
    figure, panels = _wall(places, columns=len(POPULATIONS), height=0.98, legend=0.58, left=1.75, title=0.1)
    for place, ax in enumerate(panels):
        bound, population = list(BOUNDS)[place // len(POPULATIONS)], POPULATIONS[place % len(POPULATIONS)]
        here = [row for row in mine if row.subject == bound and row.population == population]
        _frame(ax, population if place < len(POPULATIONS) else "", low=0.0, high=103.0, ticks=(25.0, 50.0, 75.0, 95.0))
        _claim(ax, [row for row in here if row.bounded == "none"])
        for bounded, style in _OF_BOUNDED.items():
            _line(ax, [row for row in here if row.bounded == bounded], style, every=3)
        if place % len(POPULATIONS) == 0:
            ax.annotate(
                BOUNDS[bound],
                (0.0, 0.5),
                (-36, 0),
                xycoords="axes fraction",
                textcoords="offset points",
                ha="right",
                va="center",
                color=look.INK,
                fontproperties=look.font(look.SMALL),
            )
    keys = ("no bounded pulls", "20 % bounded, taken as values")
    _legend(figure, list(zip(keys, _OF_BOUNDED.values(), strict=True)), "coverage, %")
    return figure


def plot_fits(rows: Sequence[Rate]) -> Figure:
    """Limits by likelihood with 20 % bounded pulls: calibrated ones beside plain standard errors, families right and
    wrong.
    """
    pairs = (
        ("normal", "normal", "normal, fitted as normal"),
        ("lognormal", "lognormal", "lognormal, as lognormal"),
        ("Weibull", "weibull", "Weibull, as Weibull"),
        ("weak patches", "normal", "weak patches, as normal"),
        ("steps of 0.1", "normal", "steps of 0.1, as normal"),
    )
    styles = {
        "calibrated, 20 % bounded": PLAIN,
        "calibrated, largest fifth cut off": Style(look.INK, (0, (1, 1.2)), "D", filled=False),
        "standard errors, 20 % bounded": Style(look.ACCENT, (0, (4, 1.5)), "o", filled=False),
    }
    shown = [pair for pair in pairs if any(_is_fit(row, *pair[:2]) for row in rows)]
    figure, panels = _wall(len(shown), columns=5, height=1.7, legend=0.42)
    for ax, (population, family, title) in zip(panels, shown, strict=True):
        here = [row for row in rows if row.population == population and row.kind != "drawn again"]
        _frame(ax, title, low=15.0, high=100.0, ticks=(25.0, 50.0, 75.0, 95.0))
        name = f"{family} fit: lower limit of 5 % fractile"
        chosen = {
            "calibrated, 20 % bounded": (f"{name}, 75%", "20 %"),
            "calibrated, largest fifth cut off": (f"{name}, 75%", "largest fifth, type II"),
            "standard errors, 20 % bounded": (f"{name} by standard error, 75%", "20 %"),
        }
        for key, (subject, bounded) in chosen.items():
            line = [row for row in here if row.subject == subject and row.bounded == bounded]
            if key == "calibrated, 20 % bounded":
                _claim(ax, line)
            _line(ax, line, styles[key])
    _legend(figure, list(styles.items()), "coverage of a lower limit of the 5 % fractile, % (claim 75 %)")
    return figure


def _is_fit(row: Rate, population: str, family: str) -> bool:
    return row.population == population and row.subject.startswith(f"{family} fit:")


# -- one small plot, and the wall of them


def _without_side(subject: str) -> str:
    return next((subject.removesuffix(side) for side in _SIDES if subject.endswith(side)), subject)


def _family(name: str) -> tuple[int, str]:
    """Tests of one kind beside each other."""
    kinds = ("Grubbs", "Dixon", "gener", "Tietjen", "Cochran", "Mandel", "Shapiro", "Anderson", "t test", "sd test")
    return next((at for at, kind in enumerate(kinds) if name.startswith(kind)), len(kinds)), name


# What is left out or shortened so that a title fits above a small plot, in this order.
_SHORTER = {
    "generalised ESD": "ESD",
    ", cells of 3": "",
    "one at either end": "both ends",
    "tolerance bound": "bound",
    "two-sided tolerance interval": "two-sided interval",
    " 95 % content": "",
    " 90 % content": "",
    "lower prediction of the ": "",
    "prediction of the ": "",
    "EN 1990 with sd known, next value": "EN 1990, sd known",
    "EN 1990 next value": "EN 1990",
    "smallest of the next": "smallest of next",
    "chance that the next 3 are all above the smallest": "next 3 above smallest",
    " fit: lower limit of 5 % fractile": ", cut off",
    " (36 more df)": "",
    " 5 % fractile": "",
    "lower limit of share below": "share below, lower",
    "upper limit of share below": "share below, upper",
    ", sd known": ", σ known",
    "weibull": "Weibull",
}


def _brief(name: str) -> str:
    for long, short in _SHORTER.items():
        name = name.replace(long, short)
    return name.replace("%", " %").replace("  %", " %").replace(",,", ",")


def _whole(high: float) -> tuple[float, ...]:
    step = next(step for step in (0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 25.0, 50.0) if high / step <= 4.5)
    return tuple(step * i for i in range(int(high / step) + 1))


def _wall(
    count: int,
    *,
    columns: int,
    height: float,
    legend: float,
    left: float = 0.42,
    title: float = 0.28,
    own_scale: bool = False,
) -> tuple[Figure, list[Axes]]:
    """A figure with so many small axes in rows; all lengths in inches. ``own_scale``: numbers at each."""
    rows, width, gap, below = ceil(count / columns), 8.6, 0.34 if own_scale else 0.16, 0.3
    total = legend + rows * height + below
    figure = Figure(figsize=(width, total))
    figure.patch.set_facecolor(look.PAPER)
    across = (width - left - 0.1) / columns
    panels = []
    for place in range(count):
        row, column = divmod(place, columns)
        bottom = below + (rows - 1 - row) * height + 0.08
        box = (left + column * across, bottom, across - gap, height - 0.08 - title)
        ax = figure.add_axes((box[0] / width, box[1] / total, box[2] / width, box[3] / total))
        last = place + columns >= count
        ax.tick_params(labelbottom=last, labelleft=own_scale or column == 0)
        panels.append(ax)
    return figure, panels


def _frame(ax: Axes, title: str, *, low: float, high: float, ticks: Iterable[float]) -> None:
    ax.set_facecolor("none")
    for side in ("top", "right", "left"):
        ax.spines[side].set_visible(False)
    ax.spines["bottom"].set_color(look.RULE)
    ax.set_xlim(2.0, 31.0)
    ax.set_ylim(low, high)
    ax.xaxis.set_major_locator(FixedLocator(_SIZES))
    ax.yaxis.set_major_locator(FixedLocator([float(tick) for tick in ticks if low <= tick <= high]))
    ax.xaxis.set_minor_locator(NullLocator())
    ax.grid(axis="y", color=look.RULE, linewidth=0.6)
    ax.set_axisbelow(True)
    ax.tick_params(color=look.RULE, labelcolor=look.INK, length=2, labelsize=look.SMALL, labelfontfamily=look.FAMILY)
    ax.tick_params(axis="y", length=0)
    ax.set_title(title, loc="left", pad=3, color=look.INK, fontproperties=look.font(look.SMALL, bold=True))


def _claim(ax: Axes, rows: Sequence[Rate]) -> None:
    """The claim over n with a band of three standard errors."""
    ordered = sorted(rows, key=lambda row: row.n)
    if not ordered:
        return
    xs = [row.n for row in ordered]
    ax.fill_between(
        xs,
        [100 * (row.claim - 3 * row.error) for row in ordered],
        [100 * (row.claim + 3 * row.error) for row in ordered],
        color="#b9ccd6",
        linewidth=0.0,
        zorder=1.5,
        gid="band",
    )
    ax.plot(xs, [100 * row.claim for row in ordered], color=look.INK, linewidth=0.9, zorder=2, gid="claim")


def _line(ax: Axes, rows: Sequence[Rate], style: Style, *, every: int = 1) -> None:
    ordered = sorted(rows, key=lambda row: row.n)
    if ordered:
        ax.plot(
            [row.n for row in ordered],
            [100 * row.found for row in ordered],
            **_drawn(style),  # type: ignore[arg-type]
            markevery=every,
            zorder=3,
            gid=f"{ordered[0].subject}|{ordered[0].population}|{ordered[0].bounded}",
        )


def _drawn(style: Style) -> dict[str, object]:
    return {
        "color": style.colour,
        "linestyle": style.stroke,
        "linewidth": 0.9,
        "marker": style.marker,
        "markersize": style.size,
        "markeredgewidth": 0.7,
        "markeredgecolor": style.colour,
        "markerfacecolor": style.colour if style.filled else look.PAPER,
    }


def _legend(figure: Figure, styles: Sequence[tuple[str, Style]], what: str) -> None:
    """The key and what the axes show, above the plots; the name of the other axis below."""
    from matplotlib.lines import Line2D
    from matplotlib.patches import Patch

    handles: list[Line2D | Patch] = [Line2D([], [], label=name, **_drawn(style)) for name, style in styles]  # type: ignore[arg-type]
    handles.append(Patch(facecolor="#b9ccd6", edgecolor=look.INK, linewidth=0.6, label="claim ± 3 standard errors"))
    total = figure.get_figheight()
    figure.text(0.012, 1.0 - 0.06 / total, what, va="top", color=look.INK, fontproperties=look.font(bold=True))
    legend = figure.legend(
        handles=handles,
        loc="upper left",
        bbox_to_anchor=(0.004, 1.0 - 0.2 / total),
        ncols=min(5, len(handles)) if len(handles) <= 5 else 4,
        frameon=False,
        prop=look.font(look.SMALL),
        handlelength=3.0,
        borderaxespad=0.0,
        columnspacing=1.4,
    )
    for text in legend.get_texts():
        text.set_color(look.INK)
    figure.text(
        0.99, 0.07 / total, "values in a sample, n", ha="right", va="bottom", color=look.INK,
        fontproperties=look.font(look.SMALL),
    )  # fmt: skip
