"""What the cells of the calibration notebook call: figures with alt text, and what falls short in words.

The notebook itself holds no logic; the tables come from ``data/studies``.
"""

from __future__ import annotations

from collections.abc import Sequence

from adhesion_stats.reporting.calibration import (
    Rate,
    coverage_summary,
    false_alarm_summary,
    long_alarms,
    read_coverage,
    read_false_alarms,
    short_bounds,
)
from adhesion_stats.reporting.calibration_tables import every_bound, every_level
from adhesion_stats.reporting.cells import show, show_blocks

__all__ = [
    "read_coverage",
    "read_false_alarms",
    "show_coverage",
    "show_every_bound",
    "show_every_level",
    "show_exact_bounds",
    "show_false_alarms",
    "show_fits",
    "show_levels_elsewhere",
    "show_long_alarms",
    "show_short_bounds",
]

NOMINAL = 0.05
# Tests drawn in other populations: one of each kind.
TESTS = (
    "Grubbs, low side",
    "Grubbs, high side",
    "Dixon (E178), high side",
    "generalised ESD, r = 2, published",
    "generalised ESD, r = 2, calibrated",
    "Shapiro-Wilk",
)


def show_false_alarms(rows: Sequence[Rate]) -> None:
    """Show the rate of false alarms of every test in normal samples, and say how far levels hold."""
    from adhesion_stats.reporting.figures.calibration import plot_false_alarms

    figure = plot_false_alarms(rows, nominal=NOMINAL)
    alt = (
        "Small plots, one a test: share of normal samples flagged over n = 3 to 30 at a nominal 5 %. Exact and "
        "calibrated tests stay inside the band of three standard errors around 5 %; the published levels of the "
        "generalised ESD test lie far above it for small n."
    )
    show(figure, alt=alt)
    show_blocks(false_alarm_summary(rows))


def show_levels_elsewhere(rows: Sequence[Rate]) -> None:
    """Show what some tests flag in populations that are not normal, recorded in steps, or with bounded pulls."""
    from adhesion_stats.reporting.figures.calibration import plot_levels_elsewhere

    present = {row.subject for row in rows}
    figure = plot_levels_elsewhere(rows, nominal=NOMINAL, tests=[test for test in TESTS if test in present])
    alt = (
        "Small plots, one a test: share of samples flagged over n for normal, lognormal and Weibull populations, "
        "values in steps of 0.1, 20 % bounded pulls, and 15 % weak patches. The high side flags more and more "
        "lognormal samples as n grows."
    )
    show(figure, alt=alt)


def show_long_alarms(rows: Sequence[Rate]) -> None:
    """Show the tests that flag more than they say, in words."""
    show_blocks(long_alarms(rows, nominal=NOMINAL))


def show_exact_bounds(rows: Sequence[Rate]) -> None:
    """Show coverage less claim of every exact bound, and say how far claims hold."""
    from adhesion_stats.reporting.figures.calibration import plot_exact_bounds

    alt = (
        "Small plots, one a bound: coverage less claim in percentage points over n, within three standard errors of "
        "zero in each."
    )
    show(plot_exact_bounds(rows), alt=alt)
    show_blocks(coverage_summary(rows))


def show_coverage(rows: Sequence[Rate]) -> None:
    """Show the coverage of bounds with a formula, by population, with and without bounded pulls."""
    from adhesion_stats.reporting.figures.calibration import plot_coverage

    alt = (
        "A wall of small plots, a row for each of nine bounds and a column for each of five populations: coverage over "
        "n with no bounded pulls and with 20 % of them taken as values. Normal bounds hold in normal samples; with "
        "15 % weak patches tolerance bounds cover less and less as n grows."
    )
    show(plot_coverage(rows), alt=alt)


def show_fits(rows: Sequence[Rate]) -> None:
    """Show limits by likelihood with bounded pulls: calibrated ones beside plain standard errors."""
    from adhesion_stats.reporting.figures.calibration import plot_fits

    alt = (
        "Five small plots: coverage of a lower limit of the 5 % fractile that claims 75 %, over n. Calibrated limits "
        "stay at or a little above 75 % where the family is right; limits by standard errors start near 50 %; with "
        "weak patches taken for normal values both fall far short."
    )
    show(plot_fits(rows), alt=alt)


def show_short_bounds(rows: Sequence[Rate]) -> None:
    """Show the bounds that cover less than they claim, in words."""
    show_blocks(short_bounds(rows))


def show_every_level(rows: Sequence[Rate]) -> None:
    """Show, for every test and population, the most that is flagged beyond the level."""
    show_blocks(every_level(rows, nominal=NOMINAL))


def show_every_bound(rows: Sequence[Rate]) -> None:
    """Show, for every bound and population, the most that is covered short of the claim."""
    show_blocks(every_bound(rows))
