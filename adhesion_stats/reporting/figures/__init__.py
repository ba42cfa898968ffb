"""Figures: pulls with limits, failure composition, probability plots, plan of positions, risk of a rule.

``plot_...(results, ax=None)`` draws into an axes (or makes a figure of its own) and returns it, for notebooks and
documents alike; ``figure_svg`` gives the same as SVG text, the same bytes each time. No pyplot, no global settings;
numbers only from the results.
"""

from __future__ import annotations

from adhesion_stats.reporting.figures.failure import plot_failure
from adhesion_stats.reporting.figures.operating import plot_operating_characteristic
from adhesion_stats.reporting.figures.positions import plot_positions
from adhesion_stats.reporting.figures.probability import plot_probability
from adhesion_stats.reporting.figures.pulls import plot_pulls
from adhesion_stats.reporting.figures.svg import figure_svg

__all__ = [
    "figure_svg",
    "plot_failure",
    "plot_operating_characteristic",
    "plot_positions",
    "plot_probability",
    "plot_pulls",
]
