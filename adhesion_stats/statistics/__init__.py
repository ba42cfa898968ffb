"""Statistics of small samples: plain numbers in blocks, no tables, no units, no words of the trade.

Every kernel keeps the contract at the top of ``adhesion_stats.statistics.blocks``: one sample is the same call as a
million, with the same bits.

===================  ===============================================================================
``blocks``           cut a long table into blocks of equal sample size; values known within bounds
``describe``         mean, sd, coefficient of variation, smallest, largest, median
``intervals``        confidence interval of the mean
``characteristic``   one-sided tolerance bound
``en1990``           EN 1990 Annex D
``grubbs``           Grubbs' test, exact
``grubbs_pair``      Grubbs' test for two outliers in one tail, exact
``grubbs_ends``      Grubbs' test for one outlier at either end
``dixon``            Dixon's ratios, exact
``esd``              generalised extreme studentised deviate test, published and calibrated
``tietjen_moore``    Tietjen and Moore's test for k outliers, by simulation
``median_screen``    distance from the median in median absolute deviations
``cochran``          Cochran's test of the largest variance, exact
``populations``      what a test's level becomes where values are not normal
``screening``        what outlier tests return; flags that chance alone brings
``precision``        repeatability and reproducibility
``mandel``           Mandel's h and k
``nested``           nested spread of three levels
``uncertainty``      measurement uncertainty: budgets, common and independent parts apart
``strength_budget``  a ready budget for load over area
``conformity``       probability of conformity, guard bands
``sample_size``      how many values
===================  ===============================================================================

Imports: numpy, scipy.special, scipy.optimize, ``adhesion_stats.errors``. Must not import pandas, scipy.stats, or any
other room.
"""

from adhesion_stats.statistics.blocks import Stack, blocks, stacks
from adhesion_stats.statistics.characteristic import k_one_sided, tolerance_bound_lower
from adhesion_stats.statistics.cochran import (
    VarianceScreen,
    cochran,
    cochran_critical,
    cochran_p_value,
    cochran_statistic,
)
from adhesion_stats.statistics.conformity import (
    acceptance_limits,
    conformity_probability,
    guard_band,
    guard_band_for_probability,
)
from adhesion_stats.statistics.describe import Description, describe, mean_and_sd
from adhesion_stats.statistics.dixon import (
    CONVENTIONS,
    TRUE_LEVEL_TWO_SIDED,
    Convention,
    dixon,
    dixon_critical,
    dixon_p_value,
    dixon_ratio,
    ratio_for,
)
from adhesion_stats.statistics.en1990 import (
    EN1990_TABLE_D1,
    PrintedFactors,
    en1990_known_cov,
    en1990_known_sd,
    en1990_unknown,
    k_en1990_known,
    k_en1990_printed,
    k_en1990_unknown,
)
from adhesion_stats.statistics.esd import EsdScreen, esd, esd_critical, esd_statistics
from adhesion_stats.statistics.grubbs import grubbs, grubbs_critical, grubbs_p_value, grubbs_statistic
from adhesion_stats.statistics.grubbs_ends import (
    grubbs_ends,
    grubbs_ends_critical,
    grubbs_ends_p_value,
    grubbs_ends_statistic,
)
from adhesion_stats.statistics.grubbs_pair import (
    PairScreen,
    grubbs_pair,
    grubbs_pair_critical,
    grubbs_pair_p_value,
    grubbs_pair_statistic,
)
from adhesion_stats.statistics.intervals import confidence_interval_mean, t_quantile
from adhesion_stats.statistics.mandel import (
    MandelScreen,
    mandel,
    mandel_h,
    mandel_h_critical,
    mandel_k,
    mandel_k_critical,
)
from adhesion_stats.statistics.median_screen import (
    MedianScreen,
    median_absolute_deviation,
    median_screen,
    modified_z,
)
from adhesion_stats.statistics.nested import NestedSpread, nested_spread
from adhesion_stats.statistics.populations import Population, level_under, weibull_shape
from adhesion_stats.statistics.precision import Cells, Precision, cells, precision, precision_cells
from adhesion_stats.statistics.sample_size import (
    n_for_half_width,
    n_for_half_width_assured,
    n_for_t_test,
    n_for_tolerance_bound,
    power_of_t_test,
    power_of_tolerance_bound,
)
from adhesion_stats.statistics.screening import ChanceFlags, OutlierScreen, flags_by_chance, holm
from adhesion_stats.statistics.strength_budget import strength_budget
from adhesion_stats.statistics.tietjen_moore import (
    SimulatedProbability,
    tietjen_moore_p_value,
    tietjen_moore_statistic,
)
from adhesion_stats.statistics.uncertainty import (
    Budget,
    Component,
    from_resolution,
    half_width_rectangular,
    half_width_triangular,
    propagate,
)

__all__ = [
    "CONVENTIONS",
    "EN1990_TABLE_D1",
    "TRUE_LEVEL_TWO_SIDED",
    "Budget",
    "Cells",
    "ChanceFlags",
    "Component",
    "Convention",
    "Description",
    "EsdScreen",
    "MandelScreen",
    "MedianScreen",
    "NestedSpread",
    "OutlierScreen",
    "PairScreen",
    "Population",
    "Precision",
    "PrintedFactors",
    "SimulatedProbability",
    "Stack",
    "VarianceScreen",
    "acceptance_limits",
    "blocks",
    "cells",
    "cochran",
    "cochran_critical",
    "cochran_p_value",
    "cochran_statistic",
    "confidence_interval_mean",
    "conformity_probability",
    "describe",
    "dixon",
    "dixon_critical",
    "dixon_p_value",
    "dixon_ratio",
    "en1990_known_cov",
    "en1990_known_sd",
    "en1990_unknown",
    "esd",
    "esd_critical",
    "esd_statistics",
    "flags_by_chance",
    "from_resolution",
    "grubbs",
    "grubbs_critical",
    "grubbs_ends",
    "grubbs_ends_critical",
    "grubbs_ends_p_value",
    "grubbs_ends_statistic",
    "grubbs_p_value",
    "grubbs_pair",
    "grubbs_pair_critical",
    "grubbs_pair_p_value",
    "grubbs_pair_statistic",
    "grubbs_statistic",
    "guard_band",
    "guard_band_for_probability",
    "half_width_rectangular",
    "half_width_triangular",
    "holm",
    "k_en1990_known",
    "k_en1990_printed",
    "k_en1990_unknown",
    "k_one_sided",
    "level_under",
    "mandel",
    "mandel_h",
    "mandel_h_critical",
    "mandel_k",
    "mandel_k_critical",
    "mean_and_sd",
    "median_absolute_deviation",
    "median_screen",
    "modified_z",
    "n_for_half_width",
    "n_for_half_width_assured",
    "n_for_t_test",
    "n_for_tolerance_bound",
    "nested_spread",
    "power_of_t_test",
    "power_of_tolerance_bound",
    "precision",
    "precision_cells",
    "propagate",
    "ratio_for",
    "stacks",
    "strength_budget",
    "t_quantile",
    "tietjen_moore_p_value",
    "tietjen_moore_statistic",
    "tolerance_bound_lower",
    "weibull_shape",
]
