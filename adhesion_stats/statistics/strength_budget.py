r"""A ready uncertainty budget for a strength that is a load over the area of a disc.

Every figure is passed in: what an instrument's certificate, a caliper and the set-up give. There are no default values.
Bending of a misaligned pull lowers the strength read, it does not scatter around it; the entry for alignment is a
symmetric stand-in for what is left after care was taken, not a correction.

Imports: this room. Must not import pandas, scipy.stats, or any other room.
"""

from __future__ import annotations

import math

from adhesion_stats.statistics.checks import check_positive
from adhesion_stats.statistics.uncertainty import Budget, Component, from_resolution, half_width_rectangular

__all__ = ["strength_budget"]


def strength_budget(
    *,
    load_n: float,
    diameter_mm: float,
    calibration_relative: float,
    calibration_df: float,
    resolution_n: float,
    diameter_u_mm: float,
    diameter_df: float,
    diameter_common: bool,
    alignment_relative: float,
) -> Budget:
    r"""Budget of one strength in MPa from load and disc diameter.

    Parameters
    ----------
    load_n : float
        Load at failure [N].
    diameter_mm : float
        Diameter of the disc [mm].
    calibration_relative : float
        Relative standard uncertainty of the load by calibration [-] (a certificate's expanded one divided by its
        coverage factor; 0.01 is 1 %). Common to all results of the instrument.
    calibration_df : float
        Its degrees of freedom [-]; infinite where the certificate gives none.
    resolution_n : float
        Step of the load indication [N]. Independent.
    diameter_u_mm : float
        Standard uncertainty of the diameter [mm].
    diameter_df : float
        Its degrees of freedom [-].
    diameter_common : bool
        True where one nominal diameter stands for all discs, False where each is measured.
    alignment_relative : float
        Half-width of the relative effect of bending [-], taken as rectangular. Independent.

    Returns
    -------
    Budget
        In MPa.

    Raises
    ------
    InvalidSample
        If load or diameter is not positive, or an uncertainty is negative.

    Notes
    -----
    .. math::  \sigma = \frac{4F}{\pi d^2}, \qquad \frac{\partial\sigma}{\partial F} = \frac{4}{\pi d^2}, \qquad
               \frac{\partial\sigma}{\partial d} = -\frac{2\sigma}{d}

    Source: JCGM 100:2008, 5.1.3 (sensitivities), 4.3.7 (rectangular), F.2.2.1 (resolution). Which entries belong into
    such a budget: common practice, no published source.

    Examples
    --------
    >>> budget = strength_budget(load_n=4000.0, diameter_mm=50.0, calibration_relative=0.01, calibration_df=math.inf,
    ...     resolution_n=10.0, diameter_u_mm=0.1, diameter_df=math.inf, diameter_common=False, alignment_relative=0.02)
    >>> (budget.value, budget.combined, budget.of_mean(n=5), budget.common)
    (2.037, 0.0323, 0.0232, 0.0204)
    """
    load = check_positive("load_n", load_n, zero_allowed=False)
    diameter = check_positive("diameter_mm", diameter_mm, zero_allowed=False)
    per_load = 4.0 / (math.pi * diameter * diameter)
    strength = load * per_load
    relative = check_positive("calibration_relative", calibration_relative, zero_allowed=True)
    bending = half_width_rectangular(check_positive("alignment_relative", alignment_relative, zero_allowed=True))
    return Budget(
        value=strength,
        components=(
            Component(
                name="calibration of the load",
                value=load,
                standard_uncertainty=relative * load,
                degrees_of_freedom=calibration_df,
                sensitivity=per_load,
                common=True,
            ),
            Component(
                name="resolution of the load",
                value=0.0,
                standard_uncertainty=from_resolution(resolution_n),
                degrees_of_freedom=math.inf,
                sensitivity=per_load,
                common=False,
            ),
            Component(
                name="diameter",
                value=diameter,
                standard_uncertainty=diameter_u_mm,
                degrees_of_freedom=diameter_df,
                sensitivity=-2.0 * strength / diameter,
                common=diameter_common,
            ),
            Component(
                name="alignment",
                value=1.0,
                standard_uncertainty=bending,
                degrees_of_freedom=math.inf,
                sensitivity=strength,
                common=False,
            ),
        ),
    )
