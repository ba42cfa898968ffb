r"""What recorded values may truly have been: the recording step in tests.

A value recorded in steps of w stands for any true value within w/2 of it, so that a sample of n values stands for a
box of samples. Every test of this room takes the step and answers for the whole box: a flag is raised, or a p-value
called small, only if it would be for **every** sample that would have been recorded alike. Ties inside the step are
then no finding. With a step of 0 nothing changes.

Two facts carry all of it. Order statistics move by no more than their values do, so that only ascending samples of the
box need be looked at. And a norm over a positive linear function is convex in direction: its largest value over the box
lies at a corner, for a sum of squares about the mean at one with the lowest j values half a step down and the others
half a step up (exchanging two shifts keeps the mean and widens the sample).

When to use which
-----------------
``corners``             mean shift and sum of squares at each of those n + 1 corners.
``largest_squares``, ``least_squares``   ends of the sum of squares over the box.
``farthest_cosine``     how nearly a sample of the box can be a given shape (Shapiro-Wilk).
``least_by_shape``      lower bound of a convex function of the standardised values (Anderson-Darling).

Imports: numpy and this room. Must not import pandas, scipy.stats, or any other room.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from adhesion_stats.statistics.blocks import row_sum

__all__ = ["corners", "farthest_cosine", "largest_squares", "least_by_shape", "least_squares"]

Values = NDArray[np.float64]
_BISECTIONS = 64
_NEWTON = 40
_ROUNDING = 1e-9


def corners(x: Values, step: float) -> tuple[Values, Values]:
    """Shift of the mean and sum of squares about it, for the lowest j values half a step down and the others up.

    ``x`` (g, n) ascending; returns two arrays (g, n + 1), j = 0 ... n, in the unit of the values and its square.
    """
    n = x.shape[1]
    centred = _centred(x)
    squares = np.empty((x.shape[0], n + 1))
    for j in range(n + 1):
        shift = np.where(np.arange(n) < j, -0.5 * step, 0.5 * step)
        moved = centred + (shift - 0.5 * step * (n - 2 * j) / n)
        squares[:, j] = row_sum(moved * moved)
    shifts = 0.5 * step * (n - 2.0 * np.arange(n + 1)) / n
    return np.broadcast_to(shifts, squares.shape), squares


def largest_squares(x: Values, step: float) -> Values:
    """Largest sum of squares about the mean of the box, ``(g, n) -> (g,)``."""
    most: Values = corners(x, step)[1].max(axis=-1)
    return most


def least_squares(x: Values, step: float) -> Values:
    """Least sum of squares about the mean of the box, ``(g, n) -> (g,)``; 0 where all could be equal.

    The least over the box and over the point c that squares are taken about: each value goes as near to c as it can.
    The slope in c ascends, so that c is found by halving.
    """
    low, high = x[:, 0] - 0.5 * step, x[:, -1] + 0.5 * step
    for _ in range(_BISECTIONS):
        c = 0.5 * (low + high)
        slope = row_sum(_beyond(x, c, step))
        up = slope < 0.0
        low, high = np.where(up, c, low), np.where(up, high, c)
    away = _beyond(x, 0.5 * (low + high), step)
    flat = x[:, -1] - x[:, 0] <= step * (1.0 + _ROUNDING)  # 1.6 - 1.5 is more than 0.1 by a bit
    return np.where(flat, 0.0, row_sum(away * away))


def _beyond(x: Values, c: Values, step: float) -> Values:
    """How far c lies beyond the interval of each value: c - nearest point of it."""
    away = c[:, np.newaxis] - x
    beyond: Values = away - np.clip(away, -0.5 * step, 0.5 * step)
    return beyond


def _centred(x: Values) -> Values:
    away = x - x[:, x.shape[1] // 2, np.newaxis]
    centred: Values = away - (row_sum(away) / x.shape[1])[:, np.newaxis]
    return centred


def farthest_cosine(x: Values, shape: Values, step: float) -> Values:
    r"""1 - cos^2 of the least angle between a sample of the box, less its mean, and a shape; ``(g, n) -> (g,)``.

    ``shape`` (n,) has mean 0 and length 1. All positive multiples of the centred samples are a convex cone; the point
    of it nearest to the shape is found over the scale and the shift,

    .. math::  \sin^2 = \min_{\lambda \ge 0,\,\nu} \sum_i \operatorname{dist}^2
               \big(a_i,\ [\lambda (x_i - w/2) - \nu,\ \lambda (x_i + w/2) - \nu]\big)

    by Newton's method; what is returned is the tangent plane's least value over all scales and shifts that can matter,
    hence never too large: an upper end of the cosine that holds whether or not the search has converged.
    """
    y = _centred(x)
    half = 0.5 * step
    smallest = least_squares(x, step)
    flat = smallest <= 0.0
    reach = 1.0 / np.sqrt(np.where(flat, 1.0, smallest))  # the nearest point is no longer than the shape
    scale = 1.0 / np.sqrt(row_sum(y * y))
    shift = np.zeros_like(scale)
    best = np.zeros_like(scale)
    going = ~flat  # rows stop one by one, so that each gives the bits that it gives alone
    for _ in range(_NEWTON):
        value, slope, hessian = _distance(y, shape, half, scale, shift)
        best = np.where(going, np.maximum(best, _plane(value, slope, scale, shift, reach, half)), best)
        going &= value - best > 1e-13 + 1e-9 * value
        if not bool(going.any()):
            break
        to_scale, to_shift = _newton(slope, hessian)
        stride = np.ones_like(scale)
        for _ in range(20):
            tried, *_ = _distance(y, shape, half, np.maximum(scale + stride * to_scale, 0.0), shift + stride * to_shift)
            worse = tried > value
            if not bool(worse.any()):
                break
            stride = np.where(worse, 0.5 * stride, stride)
        scale, shift = np.maximum(scale + stride * to_scale, 0.0), shift + stride * to_shift
    return np.where(flat, 0.0, best)


def _distance(
    y: Values, shape: Values, half: float, scale: Values, shift: Values
) -> tuple[Values, tuple[Values, Values], tuple[Values, Values, Values]]:
    """Squared distance of the shape from the box at one scale and shift, its slopes and second derivatives."""
    at = scale[:, np.newaxis] * y - shift[:, np.newaxis]
    wide = (scale * half)[:, np.newaxis]
    off = shape - at
    beyond = off - np.clip(off, -wide, wide)
    edge = y + half * np.sign(beyond)  # the end of the interval that is nearest
    active = (beyond != 0.0).astype(np.float64)
    value = row_sum(beyond * beyond)
    slope = (-2.0 * row_sum(beyond * edge), 2.0 * row_sum(beyond))
    hessian = (2.0 * row_sum(active * edge * edge), -2.0 * row_sum(active * edge), 2.0 * row_sum(active))
    return value, slope, hessian


def _newton(slope: tuple[Values, Values], hessian: tuple[Values, Values, Values]) -> tuple[Values, Values]:
    """Newton's step of two variables; a hair is added to the curvature, so that a flat direction is left alone."""
    a, b, c = hessian
    a, c = a * (1.0 + 1e-12) + 1e-300, c * (1.0 + 1e-12) + 1e-300
    room = a * c - b * b
    room = np.where(room > 1e-14 * a * c, room, np.inf)
    first = np.where(np.isinf(room), -slope[0] / a, -(c * slope[0] - b * slope[1]) / room)
    second = np.where(np.isinf(room), 0.0, -(a * slope[1] - b * slope[0]) / room)
    return first, second


def _plane(
    value: Values, slope: tuple[Values, Values], scale: Values, shift: Values, reach: Values, half: float
) -> Values:
    """Least value of the tangent plane over the triangle 0 <= scale <= reach, |shift| <= half scale."""
    least = value - slope[0] * scale - slope[1] * shift  # at the origin
    for sign in (-1.0, 1.0):
        corner = value + slope[0] * (reach - scale) + slope[1] * (sign * half * reach - shift)
        least = np.minimum(least, corner)
    return least


def least_by_shape(x: Values, step: float, *, best: Values, terms: Callable[[Values], tuple[Values, Values]]) -> Values:
    r"""Lower bound, over the box, of a sum of convex functions of the standardised values; ``(g, n) -> (g,)``.

    ``terms`` gives each function and its slope at standardised values (g, n); ``best`` (n,) is where each is least.
    With mean m and standard deviation s of a true sample, standardised value i lies in
    :math:`[(x_i - w/2 - m)/s, (x_i + w/2 - m)/s]`; the function taken at its least point in there is convex in
    (1/s, m/s) together. Of all the (1/s, m/s) that samples of the box can have, the least is bounded from below by
    tangent planes (Frank and Wolfe's method). The bound lets each value choose for itself; it is exact for a step of 0
    and close for steps that are small beside the spread. Minus infinity where all values could be equal.
    """
    n = x.shape[1]
    y = _centred(x)
    half = 0.5 * step
    smallest, largest = least_squares(x, step), largest_squares(x, step)
    flat = smallest <= 0.0
    ends = [np.sqrt((n - 1) / largest), np.sqrt((n - 1) / np.where(flat, largest, smallest))]
    scale = np.sqrt((n - 1) / row_sum(y * y))
    shift = np.zeros_like(scale)

    def look(at_scale: Values, at_shift: Values) -> tuple[Values, Values, Values]:
        middle = at_scale[:, np.newaxis] * y - at_shift[:, np.newaxis]
        wide = (at_scale * half)[:, np.newaxis]
        moved = np.clip(best - middle, -wide, wide)
        value, slope = terms(middle + moved)
        slope = np.where(np.abs(moved) < wide, 0.0, slope)  # inside its interval a function is at its least
        edge = y + half * np.sign(moved)
        return row_sum(value), row_sum(slope * edge), -row_sum(slope)

    bound = np.full_like(scale, -np.inf)
    going = ~flat
    for _ in range(12):
        value, by_scale, by_shift = look(scale, shift)
        corner = [(end, sign * half * end) for end in ends for sign in (-1.0, 1.0)]
        heights = np.stack([value + by_scale * (s - scale) + by_shift * (v - shift) for s, v in corner])
        lowest = np.argmin(heights, axis=0)
        bound = np.where(going, np.maximum(bound, np.min(heights, axis=0)), bound)
        going &= value - bound > 1e-9 * (1.0 + np.abs(value))
        if not bool(going.any()):
            break
        to_scale = np.choose(lowest, [s for s, _ in corner]) - scale
        to_shift = np.choose(lowest, [v for _, v in corner]) - shift
        near, far = np.zeros_like(scale), np.ones_like(scale)
        for _ in range(20):  # the lowest point of the way there, by halving
            part = 0.5 * (near + far)
            _, a, b = look(scale + part * to_scale, shift + part * to_shift)
            falls = a * to_scale + b * to_shift < 0.0
            near, far = np.where(falls, part, near), np.where(falls, far, part)
        scale, shift = scale + near * to_scale, shift + near * to_shift
    return np.where(flat, -np.inf, bound)
