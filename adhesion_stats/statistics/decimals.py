r"""Values as the decimals that they were recorded as, in exact arithmetic.

1000000000000.4 is no binary fraction: stored, it is 1.5e-5 too large, and thirteen constant leading digits leave
four true ones to a variance, however it is computed. The shortest decimal that names a stored value is the recorded one
again if that has 15 digits at most; taken as whole multiples of one unit, such values lose nothing. For readings with a
few digits it makes no difference, and ``describe.mean_and_sd`` does a million samples in the time of a few of these.

Imports: numpy and this room. Must not import pandas, scipy.stats, or any other room.
"""

from __future__ import annotations

import math
from fractions import Fraction

import numpy as np
from numpy.typing import NDArray

from adhesion_stats.errors import InvalidSample

__all__ = ["mean_and_sd_as_recorded", "whole_numbers"]

Values = NDArray[np.float64]


def whole_numbers(values: Values) -> tuple[list[int], int]:
    """The values as whole multiples of one common unit, by their shortest decimals.

    Parameters
    ----------
    values : (N,) float64
        Finite values, any unit.

    Returns
    -------
    multiples : list of int
    per_unit : int
        How many multiples make 1 in the unit of the values.

    Raises
    ------
    InvalidSample
        If a value is not finite or the array has another shape.

    Notes
    -----
    Source: IEEE 754-2019, 5.12.2 (a decimal of up to 15 digits comes back from double precision unchanged).

    Examples
    --------
    >>> whole_numbers(np.array([1000000000000.4, 0.25]))
    ([20000000000008, 5], 20)
    """
    x = np.asarray(values, dtype=np.float64)
    if x.ndim != 1 or not bool(np.isfinite(x).all()):
        raise InvalidSample(f"expected a list of finite values; got shape {x.shape}")
    exact = [Fraction(repr(value)) for value in x.tolist()]
    unit = math.lcm(*(value.denominator for value in exact))
    return [value.numerator * (unit // value.denominator) for value in exact], unit


def mean_and_sd_as_recorded(values: Values) -> tuple[float, float]:
    r"""Mean and standard deviation (divisor n - 1) of one sample, exact but for the last rounding.

    Parameters
    ----------
    values : (n,) float64
        Finite values, any unit and order, n >= 2; taken as the decimals that they print as (15 digits at most).

    Returns
    -------
    mean, sd : float
        In the unit of the values.

    Raises
    ------
    InvalidSample
        If n < 2 or a value is not finite.

    Notes
    -----
    .. math::  s^2 = \frac{n \sum x_i^2 - (\sum x_i)^2}{n (n - 1)}

    in whole numbers, where it can't cancel. Source: NIST Statistical Reference Datasets, univariate summary statistics
    (certified values: 15 digits of all nine sets).

    Examples
    --------
    NIST StRD set NumAcc4 (values such as 10000000.2): certified mean 10000000.2, sd 0.1.

    >>> x = np.array([10000000.2] + 500 * [10000000.1, 10000000.3])
    >>> mean_and_sd_as_recorded(x)
    (10000000.2, 0.1)
    """
    whole, unit = whole_numbers(values)
    n = len(whole)
    if n < 2:
        raise InvalidSample(f"expected two values or more; got {n}")
    total = sum(whole)
    variance = Fraction(n * sum(value * value for value in whole) - total * total, n * (n - 1) * unit * unit)
    return float(Fraction(total, n * unit)), math.sqrt(variance)
