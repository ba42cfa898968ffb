"""Statistics of small samples: plain numbers in blocks, no tables, no units, no words of the trade.

Every kernel keeps the contract at the top of ``adhesion_stats.statistics.blocks``: one sample is the same call as a
million, with the same bits.

=====================  ===============================================================================
``blocks``             cut a long table into blocks of equal sample size; values known within bounds
``describe``           mean, sd, coefficient of variation, smallest, largest, median
``decimals``           exact arithmetic on values as recorded
``intervals``          confidence interval of the mean
``characteristic``     one-sided tolerance bound
``tolerance``          two-sided, spread known or pooled, lognormal
``weibull``            tolerance bound of a Weibull sample
``order_statistics``   bounds without a distribution
``prediction``         the next value, mean, smallest value, spread
``spread``             confidence intervals of sd and coefficient of variation
``shares``             share below a limit
``en14358``            EN 14358, borrowed from timber
``lots``               acceptance of lots by variables, borrowed from production
``noncentral``         the non-central t distribution that these are made of
``bounded``            maximum likelihood where values are known within bounds
``bounded_limits``     confidence limits of such fits, calibrated for few values
``families``           normal, lognormal, Weibull as location and scale
``kaplan_meier``       share above each value without a distribution; log-rank test
``competing_risks``    strength of each place where pulls break in different places
``competing_pair``     two such places at an assumed correlation
``normality``          Shapiro-Wilk, Anderson-Darling
``which_distribution`` likelihoods of three distributions; what n can tell
``resampling``         bootstrap interval, exact permutation test
``two_samples``        t tests, test of a standard deviation
``one_way``            one-way analysis of variance, exact sums of squares
``en1990``             EN 1990 Annex D
``iso12491``           ISO 12491
``grubbs``             Grubbs' test, exact
``grubbs_pair``        Grubbs' test for two outliers in one tail, exact
``grubbs_ends``        Grubbs' test for one outlier at either end
``dixon``              Dixon's ratios, exact
``esd``                generalised extreme studentised deviate test, published and calibrated
``tietjen_moore``      Tietjen and Moore's test for k outliers, by simulation
``within_step``        what recorded values may truly have been: the recording step in all tests
``median_screen``      distance from the median in median absolute deviations
``cochran``            Cochran's test of the largest variance, exact
``populations``        what a test's level becomes where values are not normal
``screening``          what outlier tests return; flags that chance alone brings
``precision``          repeatability and reproducibility
``mandel``             Mandel's h and k
``nested``             nested spread of three levels
``uncertainty``        measurement uncertainty: budgets, common and independent parts apart
``strength_budget``    a ready budget for load over area
``conformity``         probability of conformity, guard bands
``shared_errors``      the same for several values whose errors are partly one and the same
``sample_size``        how many values
``strengths``          normal, lognormal, Weibull values in units of their mean
``operating``          operating characteristics in closed form
``operating_joint``    operating characteristics of rules on mean and single values together
=====================  ===============================================================================

Imports: numpy, scipy.special, and when first needed scipy.optimize and scipy.interpolate; ``adhesion_stats.errors``.
Must not import pandas, scipy.stats, or any other room.
"""

from adhesion_stats.statistics.blocks import Stack, blocks, stacks
from adhesion_stats.statistics.bounded import (
    ALL_BOUNDED,
    FITS,
    ONE_EXACT_VALUE,
    UNBOUNDED_LIKELIHOOD,
    BoundedFit,
    fit_bounded,
    fit_exponential,
    fit_trouble,
)
from adhesion_stats.statistics.bounded_limits import (
    bounded_confidence_above,
    bounded_fractile_limit,
    bounded_share_below,
)
from adhesion_stats.statistics.characteristic import k_one_sided, k_pooled, tolerance_bound_lower
from adhesion_stats.statistics.cochran import (
    VarianceScreen,
    cochran,
    cochran_critical,
    cochran_p_value,
    cochran_statistic,
)
from adhesion_stats.statistics.competing_pair import DependentFit, fit_dependent, sweep_correlation
from adhesion_stats.statistics.competing_risks import (
    ShareWhatever,
    as_bounds,
    mean_where_it_broke,
    share_below_whatever,
)
from adhesion_stats.statistics.conformity import (
    acceptance_limits,
    conformity_probability,
    guard_band,
    guard_band_for_probability,
)
from adhesion_stats.statistics.decimals import mean_and_sd_as_recorded, whole_numbers
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
from adhesion_stats.statistics.en14358 import (
    EN14358_SOURCE,
    EN14358_TABLE_1,
    en14358_lognormal,
    en14358_normal,
    k_en14358,
)
from adhesion_stats.statistics.esd import EsdScreen, esd, esd_critical, esd_statistics
from adhesion_stats.statistics.families import FAMILIES, Family
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
from adhesion_stats.statistics.iso12491 import ISO12491_CONFIDENCES, k_iso12491
from adhesion_stats.statistics.kaplan_meier import KaplanMeier, LogRank, kaplan_meier, log_rank
from adhesion_stats.statistics.lots import LotPlan, lot_acceptance_probability, lot_plan, lot_share_beyond
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
from adhesion_stats.statistics.noncentral import noncentral_t_below, noncentrality
from adhesion_stats.statistics.normality import NormalityTest, anderson_darling, shapiro_wilk
from adhesion_stats.statistics.one_way import OneWay, one_way
from adhesion_stats.statistics.operating import (
    ThreeWay,
    accepts_count,
    accepts_mean,
    accepts_mean_less_pooled_sd,
    accepts_mean_less_sd,
    accepts_variables,
    quality_at,
    tries,
    whole_contract,
)
from adhesion_stats.statistics.operating_joint import (
    AS_MEASURED,
    Completed,
    best_completion,
    probability_accepted,
    worst_completion,
)
from adhesion_stats.statistics.order_statistics import (
    OrderStatisticBound,
    chance_next_all_above,
    confidence_of_order_statistic,
    n_for_order_statistic,
    n_for_range,
    order_statistic_bound,
)
from adhesion_stats.statistics.populations import Population, level_under, weibull_shape
from adhesion_stats.statistics.precision import Cells, Precision, cells, precision, precision_cells
from adhesion_stats.statistics.prediction import (
    k_smallest_of_next,
    prediction_bound_mean,
    prediction_bound_smallest,
    prediction_interval_mean,
    prediction_interval_sd,
)
from adhesion_stats.statistics.resampling import (
    BCA_LEAST_N,
    LARGEST_PERMUTATIONS,
    BcaInterval,
    PermutationTest,
    bca_interval,
    permutation_test,
)
from adhesion_stats.statistics.sample_size import (
    n_for_half_width,
    n_for_half_width_assured,
    n_for_t_test,
    n_for_tolerance_bound,
    power_of_t_test,
    power_of_tolerance_bound,
)
from adhesion_stats.statistics.screening import ChanceFlags, OutlierScreen, flags_by_chance, holm
from adhesion_stats.statistics.shared_errors import (
    Errors,
    conformity_of_mean,
    conformity_of_rank,
    conformity_of_value,
    limit_for_probability,
)
from adhesion_stats.statistics.shares import ShareBelow, share_below_normal, share_interval_exact, share_interval_wilson
from adhesion_stats.statistics.spread import confidence_interval_cov, confidence_interval_sd
from adhesion_stats.statistics.strength_budget import strength_budget
from adhesion_stats.statistics.strengths import Ratio
from adhesion_stats.statistics.tietjen_moore import (
    SimulatedPoint,
    SimulatedProbabilities,
    SimulatedProbability,
    TietjenMooreScreen,
    tietjen_moore,
    tietjen_moore_critical,
    tietjen_moore_p_value,
    tietjen_moore_statistic,
)
from adhesion_stats.statistics.tolerance import (
    k_known_sd,
    k_two_sided,
    pooled_sd,
    tolerance_bound_known_sd,
    tolerance_bound_lognormal,
    tolerance_bound_pooled,
    tolerance_interval,
)
from adhesion_stats.statistics.two_samples import SdTest, TTest, sd_test, t_test
from adhesion_stats.statistics.uncertainty import (
    Budget,
    Component,
    from_resolution,
    half_width_rectangular,
    half_width_triangular,
    propagate,
)
from adhesion_stats.statistics.weibull import confidence_above_weibull, tolerance_bound_weibull
from adhesion_stats.statistics.which_distribution import (
    NORMALITY_POWER,
    NORMALITY_POWER_SAMPLES,
    FamilyComparison,
    PowerPopulation,
    bounds_by_family,
    compare_families,
    normality_power,
)

__all__ = [
    "ALL_BOUNDED",
    "AS_MEASURED",
    "BCA_LEAST_N",
    "CONVENTIONS",
    "EN1990_TABLE_D1",
    "EN14358_SOURCE",
    "EN14358_TABLE_1",
    "FAMILIES",
    "FITS",
    "ISO12491_CONFIDENCES",
    "LARGEST_PERMUTATIONS",
    "NORMALITY_POWER",
    "NORMALITY_POWER_SAMPLES",
    "ONE_EXACT_VALUE",
    "TRUE_LEVEL_TWO_SIDED",
    "UNBOUNDED_LIKELIHOOD",
    "BcaInterval",
    "BoundedFit",
    "Budget",
    "Cells",
    "ChanceFlags",
    "Completed",
    "Component",
    "Convention",
    "DependentFit",
    "Description",
    "Errors",
    "EsdScreen",
    "Family",
    "FamilyComparison",
    "KaplanMeier",
    "LogRank",
    "LotPlan",
    "MandelScreen",
    "MedianScreen",
    "NestedSpread",
    "NormalityTest",
    "OneWay",
    "OrderStatisticBound",
    "OutlierScreen",
    "PairScreen",
    "PermutationTest",
    "Population",
    "PowerPopulation",
    "Precision",
    "PrintedFactors",
    "Ratio",
    "SdTest",
    "ShareBelow",
    "ShareWhatever",
    "SimulatedPoint",
    "SimulatedProbabilities",
    "SimulatedProbability",
    "Stack",
    "TTest",
    "ThreeWay",
    "TietjenMooreScreen",
    "VarianceScreen",
    "acceptance_limits",
    "accepts_count",
    "accepts_mean",
    "accepts_mean_less_pooled_sd",
    "accepts_mean_less_sd",
    "accepts_variables",
    "anderson_darling",
    "as_bounds",
    "bca_interval",
    "best_completion",
    "blocks",
    "bounded_confidence_above",
    "bounded_fractile_limit",
    "bounded_share_below",
    "bounds_by_family",
    "cells",
    "chance_next_all_above",
    "cochran",
    "cochran_critical",
    "cochran_p_value",
    "cochran_statistic",
    "compare_families",
    "confidence_above_weibull",
    "confidence_interval_cov",
    "confidence_interval_mean",
    "confidence_interval_sd",
    "confidence_of_order_statistic",
    "conformity_of_mean",
    "conformity_of_rank",
    "conformity_of_value",
    "conformity_probability",
    "describe",
    "dixon",
    "dixon_critical",
    "dixon_p_value",
    "dixon_ratio",
    "en1990_known_cov",
    "en1990_known_sd",
    "en1990_unknown",
    "en14358_lognormal",
    "en14358_normal",
    "esd",
    "esd_critical",
    "esd_statistics",
    "fit_bounded",
    "fit_dependent",
    "fit_exponential",
    "fit_trouble",
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
    "k_en14358",
    "k_iso12491",
    "k_known_sd",
    "k_one_sided",
    "k_pooled",
    "k_smallest_of_next",
    "k_two_sided",
    "kaplan_meier",
    "level_under",
    "limit_for_probability",
    "log_rank",
    "lot_acceptance_probability",
    "lot_plan",
    "lot_share_beyond",
    "mandel",
    "mandel_h",
    "mandel_h_critical",
    "mandel_k",
    "mandel_k_critical",
    "mean_and_sd",
    "mean_and_sd_as_recorded",
    "mean_where_it_broke",
    "median_absolute_deviation",
    "median_screen",
    "modified_z",
    "n_for_half_width",
    "n_for_half_width_assured",
    "n_for_order_statistic",
    "n_for_range",
    "n_for_t_test",
    "n_for_tolerance_bound",
    "nested_spread",
    "noncentral_t_below",
    "noncentrality",
    "normality_power",
    "one_way",
    "order_statistic_bound",
    "permutation_test",
    "pooled_sd",
    "power_of_t_test",
    "power_of_tolerance_bound",
    "precision",
    "precision_cells",
    "prediction_bound_mean",
    "prediction_bound_smallest",
    "prediction_interval_mean",
    "prediction_interval_sd",
    "probability_accepted",
    "propagate",
    "quality_at",
    "ratio_for",
    "sd_test",
    "shapiro_wilk",
    "share_below_normal",
    "share_below_whatever",
    "share_interval_exact",
    "share_interval_wilson",
    "stacks",
    "strength_budget",
    "sweep_correlation",
    "t_quantile",
    "t_test",
    "tietjen_moore",
    "tietjen_moore_critical",
    "tietjen_moore_p_value",
    "tietjen_moore_statistic",
    "tolerance_bound_known_sd",
    "tolerance_bound_lognormal",
    "tolerance_bound_lower",
    "tolerance_bound_pooled",
    "tolerance_bound_weibull",
    "tolerance_interval",
    "tries",
    "weibull_shape",
    "whole_contract",
    "whole_numbers",
    "worst_completion",
]
