"""Operating characteristic: probability of each outcome against the true mean of a zone, one or two rules."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from matplotlib.axes import Axes
from matplotlib.ticker import MaxNLocator
from numpy.typing import NDArray

from adhesion_stats.reporting.figures import look
from adhesion_stats.reporting.words import word
from adhesion_stats.units import factor

__all__ = ["Curve", "plot_operating_characteristic"]

_MOST_NAME = 24
_LETTER, _LINE = 4.6, 12.0  # points that a letter and a line of small text take
Dashes = str | tuple[float, tuple[float, ...]]
_STYLES: dict[str, tuple[str, float, Dashes]] = {
    "conforms": (look.BLUE, 1.8, "solid"),
    "does_not_conform": (look.ACCENT, 1.5, (0, (5, 2))),
    "undetermined": (look.GREY, 1.3, (0, (1, 1.6))),
}
_SECOND: tuple[str, float, Dashes] = (look.INK, 1.5, (0, (7, 2, 1, 2)))
_LEAST_SHOWN = 0.002  # a curve that never rises above this has no line


@dataclass(frozen=True)
class _Drawn:
    gid: str
    x: list[float]
    y: list[float]  # [%]
    text: str
    color: str
    width: float
    dashes: Dashes


class Curve(Protocol):
    """What is drawn: the package's ``OperatingCharacteristic``, or anything with these columns (g,)."""

    @property
    def mean_mpa(self) -> NDArray[np.float64]:
        """True means, ascending [MPa]."""

    @property
    def conforms(self) -> NDArray[np.float64]:
        """Probability that a zone conforms [-]."""

    @property
    def does_not_conform(self) -> NDArray[np.float64]:
        """Probability that it does not [-]."""

    @property
    def undetermined(self) -> NDArray[np.float64]:
        """Probability that it stays undetermined [-]."""


def plot_operating_characteristic(
    curve: Curve,
    ax: Axes | None = None,
    *,
    unit: str = "MPa",
    other: Curve | None = None,
    names: tuple[str, str] = ("", ""),
    narrow: bool = False,
) -> Axes:
    """Draw how often a zone conforms, does not conform and stays undetermined, against its true mean.

    Parameters
    ----------
    curve
        From ``operating_characteristic``; true means ascending [MPa], probabilities [-].
    ax
        Axes to draw into; None: one in a figure of its own.
    unit
        Unit of the horizontal axis, such as "MPa" or "psi".
    other
        A second rule, of which only "conforms" is drawn.
    names
        Names of the two rules where there are two, as they stand on their lines.
    narrow
        For a page in a narrow window.

    Returns
    -------
    Axes
        Each line carries its name, and its ``gid``: conforms, does_not_conform, undetermined, other.
    """
    if ax is None:
        width = 3.5 if narrow else 7.3
        ax = look.own_axes(width, 2.9, left=0.55, right=0.12, top=0.15, bottom=0.5)
    size = factor(unit, "strength")
    x = [mean / size for mean in curve.mean_mpa.tolist()]
    ax.set_xlim(min(x), max(x) if max(x) > min(x) else min(x) + 1.0)
    ax.set_ylim(-2.0, 104.0)
    drawn: list[_Drawn] = []
    for outcome, style in _STYLES.items():
        y = [100.0 * p for p in getattr(curve, outcome).tolist()]
        if max(y) < 100.0 * _LEAST_SHOWN:
            continue
        text = word(f"risk_curve_{outcome}")
        if other is not None and names[0]:
            text = f"{text}, {look.shortened(names[0], _MOST_NAME)}"
        drawn.append(_Drawn(outcome, x, y, text, *style))
    if other is not None:
        second = [mean / size for mean in other.mean_mpa.tolist()]
        text = f"{word('risk_curve_conforms')}, {look.shortened(names[1], _MOST_NAME)}".rstrip(", ")
        drawn.append(_Drawn("other", second, [100.0 * p for p in other.conforms.tolist()], text, *_SECOND))
    for one in drawn:
        (line,) = ax.plot(one.x, one.y, color=one.color, linewidth=one.width, linestyle=one.dashes, zorder=4)
        line.set_gid(one.gid)
    _name_lines(ax, drawn)
    ax.grid(visible=True, color=look.RULE, linewidth=0.6)
    ax.set_axisbelow(True)
    ax.xaxis.set_major_locator(MaxNLocator(nbins=5 if narrow else 9, steps=[1, 2, 2.5, 5, 10]))
    ax.set_yticks([0, 25, 50, 75, 100])
    ax.set_xlabel(word("ax_true_mean").format(unit=unit), fontproperties=look.font(), color=look.INK)
    ax.set_ylabel(word("ax_probability"), fontproperties=look.font(), color=look.INK)
    look.bare(ax)
    return ax


Box = tuple[float, float, float, float]  # left, bottom, right, top, as shares of the axes


def _name_lines(ax: Axes, drawn: Sequence[_Drawn]) -> None:
    """Each line's name beside it, where it covers no line and no other name; else where it covers least."""
    assert ax.figure is not None
    frame = ax.get_position()
    wide = frame.width * ax.figure.get_figwidth() * 72.0  # type: ignore[union-attr]
    high = frame.height * ax.figure.get_figheight() * 72.0  # type: ignore[union-attr]
    left, right = ax.get_xlim()
    low, top = ax.get_ylim()
    paths = [
        [((x - left) / (right - left), (y - low) / (top - low)) for x, y in zip(one.x, one.y, strict=True)]
        for one in drawn
    ]
    taken: list[Box] = []
    for one, path in zip(drawn, paths, strict=True):
        size = (_LETTER * len(one.text) / wide, _LINE / high)
        gap = (7.0 / wide, 7.0 / high)

        def cost(box: Box) -> float:
            covered = sum(_inside(point, box) for other in paths for point in other)
            outside = box[0] < 0.0 or box[2] > 1.0 or box[1] < 0.02 or box[3] > 0.98
            over = sum(box[0] < b[2] and b[0] < box[2] and box[1] < b[3] and b[1] < box[3] for b in taken)
            return covered + 1000.0 * outside + 300.0 * over + abs((box[1] + box[3]) / 2 - 0.55)

        box = min((b for point in path[:: max(1, len(path) // 80)] for b in _beside(point, size, gap)), key=cost)
        taken.append(box)
        ax.text(
            box[0], (box[1] + box[3]) / 2, one.text, transform=ax.transAxes, ha="left", va="center",
            color=one.color, fontproperties=look.font(look.SMALL), zorder=5,
        )  # fmt: skip


def _beside(point: tuple[float, float], size: tuple[float, float], gap: tuple[float, float]) -> list[Box]:
    """Boxes to the right, to the left and above a point of a line."""
    (x, y), (wide, high) = point, size
    return [
        (x + gap[0], y - high / 2, x + gap[0] + wide, y + high / 2),
        (x - gap[0] - wide, y - high / 2, x - gap[0], y + high / 2),
        (x - wide / 2, y + gap[1], x + wide / 2, y + gap[1] + high),
    ]


def _inside(point: tuple[float, float], box: Box) -> bool:
    return box[0] <= point[0] <= box[2] and box[1] <= point[1] <= box[3]
