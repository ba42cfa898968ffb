"""Which pulls a description of the failure surely fits, which it could fit, and what follows for their values.

Of each pull a share of the area is known by code and the rest could be any code (``composition``); the depth of the
break lies between two bounds, equal where it was measured. So a description (``terms.failed``) surely fits a pull from
its known share and least depth, and could fit it with all its unknown share at its greatest depth. Each pull can be
brought to either on its own.

The way out: an excused pull is as good as a value without end. A pull that is surely excused lies at ``inf``, one that
could be between its lower bound and ``inf``; the others keep their bounds. On these values the smallest and z of n
are the same kinds as without a way out, and no other logic is needed. With the way out the completions of the value and
of the failure are independent of each other and of those of other criteria: never fewer than the truth.

Imports: numpy, this room and terms.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from adhesion_stats.acceptance.block import Block, Shares
from adhesion_stats.acceptance.composition import SLACK, Reading
from adhesion_stats.acceptance.limits import ENTERED
from adhesion_stats.errors import WrongUsage
from adhesion_stats.terms.criteria import CountAtLeast, Criterion, SmallestAtLeast, view
from adhesion_stats.terms.failed import Failed

__all__ = ["fits", "shares_of", "values_of", "with_views"]

Values = NDArray[np.float64]
Truth = NDArray[np.bool_]


def shares_of(block: Block) -> Shares:
    """Return the failure of a block's pulls. Raises ``WrongUsage`` where the block was made without it."""
    if block.shares is None:
        raise WrongUsage("expected a block with the failure of its pulls; found one made from values alone")
    return block.shares


def values_of(shares: Shares, question: str) -> tuple[Values, Values]:
    """Return bounds (g, n) of the values for a question, in the order of the shares."""
    return shares.low[question], shares.high[question]


def fits(shares: Shares, failed: Failed) -> tuple[Truth, Truth]:
    """Tell for each pull (g, n) whether the description surely fits it, and whether it could."""
    recorded = any(code in shares.glue for code in failed.codes)
    reading = Reading.of(shares, glue_as_recorded=recorded)
    known, start = reading.share(failed.codes), failed.from_percent - SLACK
    sure, could = np.greater_equal(known, start), np.greater_equal(known + reading.unknown, start)
    if failed.depth_mm is not None:
        least, most = shares.depth()
        deep = failed.depth_mm * (1.0 - ENTERED)
        sure, could = sure & (least >= deep), could & (most >= deep)
    return sure, could


def with_views(block: Block, asked: Sequence[Criterion]) -> Block:
    """Return the block with the values on which criteria with a way out are decided, keyed by ``criteria.view``."""
    ways = [c for c in asked if isinstance(c, SmallestAtLeast | CountAtLeast) and c.unless is not None]
    if not ways:
        return block
    low, high = dict(block.low), dict(block.high)
    for criterion in ways:
        assert criterion.unless is not None
        key = view(criterion)
        if block.n == 0:
            low[key], high[key] = block.low[criterion.question], block.high[criterion.question]
            continue
        shares = shares_of(block)
        least, most = values_of(shares, criterion.question)
        sure, could = fits(shares, criterion.unless)
        least, most = np.where(sure, np.inf, least), np.where(could, np.inf, most)
        order = np.lexsort((most, least), axis=1)
        low[key] = np.take_along_axis(least, order, axis=1)
        high[key] = np.take_along_axis(most, order, axis=1)
    return replace(block, low=low, high=high)
