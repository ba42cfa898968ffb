"""The figures as data: what is drawn where, with which shape; never pixels."""

from __future__ import annotations

import itertools
import os
import re
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from matplotlib.axes import Axes
from matplotlib.collections import LineCollection
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Rectangle

from adhesion_stats import assess
from adhesion_stats.entrance import readings_from
from adhesion_stats.reporting.figures import (
    figure_svg,
    look,
    plot_failure,
    plot_positions,
    plot_probability,
    plot_pulls,
)
from adhesion_stats.reporting.figures.probability import quantiles
from adhesion_stats.reporting.figures.svg import KINDS
from adhesion_stats.reporting.results import results_from
from adhesion_stats.terms.parse import parse_specification
from tests.reporting import example_results
from tests.reporting.conftest import results_named

DEMO = results_named("demo")


def lines(ax: Axes, gid: str) -> list[Line2D]:
    """Lines under a name."""
    return [line for line in ax.get_lines() if line.get_gid() == gid]


def points(ax: Axes, gid: str) -> list[tuple[float, float]]:
    """Places of the marks under a name."""
    return [
        (float(x), float(y))
        for line in lines(ax, gid)
        for x, y in zip(np.asarray(line.get_xdata()), np.asarray(line.get_ydata()), strict=True)
    ]


def small_plots(ax: Axes) -> list[Axes]:
    """The small plots inside a frame."""
    return [child for child in ax.child_axes if isinstance(child, Axes)]


def texts(ax: Axes) -> list[str]:
    """All texts of an axes."""
    return [text.get_text() for text in ax.texts]


def test_every_pull_is_drawn_once_under_its_kind() -> None:
    """Each pull of the file is one mark: counted ones by what is known of them, the others by their standing."""
    ax = plot_pulls(DEMO)
    others = {"at_least": 3, "flagged": 1, "invalid": 1, "excluded": 1, "replaced": 1, "lost": 1}
    expected = {"exact": len(results_from(DEMO)["pulls"]) - sum(others.values()), **others}
    assert {kind: len(points(ax, kind)) for kind in expected} == expected


def test_marks_stand_at_their_strength_and_zone() -> None:
    """The x of a mark is the pull's strength, its row that of its zone."""
    ax = plot_pulls(DEMO)
    assert sorted(x for x, y in points(ax, "exact") if round(y) == 0) == [1.98, 2.05, 2.12, 2.24, 2.31]
    assert [(x, round(y)) for x, y in points(ax, "flagged")] == [(0.98, 8)]
    assert sorted((x, round(y)) for x, y in points(ax, "at_least")) == [(1.20, 4), (1.35, 4), (2.40, 5)]


def test_pulls_of_equal_strength_do_not_cover_each_other() -> None:
    """Ties stand above each other within the row of their zone."""
    results = example_results.results_of([example_results.ZoneOf("Ties", ["1.50", "1.50", "1.50", "1.50", "1.50"])])
    placed = points(plot_pulls(results), "exact")
    assert len(set(placed)) == 5
    assert all(-0.5 < y < 0.5 for _, y in placed)


def test_limits_and_means_are_drawn_at_their_values() -> None:
    """Limits run over the rows that they hold for, with their text; the mean of each zone stands in its row."""
    ax = plot_pulls(DEMO)
    (mean_limit,), (smallest,) = lines(ax, "limit-mean"), lines(ax, "limit-smallest")
    assert list(np.asarray(mean_limit.get_xdata())) == [1.5, 1.5]
    assert list(np.asarray(smallest.get_xdata())) == [1.0, 1.0]
    assert list(np.asarray(smallest.get_ydata())) == [-0.5, 13.5]
    assert {"mean ≥ 1.50 MPa", "smallest ≥ 1.00 MPa"} <= set(texts(ax))
    (means,) = [c for c in ax.collections if isinstance(c, LineCollection) and c.get_gid() == "mean"]
    assert [float(segment[0][0]) for segment in means.get_segments()] == [
        zone["summary"]["mean"] for zone in results_from(DEMO)["zones"]
    ]


def test_mean_of_bounds_is_marked_as_a_lower_bound() -> None:
    """The two zones with bounded pulls have feet towards larger values at their mean bar."""
    (feet,) = [c for c in plot_pulls(DEMO).collections if c.get_gid() == "mean-at-least"]
    assert isinstance(feet, LineCollection)
    assert len(feet.get_segments()) == 2 * 2


def test_limits_that_differ_between_zones_are_drawn_each_over_its_rows() -> None:
    """Zones with other limits get their own lines, each with its text."""
    zones = [
        example_results.ZoneOf("one", ["1.8", "1.9", "2.0"], mean_limit="1.50"),
        example_results.ZoneOf("two", ["1.8", "1.9", "2.0"], mean_limit="2.00"),
    ]
    ax = plot_pulls(example_results.results_of(zones))
    runs = [(float(np.asarray(li.get_xdata())[0]), list(np.asarray(li.get_ydata()))) for li in lines(ax, "limit-mean")]
    assert runs == [(1.5, [-0.5, 0.5]), (2.0, [0.5, 1.5])]
    assert {"mean ≥ 1.50 MPa", "mean ≥ 2.00 MPa"} <= set(texts(ax))


def test_texts_of_limits_do_not_lie_on_each_other() -> None:
    """Four limits are named above the axes; further ones at their rows, several of them at one row."""
    rules = [
        f'[[require]]\nzones = ["{zone}"]\nmean_at_least = "{limit} MPa"'
        for zone, limit in zip("ABCD", (1.1, 1.6, 2.1, 2.6), strict=True)
    ]
    asked = ", ".join(
        f'{{ {kind}_at_least = "{limit} MPa" }}'
        for kind, limit in (("smallest", 0.8), ("smallest", 1.0), ("mean", 1.2), ("mean", 1.5))
    )
    rules.append(f'[[require]]\nzones = ["E"]\nany_of = [{asked}]')
    terms = parse_specification(b'[contract]\ntitle = "t"\n' + "\n".join(rules).encode(), file="s.toml")
    rows = "".join(f"{zone},{k},{1.4 + 0.1 * k:.1f}\n" for zone in "ABCDE" for k in range(4))
    found = assess(readings_from(b"zone,id,strength MPa\n" + rows.encode(), file="r.csv", specification=terms), terms)
    ax = plot_pulls(found.as_dict())
    figure = ax.get_figure()
    assert isinstance(figure, Figure)
    figure.draw_without_rendering()
    boxes = [text.get_window_extent() for text in ax.texts if text.get_text().endswith("MPa")]
    assert len(boxes) == 8
    assert not any(one.overlaps(other) for one, other in itertools.combinations(boxes, 2))


def test_kinds_of_pulls_differ_by_shape_alone() -> None:
    """No two marks have the same outline and filling, whatever their colour."""
    shapes = set()
    for mark in look.MARKS.values():
        path = look.marks((), (), mark).get_marker()
        shapes.add((str(path) if isinstance(path, str) else repr(mark.marker), mark.filled))
    assert len(shapes) == len(look.MARKS)


def test_limits_differ_by_line_style_and_failures_by_hatching() -> None:
    """Neither needs colour to be told apart."""
    assert len({str(dashes) for _, dashes in look.LIMIT_STYLES.values()}) == len(look.LIMIT_STYLES)
    assert len({hatch for _, hatch in look.FILLS.values()}) == len(look.FILLS)


def test_strengths_are_drawn_in_the_unit_of_the_report() -> None:
    """In psi, 2.12 MPa stands at 307.5 (1 psi = 0.006894757 MPa), and the axis says psi."""
    ax = plot_pulls(results_named("in_psi"))
    assert ax.get_xlabel() == "Strength, psi"
    assert max(x for x, y in points(ax, "exact") if round(y) == 0) == pytest.approx(2.31 / 0.006894757, rel=1e-6)


def test_part_of_a_long_figure_keeps_the_common_axis() -> None:
    """Zones drawn apart share the strength axis of all, so that parts can be compared."""
    first = plot_pulls(DEMO, zones=["Span 1, lane"])
    assert first.get_xlim() == plot_pulls(DEMO).get_xlim()
    assert [label.get_text() for label in first.get_yticklabels()] == ["Span 1, lane"]


def test_given_axes_is_used_and_returned() -> None:
    """A figure of the caller's gets the drawing; nothing else is made."""
    mine = Figure(figsize=(6, 4)).add_subplot()
    for plot in KINDS.values():
        assert plot(DEMO, Figure(figsize=(6, 4)).add_subplot()) is not None
    assert plot_pulls(DEMO, mine) is mine


def test_failure_bars_add_up_and_follow_the_layers() -> None:
    """The pieces of each bar are the shares of the results, from the substrate outwards, ending at their sum."""
    ax = plot_failure(DEMO)
    pieces: dict[int, list[tuple[str, float]]] = {}
    ends = [0.0] * 14
    for patch in ax.patches:
        assert isinstance(patch, Rectangle)
        row = round(patch.get_y() + patch.get_height() / 2)
        assert patch.get_x() == pytest.approx(ends[row]), "a piece begins where the one before ends"
        ends[row] = patch.get_x() + patch.get_width()
        pieces.setdefault(row, []).append((str(patch.get_gid()), patch.get_width()))
    zones = results_from(DEMO)["zones"]
    assert ends == pytest.approx([100.0] * 14)
    assert [dict(pieces[row]) for row in range(14)] == [pytest.approx(zone["failure"]["percent"]) for zone in zones]
    assert [code for code, _ in pieces[4]] == ["A", "A/B", "B", "Y"]


def test_failure_pieces_are_labelled_in_the_bar() -> None:
    """A piece with room carries its code and share."""
    assert "A 68" in texts(plot_failure(DEMO))
    assert "A/B 24" in texts(plot_failure(DEMO))


def test_plotting_positions_of_the_handbook() -> None:
    """Median ranks after Filliben for n = 5.

    Source: NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.3.21: 1 - 0.5**(1/5) = 0.12945, (2 - 0.3175)/5.365 =
    0.31361, 0.5, then mirrored; normal quantiles from a table: 1.1290, 0.4857.
    """
    assert quantiles(5) == pytest.approx([-1.1290, -0.4857, 0.0, 0.4857, 1.1290], abs=5e-5)


def test_probability_plots_only_where_five_exact_values_stand() -> None:
    """Zones with bounds or fewer than five exact values have none; the others are drawn in ascending order."""
    small = small_plots(plot_probability(DEMO))
    names = [ax.get_title(loc="left") for ax in small]
    assert names == [
        "Span 1, lane", "Span 1, kerb", "Span 2, lane", "Span 2, kerb", "Abutment west", "Abutment east",
        "Pier 1 crosshead", "Pier 2 crosshead", "Approach slab",
    ]  # fmt: skip
    assert [x for x, _ in points(small[0], "exact")] == [1.98, 2.05, 2.12, 2.24, 2.31]
    assert [y for _, y in points(small[0], "exact")] == pytest.approx(quantiles(5))
    assert [x for x, _ in points(small[4], "flagged")] == [0.98]


def test_line_of_a_probability_plot_is_the_normal_of_mean_and_sd() -> None:
    """The line passes the mean at quantile 0 and rises one sd per unit."""
    summary = results_from(DEMO)["zones"][0]["summary"]
    (line,) = lines(small_plots(plot_probability(DEMO))[0], "normal")
    (x0, x1), (y0, y1) = np.asarray(line.get_xdata()), np.asarray(line.get_ydata())
    assert (x1 - x0) / (y1 - y0) == pytest.approx(summary["sd"])
    assert x0 - y0 * (x1 - x0) / (y1 - y0) == pytest.approx(summary["mean"])


def test_too_few_values_say_so_instead_of_drawing() -> None:
    """One pull gives no probability plot and a sentence why."""
    ax = plot_probability(results_named("single_pull"))
    assert ax.child_axes == []
    assert any("five" in text for text in texts(ax))


def test_plan_has_the_same_scale_both_ways() -> None:
    """A metre along x is as long as a metre along y, and every pull with a position is there."""
    ax = plot_positions(DEMO)
    assert ax.figure is not None
    box = ax.get_position()
    width, height = box.width * ax.figure.get_figwidth(), box.height * ax.figure.get_figheight()  # type: ignore[union-attr]
    (left, right), (low, high) = ax.get_xlim(), ax.get_ylim()
    assert width / (right - left) == pytest.approx(height / (high - low))
    assert ax.get_position(original=True).bounds == pytest.approx(box.bounds), "the plan fills its frame"
    drawn = sum(len(points(ax, kind)) for kind in look.MARKS)
    assert drawn == len(results_from(DEMO)["pulls"])


@pytest.mark.parametrize("kind", sorted(KINDS))
@pytest.mark.parametrize("narrow", [False, True])
def test_svg_is_the_same_each_time_and_names_no_address(kind: str, narrow: bool) -> None:
    """Same results, same bytes; no prolog, date or address; colours only as variables that a page can set."""
    text = figure_svg(DEMO, kind, narrow=narrow)
    assert text == figure_svg(DEMO, kind, narrow=narrow)
    assert text.startswith("<svg viewBox=")
    assert "http" not in text
    assert re.sub(r"var\(--fig-[0-9a-f]{6}, #[0-9a-f]{6}\)", "", text).count("#") == len(
        re.findall(r'href="#|url\(#', text)
    )


def test_names_in_a_figure_are_left_as_they_are() -> None:
    """What looks like a colour, an id or a formula in a name is not touched."""
    name = "a id=\"b\" #22303c $x$ font-family: 'DejaVu Sans'; "
    results = example_results.results_of([example_results.ZoneOf(name[:24], ["1.8", "1.9", "2.0"])])
    text = figure_svg(results, "pulls")
    assert name[:24].replace('"', "&quot;") in text or name[:24] in text


def _luminance(colour: str) -> float:
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    red, green, blue = (p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    """Contrast ratio of two colours (WCAG 2.1, definition of contrast ratio)."""
    dark, light = sorted((_luminance(one), _luminance(other)))
    return (light + 0.05) / (dark + 0.05)


@pytest.mark.parametrize("colour", [look.INK, look.BLUE, look.ACCENT])
def test_colours_stand_out_on_light_and_dark_paper(colour: str) -> None:
    """Text and marks reach 4.5 : 1 on the paper of either dress (WCAG 2.1, 1.4.3)."""
    assert contrast(colour, look.PAPER) >= 4.5
    assert contrast(look.DARK[colour], look.DARK[look.PAPER]) >= 4.5


def test_figures_load_no_pyplot() -> None:
    """Drawing all figures leaves pyplot and its global state alone."""
    code = (
        "import sys\nimport example_results as e\n"
        "from adhesion_stats.reporting.figures import figure_svg\n"
        "[figure_svg(e.single_pull(), kind) for kind in ('pulls', 'failure', 'probability', 'positions')]\n"
        "assert 'matplotlib.pyplot' not in sys.modules\n"
    )
    here = Path(__file__).parent
    paths = os.pathsep.join((str(here), str(here.parents[1])))
    subprocess.run([sys.executable, "-c", code], check=True, env={**os.environ, "PYTHONPATH": paths})
