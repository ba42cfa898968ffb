r"""Measurement uncertainty: a budget given as data, combined by the law of propagation.

Measurement uncertainty is not sampling uncertainty. The scatter of repeated results already holds the independent part
of it, so a budget is never added to a standard deviation of results; and an error that is common to all results (the
calibration of the instrument, a nominal diameter) does not shrink with their number. A component therefore says whether
it is **common** or **independent**, and ``Budget.of_mean`` divides only the independent part by the root of n.

Nothing here acts unless it is called: no decision uses a budget of its own accord.

When to use which
-----------------
``Component``, ``Budget``   what is known, and what follows: combined, effective degrees of freedom, expanded.
``half_width_rectangular``, ``half_width_triangular``, ``from_resolution``   standard uncertainty from limits.
``propagate``               several outputs of correlated inputs.

A ready budget for load over area: ``strength_budget``. Conformity with a limit: ``conformity``.

Imports: numpy, scipy.special and this room. Must not import pandas, scipy.stats, or any other room.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import special

from adhesion_stats.errors import InvalidSample
from adhesion_stats.statistics.checks import check_level, check_positive, check_size

__all__ = [
    "Budget",
    "Component",
    "from_resolution",
    "half_width_rectangular",
    "half_width_triangular",
    "propagate",
]

Values = NDArray[np.float64]


@dataclass(frozen=True, kw_only=True)
class Component:
    """One input quantity of a budget.

    Attributes
    ----------
    name : str
        What it is, unique within the budget.
    value : float
        Estimate, in its own unit.
    standard_uncertainty : float
        In the same unit, zero or positive.
    degrees_of_freedom : float
        Of the standard uncertainty [-]; infinite where it is taken as known.
    sensitivity : float
        Change of the result for a unit change of this input, in the unit of the result per unit of the input.
    common : bool
        True for an error that all results share (calibration), False for one drawn anew each time (reading).
    """

    name: str
    value: float
    standard_uncertainty: float
    degrees_of_freedom: float
    sensitivity: float
    common: bool

    def __post_init__(self) -> None:
        """Refuse what is no component."""
        if not math.isfinite(self.value) or not math.isfinite(self.sensitivity):
            raise InvalidSample(f"expected a finite value and sensitivity of {self.name!r}")
        check_positive(f"standard uncertainty of {self.name!r}", self.standard_uncertainty, zero_allowed=True)
        if not self.degrees_of_freedom > 0.0:
            raise InvalidSample(
                f"expected degrees of freedom of {self.name!r} above 0 (infinite where the uncertainty is known); "
                f"got {self.degrees_of_freedom!r}"
            )

    @property
    def contribution(self) -> float:
        """Uncertainty of the result through this input alone, in the unit of the result."""
        return abs(self.sensitivity) * self.standard_uncertainty


@dataclass(frozen=True, kw_only=True)
class Budget:
    r"""Uncertainty of one result from independent inputs.

    Attributes
    ----------
    value : float
        The result, in its unit.
    components : tuple of Component
        At least one; their errors are independent of each other.

    Notes
    -----
    .. math::  u_c^2 = \sum (c_i u_i)^2, \qquad
               \nu_{eff} = u_c^4 \Big/ \sum \frac{(c_i u_i)^4}{\nu_i}, \qquad U = t_{(1+\gamma)/2}(\nu_{eff})\, u_c

    Source: JCGM 100:2008, 5.1.2 (combined), G.4.1 (Welch-Satterthwaite), G.4 and 6.2 (expanded).

    Examples
    --------
    JCGM 100:2008, G.4.1: relative uncertainties of 0.25, 0.57 and 0.82 %, 19 effective degrees of freedom.

    >>> parts = [(0.25, 9.0), (0.57, 4.0), (0.82, 14.0)]
    >>> budget = Budget(value=100.0, components=tuple(
    ...     Component(name=str(u), value=1.0, standard_uncertainty=u, degrees_of_freedom=df,
    ...               sensitivity=1.0, common=False)
    ...     for u, df in parts))
    >>> (budget.combined, budget.effective_degrees_of_freedom)
    (1.03, 19.0)
    """

    value: float
    components: tuple[Component, ...]

    def __post_init__(self) -> None:
        """Refuse an empty budget and one that names an input twice."""
        names = [component.name for component in self.components]
        if not names:
            raise InvalidSample("expected at least one component in the budget; got none")
        twice = sorted({name for name in names if names.count(name) > 1})
        if twice:
            raise InvalidSample(f"expected each component once in the budget; got more of {', '.join(twice)}")

    @property
    def combined(self) -> float:
        """Combined standard uncertainty of one result, in its unit."""
        return math.hypot(*(component.contribution for component in self.components))

    @property
    def common(self) -> float:
        """The part of it that all results share."""
        return math.hypot(*(component.contribution for component in self.components if component.common))

    @property
    def independent(self) -> float:
        """The part of it that is drawn anew for each result."""
        return math.hypot(*(component.contribution for component in self.components if not component.common))

    @property
    def effective_degrees_of_freedom(self) -> float:
        """Effective degrees of freedom of the combined uncertainty [-], as computed, not cut to a whole number."""
        return self._effective(1)

    def expanded(self, *, confidence: float) -> float:
        """Expanded uncertainty of one result, in its unit.

        The t quantile is taken at the effective degrees of freedom cut to the next lower whole number, as in JCGM
        100:2008, G.4.1 (at least 1).
        """
        return self._expanded(1, confidence)

    def of_mean(self, *, n: int) -> float:
        r"""Standard uncertainty of the mean of n results, in their unit.

        The common part stays whole: :math:`\sqrt{u_{common}^2 + u_{independent}^2/n}`. Source: JCGM 100:2008, 5.2
        (correlated inputs) and F.1.2.3.
        """
        return math.hypot(self.common, self.independent / math.sqrt(check_size(n, at_least=1)))

    def expanded_of_mean(self, *, n: int, confidence: float) -> float:
        """Expanded uncertainty of the mean of n results, in their unit."""
        return self._expanded(check_size(n, at_least=1), confidence)

    def _effective(self, n: int) -> float:
        total = 0.0
        for component in self.components:
            share = 1.0 if component.common else 1.0 / n
            # A pooled estimate behind an independent part is one estimate, whatever n: its degrees of freedom stay.
            total += (component.contribution**2 * share) ** 2 / component.degrees_of_freedom
        return math.inf if total == 0.0 else self.of_mean(n=n) ** 4 / total

    def _expanded(self, n: int, confidence: float) -> float:
        tail = 0.5 * (1.0 - check_level("confidence", confidence))
        df = self._effective(n)
        # Rounding may leave a whole number just below itself.
        factor = -special.ndtri(tail) if math.isinf(df) else -special.stdtrit(max(math.floor(df + 1e-9), 1), tail)
        return float(factor) * self.of_mean(n=n)


def half_width_rectangular(half_width: float) -> float:
    r"""Standard uncertainty of a value that lies anywhere within +- half_width with equal chance: a / sqrt 3.

    Parameters
    ----------
    half_width : float
        Zero or positive, any unit.

    Returns
    -------
    float
        In the same unit.

    Raises
    ------
    InvalidSample
        If it is negative or not finite.

    Notes
    -----
    Source: JCGM 100:2008, 4.3.7.

    Examples
    --------
    JCGM 100:2008, 4.4.5 (clause from memory, unverified): limits of 96 and 104 degrees, u = 2.3.

    >>> half_width_rectangular(4.0)
    2.3
    """
    return check_positive("half_width", half_width, zero_allowed=True) / math.sqrt(3.0)


def half_width_triangular(half_width: float) -> float:
    r"""Standard uncertainty of a value within +- half_width that is likelier near the middle: a / sqrt 6.

    Parameters
    ----------
    half_width : float
        Zero or positive, any unit.

    Returns
    -------
    float
        In the same unit.

    Raises
    ------
    InvalidSample
        If it is negative or not finite.

    Notes
    -----
    Source: JCGM 100:2008, 4.3.9.

    Examples
    --------
    JCGM 100:2008, 4.4.6 (clause from memory, unverified): limits of 96 and 104 degrees, u = 1.6.

    >>> half_width_triangular(4.0)
    1.6
    """
    return check_positive("half_width", half_width, zero_allowed=True) / math.sqrt(6.0)


def from_resolution(step: float) -> float:
    r"""Standard uncertainty of a reading that is shown in steps: step / sqrt 12.

    Parameters
    ----------
    step : float
        Zero or positive, any unit.

    Returns
    -------
    float
        In the same unit.

    Raises
    ------
    InvalidSample
        If it is negative or not finite.

    Notes
    -----
    Source: JCGM 100:2008, F.2.2.1 (resolution of a digital indication: 0.29 times the step).

    Examples
    --------
    >>> from_resolution(1.0)
    0.29
    """
    return check_positive("step", step, zero_allowed=True) / math.sqrt(12.0)


def propagate(*, sensitivities: Values, covariance: Values) -> Values:
    r"""Covariance of outputs from the covariance of correlated inputs.

    Parameters
    ----------
    sensitivities : (k, m) float64
        Partial derivatives of k outputs by m inputs, in units of output per unit of input.
    covariance : (m, m) float64
        Of the inputs, in products of their units; symmetric.

    Returns
    -------
    (k, k) float64
        Square roots of the diagonal are the standard uncertainties.

    Raises
    ------
    InvalidSample
        If shapes do not fit, a number is not finite, or the covariance is not symmetric or has a negative variance.

    Notes
    -----
    .. math::  U_y = C\, U_x\, C^T

    Source: JCGM 100:2008, 5.2.2 and H.2; JCGM 102:2011, 6.2.1.

    Examples
    --------
    The sum of two fully correlated inputs: uncertainties add.

    >>> propagate(sensitivities=np.array([[1.0, 1.0]]), covariance=np.array([[4.0, 6.0], [6.0, 9.0]]))
    array([[25.]])
    """
    c, u = np.asarray(sensitivities, dtype=np.float64), np.asarray(covariance, dtype=np.float64)
    if c.ndim != 2 or u.shape != (c.shape[1], c.shape[1]):
        raise InvalidSample(f"expected shapes (k, m) and (m, m); got {c.shape} and {u.shape}")
    if not bool(np.isfinite(c).all() and np.isfinite(u).all()):
        raise InvalidSample("expected finite numbers")
    if not bool(np.allclose(u, u.T, rtol=1e-12, atol=0.0)) or bool((np.diag(u) < 0.0).any()):
        raise InvalidSample("expected a symmetric covariance without negative variances")
    found: Values = c @ u @ c.T
    return found
