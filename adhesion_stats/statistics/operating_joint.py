r"""Operating characteristics of rules that look at the mean and at single values together, to better than 1e-6.

``probability_accepted`` takes any rule that depends on which of several limits the mean reaches and on how many single
values reach each of several other limits: mean and smallest, mean and z of n, any combination of them.

How it is done
--------------
The limits on single values cut their distribution into pieces. With the characteristic function of each piece,

.. math::  \varphi_\ell(t) = \int_{\text{piece } \ell} e^{itx} f(x)\, dx,

the sub-density of the sum of n values of which :math:`c_\ell` lie in piece :math:`\ell` has the transform

.. math::  \frac{n!}{\prod_\ell c_\ell!} \prod_\ell \varphi_\ell(t)^{c_\ell},

and its tail beyond n times the limit of the mean follows from a Fourier series over a period that holds all but 1e-12
of the sum. In units of the true mean the distribution is the same at every mean, so the pieces of a whole grid are
differences of one running integral (Gauss-Legendre panels in the normal score). Two values are integrated directly.

Some values may be unknown within bounds. Where a rule only gains by larger values, the worst and the best completion
decide: both are again independent values, of which a share stands at one place (``Completed``).

Imports: numpy, scipy.special and this room. Must not import pandas, scipy.stats, or any other room.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from adhesion_stats.errors import InvalidSample
from adhesion_stats.statistics.checks import check_size
from adhesion_stats.statistics.strengths import SCORES, Ratio

__all__ = ["AS_MEASURED", "MOST_WAYS", "Completed", "best_completion", "probability_accepted", "worst_completion"]

Values = NDArray[np.float64]
Truth = NDArray[np.bool_]
Complex = NDArray[np.complex128]

MOST_WAYS = 3000
"""Ways to spread n values over the pieces, up to which a rule is computed."""

_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(8)
_NODES_TWO, _WEIGHTS_TWO = np.polynomial.legendre.leggauss(96)
_PHASE = 6.0  # radians of e^(itx) a panel of eight nodes: error below 1e-12
_SPAN = 0.5  # normal scores a panel
_BLOCK = 256  # frequencies worked on at a time
_SUM_SDS = 8.5  # standard deviations of the sum within the period


@dataclass(frozen=True)
class Completed:
    """Values of which a share stands at one place instead of where it was drawn.

    Attributes
    ----------
    kept : float
        Share that stays as drawn [-], of the values below ``split``.
    kept_above : float
        The same, of the values at or above ``split``.
    split : float
        Unit of the values; ``inf`` for none.
    place : float
        Where all others stand: a number, or ``inf``.
    """

    kept: float = 1.0
    kept_above: float = 1.0
    split: float = math.inf
    place: float = 0.0


AS_MEASURED = Completed()
"""Every value as drawn."""


def worst_completion(*, lost: float) -> Completed:
    """Unknown values at their least: a share ``lost`` of them at zero (a value "at least x" is x).

    Parameters
    ----------
    lost : float
        Share of values that are lost [-], 0 to 1.

    Returns
    -------
    Completed

    Raises
    ------
    Nothing.

    Notes
    -----
    Source: a lost strength is not negative; nothing more is known of it.

    Examples
    --------
    >>> worst = worst_completion(lost=0.25)
    >>> (worst.kept, worst.place)
    (0.75, 0.0)
    """
    return Completed(1.0 - lost, 1.0 - lost, math.inf, 0.0)


def best_completion(*, at_least: float, lost: float, ceiling: float) -> Completed:
    """Unknown values at their greatest: those known from below only, or lost, at the ceiling (``inf``: without end).

    Parameters
    ----------
    at_least, lost : float
        Shares of values that are known from below only, and that are lost [-], 0 to 1 together.
    ceiling : float
        Largest value that there can be, in the unit of the values; ``inf`` for none.

    Returns
    -------
    Completed

    Raises
    ------
    Nothing.

    Notes
    -----
    Source: a value known from below only can be as large as the ceiling; nothing more is known of it.

    Examples
    --------
    >>> best = best_completion(at_least=0.25, lost=0.0, ceiling=float("inf"))
    >>> (best.kept, best.place)
    (0.75, inf)
    """
    if math.isinf(ceiling):
        kept = 1.0 - at_least - lost
        return Completed(kept, kept, math.inf, math.inf)
    return Completed(1.0 - at_least - lost, 1.0 - lost, ceiling, ceiling)


@dataclass(frozen=True, eq=False)
class _Pieces:
    """Pieces of the distribution, at each of g means, in units of the mean."""

    edges: Values  # (g, pieces + 1), from -inf to inf
    weight: Values  # (pieces,)
    level: NDArray[np.int64]  # (pieces,) how many limits a value of the piece reaches


def probability_accepted(
    mean: Values,
    *,
    ratio: Ratio,
    n: int,
    limits: Sequence[float],
    mean_limits: Sequence[float],
    accepted: Truth,
    completed: Completed,
) -> Values:
    """Probability that a rule on mean and single values accepts n independent values, at each true mean.

    Parameters
    ----------
    mean : (g,) float64
        True mean, above zero, in the unit of the limits.
    ratio : Ratio
        Distribution of value / mean.
    n : int
        Values, 1 or greater.
    limits : m ascending floats
        Limits on single values.
    mean_limits : r ascending floats
        Limits on the mean.
    accepted : (r + 1, n + 1, ..., n + 1) bool, m axes of n + 1
        Whether the rule accepts, by how many limits the mean reaches and how many values reach each limit. Must never
        turn from true to false along an axis.
    completed : Completed
        Where the values stand that are not as drawn.

    Returns
    -------
    (g,) float64
        Probability of acceptance [-], absolute error below 1e-7 (1e-9 from five values on).

    Raises
    ------
    InvalidSample
        If a mean is not above zero, limits do not ascend, or ``accepted`` is not of that shape or not monotone; if
        there are more than ``MOST_WAYS`` ways to spread n values over the pieces.

    Notes
    -----
    Equations: the head of this module. Source: characteristic functions of sums, inverted by a Fourier series; this
    project's own.

    Examples
    --------
    Mean at least 1.5 and no value below 1.0, ten pulls, a true mean of 1.8 with a coefficient of variation of 20 %.

    >>> rule = np.zeros((2, 11), dtype=bool)
    >>> rule[1, 10] = True
    >>> p = probability_accepted(np.array([1.8]), ratio=Ratio("normal", 0.20), n=10, limits=[1.0], mean_limits=[1.5],
    ...                          accepted=rule, completed=AS_MEASURED)
    >>> float(p[0])
    0.8747
    """
    n = check_size(n, at_least=1)
    means = np.asarray(mean, dtype=np.float64)
    _check(means, n, limits, mean_limits, accepted)
    pieces = _pieces(means, limits, completed)
    mass = ratio.share_below(pieces.edges[:, 1:]) - ratio.share_below(pieces.edges[:, :-1])
    standing = np.clip(1.0 - (mass * pieces.weight).sum(axis=1), 0.0, 1.0)
    reached = tuple(int(completed.place >= limit) for limit in limits)
    drawn_least = 0 if bool((standing > 1e-15).any()) else n
    work = _Work(ratio, means, pieces, mass)
    total = np.zeros(means.size)
    for drawn in range(drawn_least, n + 1):
        stand = n - drawn
        share = math.comb(n, stand) * standing**stand
        start = tuple(r * stand for r in reached)
        total += share * _accepted_drawn(work, drawn, start, n, mean_limits, accepted, stand, completed.place)
    return np.clip(total, 0.0, 1.0)


def _check(mean: Values, n: int, limits: Sequence[float], mean_limits: Sequence[float], accepted: Truth) -> None:
    if mean.ndim != 1 or not bool((mean > 0.0).all()) or not bool(np.isfinite(mean).all()):
        raise InvalidSample("expected true means (g,), finite and above zero")
    for name, found in (("limits", limits), ("mean_limits", mean_limits)):
        if any(b <= a for a, b in itertools.pairwise(found)):
            raise InvalidSample(f"expected {name} to ascend; got {list(found)}")
    shape = (len(mean_limits) + 1, *(n + 1 for _ in limits))
    if accepted.shape != shape or accepted.dtype != np.bool_:
        raise InvalidSample(f"expected accepted as bool of shape {shape}; got {accepted.dtype} of {accepted.shape}")
    if any(bool((np.diff(accepted.astype(np.int8), axis=axis) < 0).any()) for axis in range(accepted.ndim)):
        raise InvalidSample("expected a rule that never turns from accepted to not accepted as values grow")
    if math.comb(n + len(limits), len(limits)) > MOST_WAYS:
        raise InvalidSample(f"{len(limits)} limits and n = {n} give more than {MOST_WAYS} ways to count")


def _pieces(mean: Values, limits: Sequence[float], completed: Completed) -> _Pieces:
    cuts = sorted({*limits, *([completed.split] if math.isfinite(completed.split) else [])})
    edges = np.column_stack([np.full(mean.size, -np.inf), *(cut / mean for cut in cuts), np.full(mean.size, np.inf)])
    low = [-math.inf, *cuts]
    weight = [completed.kept_above if at >= completed.split else completed.kept for at in low]
    level = [sum(at >= limit for limit in limits) for at in low]
    return _Pieces(edges, np.array(weight), np.array(level, dtype=np.int64))


def _accepted_drawn(
    work: _Work,
    drawn: int,
    start: tuple[int, ...],
    n: int,
    mean_limits: Sequence[float],
    accepted: Truth,
    stand: int,
    place: float,
) -> Values:
    """The part of the probability in which ``drawn`` of the n values stay as drawn."""
    by_mean: dict[int, list[tuple[int, ...]]] = {}
    for counts in _spread_over(drawn, len(start) + 1):
        reach = tuple(first + sum(counts[i + 1 :]) for i, first in enumerate(start))
        needed = np.flatnonzero(np.moveaxis(accepted, 0, -1)[reach])
        if needed.size:
            by_mean.setdefault(int(needed[0]), []).append(counts)
    total = np.zeros(work.g)
    endless = stand > 0 and math.isinf(place)
    for needed_limits, ways in by_mean.items():
        if needed_limits == 0 or endless:
            total += work.mass_of(ways)
        else:
            total += work.tail(ways, drawn, n * mean_limits[needed_limits - 1] - (stand * place if stand else 0.0))
    return total


def _spread_over(total: int, parts: int) -> Iterator[tuple[int, ...]]:
    """Every way to write ``total`` as an ordered sum of ``parts`` numbers from 0 up."""
    if parts == 1:
        yield (total,)
        return
    for first in range(total + 1):
        for rest in _spread_over(total - first, parts - 1):
            yield (first, *rest)


def _ways(counts: tuple[int, ...]) -> float:
    return math.exp(math.lgamma(sum(counts) + 1) - sum(math.lgamma(c + 1) for c in counts))


class _Work:
    """What is computed once for a grid: masses and characteristic functions of the levels."""

    def __init__(self, ratio: Ratio, mean: Values, pieces: _Pieces, mass: Values) -> None:
        self.ratio, self.mean, self.pieces, self.g = ratio, mean, pieces, mean.size
        levels = int(pieces.level.max()) + 1
        self.level_mass = np.zeros((levels, self.g))
        for piece, level in enumerate(pieces.level.tolist()):
            self.level_mass[level] += pieces.weight[piece] * mass[:, piece]

    def mass_of(self, ways: Sequence[tuple[int, ...]]) -> Values:
        """Probability of these counts, whatever the sum."""
        total = np.zeros(self.g)
        for counts in ways:
            part = np.full(self.g, _ways(counts))
            for level, count in enumerate(counts):
                part = part * self.level_mass[level] ** count
            total += part
        return total

    def tail(self, ways: Sequence[tuple[int, ...]], drawn: int, least_sum: float) -> Values:
        """Probability of these counts with the sum of the drawn values at or above ``least_sum``."""
        at = least_sum / self.mean
        if drawn == 0:
            return self.mass_of(ways) * (at <= 0.0)
        if drawn == 1:
            return self._tail_of_one(ways, at)
        return self._tail_of_two(ways, at) if drawn == 2 else self._tail_of_many(ways, drawn, at)

    def _tail_of_one(self, ways: Sequence[tuple[int, ...]], at: Values) -> Values:
        total = np.zeros(self.g)
        levels = {counts.index(1) for counts in ways}
        for piece, level in enumerate(self.pieces.level.tolist()):
            if level in levels:
                low = np.maximum(self.pieces.edges[:, piece], at)
                high = self.pieces.edges[:, piece + 1]
                part = self.ratio.share_below(high) - self.ratio.share_below(low)
                total += self.pieces.weight[piece] * np.maximum(part, 0.0)
        return total

    def _tail_of_two(self, ways: Sequence[tuple[int, ...]], at: Values) -> Values:
        """Each ordered pair of pieces: the second value's share above the rest of the sum, over the first."""
        allowed = {tuple(sorted(i for i, c in enumerate(counts) for _ in range(c))) for counts in ways}
        ratio, edges, total = self.ratio, self.pieces.edges, np.zeros(self.g)
        levels = self.pieces.level.tolist()
        for first, second in itertools.product(range(len(levels)), repeat=2):
            if tuple(sorted((levels[first], levels[second]))) not in allowed:
                continue
            low, high = edges[:, second], edges[:, second + 1]
            ends = np.column_stack([edges[:, first], at - high, at - low, edges[:, first + 1]])
            ends[:, 1:3] = np.clip(ends[:, 1:3], ends[:, :1], ends[:, 3:])
            scores = ratio.score(ends)
            top = ratio.share_below(high)[:, np.newaxis]
            for i in range(3):
                half = 0.5 * (scores[:, i + 1] - scores[:, i])[:, np.newaxis]
                z = scores[:, i : i + 1] + half * (1.0 + _NODES_TWO)
                rest = np.maximum(at[:, np.newaxis] - ratio.value_at(z), low[:, np.newaxis])
                share = np.maximum(top - ratio.share_below(rest), 0.0)
                density = np.exp(-0.5 * z * z) / math.sqrt(2.0 * math.pi)
                part = (half * _WEIGHTS_TWO * density * share).sum(axis=1)
                total += self.pieces.weight[first] * self.pieces.weight[second] * part
        return total

    def _tail_of_many(self, ways: Sequence[tuple[int, ...]], drawn: int, at: Values) -> Values:
        low, high = _sum_range(self.ratio, drawn)
        period = high - low
        step = 2.0 * math.pi / period
        terms = math.ceil(_reach(drawn) / self.ratio.cov / step)
        inside = np.clip(at, low, high)
        total = self.mass_of(ways) * (high - inside) / period
        for k, of_level in self._characteristic(step, terms):
            transform: Complex = np.zeros((self.g, k.size), dtype=np.complex128)
            powers = [_powers(of_level[level], drawn) for level in range(len(of_level))]
            for counts in ways:
                part = np.full((1, 1), _ways(counts), dtype=np.complex128)
                for level, count in enumerate(counts):
                    if count:
                        part = part * powers[level][count]
                transform += part
            t = k * step
            # e^(-it high) - e^(-it at), over -it; the density is real, so both signs of t add up to twice the real part
            shift = np.exp(-1j * t * high)[np.newaxis, :] - np.exp(-1j * np.outer(inside, t))
            total += (2.0 / period) * (transform * shift / (-1j * t)).real.sum(axis=1)
        return np.clip(total, 0.0, 1.0)

    def _characteristic(self, step: float, terms: int) -> Iterator[tuple[Values, Complex]]:
        """Blocks of frequencies k and the transform of each level there: (levels, g, block)."""
        scores = self.ratio.score(self.pieces.edges)
        panels = np.unique(np.concatenate([_panel_edges(self.ratio, step * terms), scores.ravel()]))
        half = 0.5 * np.diff(panels)[:, np.newaxis]
        z = panels[:-1, np.newaxis] + half * (1.0 + _NODES)
        weight = half * _WEIGHTS * np.exp(-0.5 * z * z) / math.sqrt(2.0 * math.pi)
        value = self.ratio.value_at(z.ravel())
        place = np.searchsorted(panels, scores)
        levels = int(self.pieces.level.max()) + 1
        turn = np.exp(1j * step * value)
        for first in range(1, terms + 1, _BLOCK):
            k = np.arange(first, min(first + _BLOCK, terms + 1), dtype=np.float64)
            waves = np.empty((k.size, value.size), dtype=np.complex128)
            waves[0] = np.exp(1j * step * first * value) * weight.ravel()
            for row in range(1, k.size):
                np.multiply(waves[row - 1], turn, out=waves[row])
            of_panel = waves.reshape(k.size, -1, _NODES.size).sum(axis=2)
            running: Complex = np.zeros((k.size, panels.size), dtype=np.complex128)
            np.cumsum(of_panel, axis=1, out=running[:, 1:])
            of_level: Complex = np.zeros((levels, self.g, k.size), dtype=np.complex128)
            for piece, level in enumerate(self.pieces.level.tolist()):
                part = running[:, place[:, piece + 1]] - running[:, place[:, piece]]
                of_level[level] += self.pieces.weight[piece] * part.T
            yield k, of_level


def _powers(base: Complex, most: int) -> list[Complex]:
    found = [np.ones_like(base)]
    for _ in range(most):
        found.append(found[-1] * base)
    return found


def _reach(drawn: int) -> float:
    """Largest frequency, times the standard deviation: each piece's transform falls like 0.5 / t at its ends."""
    return {3: 160.0, 4: 80.0, 5: 50.0}.get(drawn, 40.0)


def _sum_range(ratio: Ratio, drawn: int) -> tuple[float, float]:
    """Between which ends the sum of the drawn values lies, but for 1e-12 or so."""
    least, most = (float(v) for v in ratio.value_at(np.array([-SCORES, SCORES])))
    reach = _SUM_SDS * math.sqrt(drawn) * ratio.cov
    # A skew distribution: one value may lie far out and take the sum with it.
    above = reach if ratio.distribution == "normal" else reach + max(0.0, most - 1.0)
    return max(drawn * least, drawn - reach), min(drawn * most, drawn + above)


def _panel_edges(ratio: Ratio, frequency: float) -> Values:
    """Edges of panels in the normal score, none wider than ``_SPAN`` nor with more than ``_PHASE`` radians."""
    least, most = (float(v) for v in ratio.value_at(np.array([-SCORES, SCORES])))
    count = math.ceil((most - least) * frequency / _PHASE)
    by_value = ratio.score(least + (most - least) * np.arange(count + 1) / count)
    return np.concatenate([by_value, np.arange(-SCORES, SCORES + _SPAN / 2, _SPAN)])
