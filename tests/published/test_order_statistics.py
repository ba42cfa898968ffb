"""Sample sizes for distribution-free tolerance bounds, as printed in ISO 16269-6 and many handbooks (whole numbers)."""

from __future__ import annotations

import pytest

from adhesion_stats.statistics import n_for_order_statistic, n_for_range

SMALLEST = {0.90: (7, 14, 22, 29, 44), 0.95: (14, 28, 45, 59, 90), 0.99: (69, 138, 230, 299, 459)}
RANGE = {0.90: (38, 46, 64), 0.95: (77, 93, 130), 0.99: (388, 473, 662)}


@pytest.mark.parametrize("content", SMALLEST)
def test_smallest_value_as_lower_bound(content: float) -> None:
    """Confidence 0.50, 0.75, 0.90, 0.95, 0.99."""
    found = [
        n_for_order_statistic(rank=1, content=content, confidence=level) for level in (0.50, 0.75, 0.90, 0.95, 0.99)
    ]
    assert tuple(found) == SMALLEST[content]


def test_next_orders() -> None:
    """95 % content at 95 %: 2nd smallest from 93, 3rd 124 ... 10th 311; 90 % content: 29, 46, 61, 76."""
    found = [n_for_order_statistic(rank=rank, content=0.95, confidence=0.95) for rank in range(2, 11)]
    assert found == [93, 124, 153, 181, 208, 234, 260, 286, 311]
    assert [n_for_order_statistic(rank=rank, content=0.90, confidence=0.95) for rank in range(1, 5)] == [29, 46, 61, 76]


@pytest.mark.parametrize("content", RANGE)
def test_smallest_and_largest_as_limits(content: float) -> None:
    """Confidence 0.90, 0.95, 0.99."""
    assert tuple(n_for_range(content=content, confidence=level) for level in (0.90, 0.95, 0.99)) == RANGE[content]
