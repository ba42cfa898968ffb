"""The page on specifications: every example parses, every kind and method is on it."""

from __future__ import annotations

import re
from pathlib import Path
from typing import get_args

import pytest

from adhesion_stats.terms.characteristic import METHOD_KEYS
from adhesion_stats.terms.criteria import CharacteristicMethod
from adhesion_stats.terms.kinds_of_values import VALUE_KINDS
from adhesion_stats.terms.parse import parse_specification

PAGE = (Path(__file__).parents[2] / "docs" / "specification.md").read_text(encoding="utf-8")
EXAMPLES = re.findall(r"^```toml\n(.*?)^```", PAGE, flags=re.MULTILINE | re.DOTALL)


@pytest.mark.parametrize("text", EXAMPLES)
def test_each_example_parses(text: str) -> None:
    """An example of the page is a specification."""
    assert parse_specification(text.encode(), file="example.toml").rules


@pytest.mark.parametrize("kind", VALUE_KINDS, ids=lambda kind: kind.main)
def test_each_kind_on_values_has_an_example(kind: object) -> None:
    """What the parser knows and the page does not is what nobody finds."""
    assert any(f"{kind.main} = " in text for text in EXAMPLES)  # type: ignore[attr-defined]


@pytest.mark.parametrize("method", get_args(CharacteristicMethod))
def test_each_method_of_a_characteristic_value_is_on_the_page(method: str) -> None:
    """Pooling is told with its key."""
    assert f'"{method}"' in PAGE


@pytest.mark.parametrize("key", METHOD_KEYS)
def test_each_key_of_a_method_is_on_the_page(key: str) -> None:
    """Keys that belong to methods."""
    assert f"{key} = " in PAGE
