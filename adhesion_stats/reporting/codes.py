"""Places of failure in one order everywhere: from the substrate outwards (A, A/B, B, B/C, ..., -/Y, Y, Y/Z, Z)."""

from __future__ import annotations

from collections.abc import Iterable

__all__ = ["in_order"]


def _depth(code: str) -> tuple[int, str]:
    first, _, second = code.partition("/")
    if first == "-":
        return 2 * ord(second[:1] or "Y") - 1, code
    return 2 * ord(first[:1] or "Z") + bool(second), code


def in_order(codes: Iterable[str]) -> list[str]:
    """The codes without repetition, from the substrate outwards (ISO 4624 letters)."""
    return sorted(set(codes), key=_depth)
