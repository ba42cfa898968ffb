r"""Acceptance of lots by variables, borrowed from the inspection of production lots (ISO 3951, MIL-STD-414).

A contract for bond strength seldom speaks this language; where it does, here are its numbers: the estimated share
beyond a limit, the probability that a lot of a given quality is accepted, and the plan that two points ask for. The
acceptance constants of a standard's tables belong to its edition and are not built in.

When to use which
-----------------
``lot_share_beyond``           estimated share of a lot beyond a limit (the p-hat of these standards).
``lot_acceptance_probability`` operating characteristic of "mean - k sd at or above the limit".
``lot_plan``                   smallest n, and k, for a good lot that passes and a bad one that does not.

``shares`` has confidence limits for a share; the estimate here has none.

Imports: numpy, scipy.special and this room. Must not import pandas, scipy.stats, or any other room.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal, get_args

import numpy as np
from numpy.typing import NDArray
from scipy import special

from adhesion_stats.errors import InvalidSample
from adhesion_stats.statistics.characteristic import k_one_sided
from adhesion_stats.statistics.checks import check_choice, check_level, check_size
from adhesion_stats.statistics.noncentral import noncentral_t_below

__all__ = ["LotPlan", "Spread", "lot_acceptance_probability", "lot_plan", "lot_share_beyond"]

Values = NDArray[np.float64]
Spread = Literal["known", "unknown"]

_LARGEST = 1_000_000


def lot_share_beyond(quality: Values, *, n: int, spread: Spread) -> Values:
    r"""Estimated share of a normal lot beyond a limit, from the quality index.

    Parameters
    ----------
    quality : (g,) float64
        Q = (mean - limit) / sd for a lower limit, (limit - mean) / sd for an upper one [-]; sd that of the sample, or
        the known one.
    n : int
        Values in the sample [-], 3 or greater (known spread: 2).
    spread : {"known", "unknown"}
        Which sd stands in Q.

    Returns
    -------
    (g,) float64
        Estimated share [-].

    Raises
    ------
    InvalidSample
        If n is too small or a quality index is not finite.

    Notes
    -----
    .. math::  \hat p = I_x(n/2 - 1,\ n/2 - 1), \quad x = \max\Big(0,\ \tfrac12 - \frac{Q\sqrt n}{2(n-1)}\Big); \qquad
               \hat p = \Phi\big(-Q \sqrt{n/(n-1)}\big) \text{ with known sd}

    Unbiased, and the one of least variance. A mean beyond the limit (Q < 0) gives more than a half. Source: Lieberman &
    Resnikoff, Journal of the American Statistical Association 50 (1955) 457-516; borrowed from ISO 3951.

    Examples
    --------
    Operating temperatures 197, 188, 184, 205, 201 with limits of 180 and 209: 0.62 % below, 2.18 % above.

    >>> low, high = lot_share_beyond(np.array([1.7038855, 1.5902931]), n=5, spread="unknown")
    >>> (float(low), float(high))
    (0.006169, 0.021823)
    """
    check_choice("spread", spread, among=get_args(Spread))
    size = check_size(n, at_least=3 if spread == "unknown" else 2)
    q = np.asarray(quality, dtype=np.float64)
    if not bool(np.isfinite(q).all()):
        raise InvalidSample("expected finite quality indices")
    if spread == "known":
        known: Values = special.ndtr(-q * math.sqrt(size / (size - 1)))
        return known
    at = np.clip(0.5 - q * math.sqrt(size) / (2.0 * (size - 1)), 0.0, 1.0)
    share: Values = special.betainc(0.5 * size - 1.0, 0.5 * size - 1.0, at)
    return share


def lot_acceptance_probability(share: Values, *, n: int, k: float, spread: Spread) -> Values:
    r"""Probability that a normal lot is accepted by "mean - k sd at or above the limit".

    Parameters
    ----------
    share : (g,) float64
        True share of the lot beyond the limit [-], strictly between 0 and 1.
    n : int
        Values in the sample [-], 2 or greater (known spread: 1).
    k : float
        Acceptance constant [-].
    spread : {"known", "unknown"}
        Whether sd is known or that of the sample.

    Returns
    -------
    (g,) float64
        Probability [-].

    Raises
    ------
    InvalidSample
        If n is too small, k is not finite, or a share lies outside 0 to 1.

    Notes
    -----
    .. math::  P_a = P\big(t'(n-1,\ \sqrt n\, z_{1-p}) \ge k\sqrt n\big); \qquad
               P_a = \Phi\big(\sqrt n\,(z_{1-p} - k)\big) \text{ with known sd}

    Source: definition of the non-central t distribution; borrowed from ISO 3951.

    Examples
    --------
    n = 35, k = 1.89, a lot with 10 % beyond: 1.65 % (quoted with ISO 3951, code letter J).

    >>> float(lot_acceptance_probability(np.array([0.10]), n=35, k=1.89, spread="unknown")[0])
    0.0165
    """
    check_choice("spread", spread, among=get_args(Spread))
    size = check_size(n, at_least=2 if spread == "unknown" else 1)
    p = np.asarray(share, dtype=np.float64)
    if not math.isfinite(k) or not bool(((p > 0.0) & (p < 1.0)).all()):
        raise InvalidSample(f"expected a finite k and shares strictly between 0 and 1; got k = {k!r}")
    z, root = -special.ndtri(p), math.sqrt(size)
    if spread == "known":
        known: Values = special.ndtr(root * (z - k))
        return known
    below = noncentral_t_below(np.full(p.shape, k * root), degrees_of_freedom=size - 1, noncentrality=root * z)
    return 1.0 - below


@dataclass(frozen=True)
class LotPlan:
    """A plan for acceptance by variables.

    Attributes
    ----------
    n : int
        Values to take [-].
    k : float
        Largest acceptance constant that the good lot allows at that n [-].
    """

    n: int
    k: float


def lot_plan(*, good: float, accepted: float, bad: float, accepted_nevertheless: float, spread: Spread) -> LotPlan:
    r"""Smallest plan by which a good lot is accepted and a bad one is not.

    Parameters
    ----------
    good, bad : float
        Shares beyond the limit of the good and of the bad lot [-], good below bad.
    accepted, accepted_nevertheless : float
        Probability at least that the good lot is accepted, and at most that the bad one is [-].
    spread : {"known", "unknown"}
        Whether sd is known or that of the sample.

    Returns
    -------
    LotPlan

    Raises
    ------
    InvalidSample
        If a share or probability lies outside 0 to 1, good is not below bad, accepted not above accepted_nevertheless,
        or more than a million values would be needed.

    Notes
    -----
    The smallest n at which the k that accepts the good lot with the stated probability is at least the k that rejects
    the bad one. Source: as ``lot_acceptance_probability``.

    Examples
    --------
    1 % beyond to pass in 95 of 100 cases, 6 % in 10: 42 values.

    >>> lot_plan(good=0.01, accepted=0.95, bad=0.06, accepted_nevertheless=0.10, spread="unknown").n
    42
    """
    check_choice("spread", spread, among=get_args(Spread))
    p, q = check_level("good", good), check_level("bad", bad)
    a, b = check_level("accepted", accepted), check_level("accepted_nevertheless", accepted_nevertheless)
    if p >= q or a <= b:
        raise InvalidSample("expected the good lot to be better than the bad one, and to be accepted more often")

    def constants(n: int) -> tuple[float, float]:
        """Largest k for the good lot, smallest for the bad one."""
        if spread == "known":
            root = math.sqrt(n)
            return (
                -float(special.ndtri(p)) - float(special.ndtri(a)) / root,
                -float(special.ndtri(q)) - float(special.ndtri(b)) / root,
            )
        return (
            k_one_sided(n=n, content=1.0 - p, confidence=1.0 - a),
            k_one_sided(n=n, content=1.0 - q, confidence=1.0 - b),
        )

    def enough(n: int) -> bool:
        most, least = constants(n)
        return most >= least

    low, high = 1, 2
    while not enough(high):
        low, high = high, 2 * high
        if high > _LARGEST:
            raise InvalidSample(f"more than {_LARGEST} values would be needed; the two lots are too close")
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if enough(middle) else (middle, high)
    return LotPlan(high, constants(high)[0])
