"""How figures look: colours, type, line styles, and the shape of each kind of pull. No data, no drawing of data.

Nothing is told by colour alone: pulls differ by shape, limits by line style, places of failure by hatching. The
colours also differ in lightness, so that they hold in grey; ``DARK`` gives the colour that a page in dark dress puts
in place of each.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.font_manager import FontProperties
from matplotlib.legend import Legend
from matplotlib.lines import Line2D
from matplotlib.markers import MarkerStyle
from matplotlib.path import Path

__all__ = [
    "ACCENT",
    "BAND",
    "BLUE",
    "DARK",
    "FILLS",
    "FONT",
    "GREY",
    "INK",
    "LIMIT_STYLES",
    "MARKS",
    "PAPER",
    "RULE",
    "SMALL",
    "Mark",
    "bare",
    "draw",
    "font",
    "handle",
    "key_above",
    "marks",
    "own_axes",
    "shortened",
]

INK, PAPER, RULE, BAND = "#22303c", "#fffefb", "#d9d4c9", "#f5f2eb"
BLUE, ACCENT, GREY = "#1f5d7a", "#a8531c", "#74797f"
# What stands in a page in dark dress for each colour of the page in light dress.
DARK = {
    INK: "#e9e5db",
    PAPER: "#161b20",
    RULE: "#3a424a",
    BAND: "#1e252b",
    BLUE: "#8fc6df",
    ACCENT: "#e6a468",
    GREY: "#9ba2a9",
    "#dfe6ea": "#2b343b",
    "#b9ccd6": "#3b4c57",
    "#93b1c0": "#4c6675",
    "#e8dcc8": "#453c2e",
    "#d3bd98": "#5e5139",
    "#e5e3df": "#33383d",
    "#cfccc6": "#454b51",
    "#f1efea": "#262c32",
}
FONT, SMALL = 8.5, 7.5  # points
FAMILY = "DejaVu Sans"  # the font that matplotlib carries with it, so that figures are alike everywhere

LIMIT_STYLES: dict[str, tuple[float, object]] = {
    "mean": (1.1, (0, (5, 2.5))),
    "smallest": (1.3, "solid"),
    "characteristic": (1.2, (0, (1, 1.8))),
    "count": (1.1, (0, (6, 2, 1, 2))),
    "mean less sd": (1.2, (0, (2.5, 1.5))),
    "quality index": (1.2, (0, (3, 1.5, 1, 1.5))),
    "share below": (1.2, (0, (3, 1.5, 1, 1.5, 1, 1.5))),
    "share of pulls": (1.1, (0, (6, 2, 1, 2, 1, 2))),
    "held": (1.3, (0, (9, 1.5))),
}
# place of failure -> fill and hatching; places beyond these take the last one
FILLS: dict[str, tuple[str, str]] = {
    "A": ("#dfe6ea", ""),
    "A/B": ("#93b1c0", "////"),
    "B": ("#e8dcc8", "\\\\"),
    "B/C": ("#d3bd98", "xxxx"),
    "C": ("#b9ccd6", "---"),
    "C/D": ("#d3bd98", "+++"),
    "D": ("#e8dcc8", "//"),
    "-/Y": ("#cfccc6", "||||"),
    "Y": ("#f1efea", "||"),
    "Y/Z": ("#e5e3df", "---||"),
}
OTHER_FILL = ("#cfccc6", "+x")


@dataclass(frozen=True, slots=True)
class Mark:
    """The shape of one kind of pull."""

    marker: str | Path
    size: float
    colour: str
    filled: bool
    width: float = 1.1


# An arrow that starts at the value: the true strength lies in its direction (a stroke at the value, a shaft, a head).
_POINTS = ((0.0, -0.55), (0.0, 0.55), (0.0, 0.0), (1.35, 0.0), (0.8, 0.42), (1.35, 0.0), (0.8, -0.42))
_STROKES = (Path.MOVETO, Path.LINETO, Path.MOVETO, Path.LINETO, Path.MOVETO, Path.LINETO, Path.LINETO)
_ARROW = Path(_POINTS, _STROKES)
_ARROW_LEFT = Path([(-x, y) for x, y in _POINTS], _STROKES)
MARKS: dict[str, Mark] = {
    "exact": Mark("o", 5.2, BLUE, filled=True, width=0.8),
    "at_least": Mark(_ARROW, 10.5, BLUE, filled=False, width=1.5),
    "at_most": Mark(_ARROW_LEFT, 10.5, BLUE, filled=False, width=1.5),
    "flagged": Mark("D", 6.4, ACCENT, filled=False, width=1.5),
    "invalid": Mark("x", 5.4, GREY, filled=False, width=1.4),
    "excluded": Mark("+", 7.0, GREY, filled=False, width=1.4),
    "replaced": Mark("s", 5.0, GREY, filled=False, width=1.2),
    "lost": Mark(">", 5.6, GREY, filled=False, width=1.2),
}


def font(size: float = FONT, *, bold: bool = False) -> FontProperties:
    """The font at a size in points."""
    return FontProperties(family=FAMILY, size=size, weight="bold" if bold else "normal")


def marks(
    xs: Sequence[float], ys: Sequence[float], mark: Mark, *, label: str = "", size: float | None = None
) -> Line2D:
    """A line of marks without a line; also good for a key, with empty places and a label."""
    return Line2D(
        xs,
        ys,
        linestyle="none",
        label=label,
        marker=MarkerStyle(mark.marker),
        markersize=mark.size if size is None else size,
        markeredgewidth=mark.width,
        markeredgecolor=PAPER if mark.filled else mark.colour,
        markerfacecolor=mark.colour if mark.filled else "none",
    )


def handle(mark: Mark, label: str) -> Line2D:
    """A mark for a key."""
    return marks((), (), mark, label=label)


def draw(ax: Axes, line: Line2D, *, gid: str, zorder: float, clip: bool = True) -> Line2D:
    """Add a line to an axes under a name by which it is found again."""
    line.set_gid(gid)
    line.set_zorder(zorder)
    ax.add_line(line)
    line.set_clip_on(clip)
    return line


def bare(ax: Axes) -> None:
    """Take away frame and ticks that carry nothing; set type and colours."""
    ax.set_facecolor("none")
    for side in ("top", "right", "left"):
        ax.spines[side].set_visible(False)
    ax.spines["bottom"].set_color(GREY)
    ax.spines["bottom"].set_linewidth(0.8)
    ax.tick_params(axis="both", labelcolor=INK, color=GREY, length=3, width=0.8, labelsize=FONT, labelfontfamily=FAMILY)


def key_above(ax: Axes, handles: Sequence[object], *, lift: float, ncols: int, boxes: bool = False) -> Legend:
    """Set the key above an axes, ``lift`` inches from its top; ``boxes``: handles are patches, wider than marks."""
    assert ax.figure is not None
    height = ax.get_position().height * ax.figure.get_figheight()  # type: ignore[union-attr]
    return ax.legend(
        handles=handles,
        loc="lower left",
        bbox_to_anchor=(0.0, 1.0 + lift / height),
        ncols=ncols,
        frameon=False,
        prop=font(SMALL),
        labelcolor=INK,
        borderpad=0,
        handlelength=2.0 if boxes else 1.2,
        handleheight=1.0 if boxes else 0.7,
        handletextpad=0.5 if boxes else 0.4,
        columnspacing=1.3,
        labelspacing=0.45,
        borderaxespad=0,
    )


def own_axes(width: float, height: float, *, left: float, right: float, top: float, bottom: float) -> Axes:
    """An axes in a new figure without background; all in inches, the margins measured from the edges."""
    figure = Figure(figsize=(width, height))
    figure.patch.set_alpha(0.0)
    box = (left / width, bottom / height, (width - left - right) / width, (height - top - bottom) / height)
    return figure.add_axes(box)


def shortened(text: str, most: int) -> str:
    """A name that fits: broken into two lines, the rest cut with an ellipsis; control characters made visible."""
    plain = "".join(c if c.isprintable() else "�" for c in text)
    if len(plain) <= most:
        return plain
    cut = plain.rfind(" ", most // 2, most + 1)
    cut = most if cut < 0 else cut
    first, rest = plain[:cut], plain[cut:].strip()
    return f"{first}\n{rest if len(rest) <= most else rest[: most - 1].rstrip() + '…'}"
