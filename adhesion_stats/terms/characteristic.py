"""The method of a characteristic value, as criteria and the report ask for it.

Imports: terms.
"""

from __future__ import annotations

from collections.abc import Mapping

from adhesion_stats.terms.checker import Checker
from adhesion_stats.terms.specification import CharacteristicAsked

__all__ = ["METHOD_KEYS", "method_asked"]

METHOD_KEYS = ("method", "content", "confidence", "known_cov", "known_sd")


def method_asked(check: Checker, table: Mapping[str, object], path: str) -> CharacteristicAsked | None:
    """The method of a characteristic value and what it needs."""
    method = check.choice(table, "method", f"{path}.method", ("tolerance", "en1990-unknown", "en1990-known"))
    if "method" not in table:
        check.problem("spec_missing_key", f"{path}.method", what='"tolerance", "en1990-unknown" or "en1990-known"')
    content = check.level(table, "content", f"{path}.content")
    confidence = check.level(table, "confidence", f"{path}.confidence")
    cov = check.number(table, "known_cov", f"{path}.known_cov", above_zero=True)
    sd = check.strength(table, "known_sd", f"{path}.known_sd")
    if method is None:
        return None
    allowed = {"tolerance": ("content", "confidence"), "en1990-known": ("known_cov", "known_sd")}.get(method, ())
    for name in ("content", "confidence", "known_cov", "known_sd"):
        if name in table and name not in allowed:
            check.problem("spec_key_without_use", f"{path}.{name}", method=method)
    if method == "tolerance":
        for name in allowed:
            if name not in table:
                check.problem("spec_missing_key", f"{path}.{name}", what="a share between 0 and 1")
        return CharacteristicAsked("tolerance", content, confidence)
    if method == "en1990-unknown":
        return CharacteristicAsked("en1990-unknown")
    if ("known_cov" in table) == ("known_sd" in table):
        check.problem("spec_one_kind", path, found=(), known=("known_cov", "known_sd"))
    return CharacteristicAsked("en1990-known", known_cov=cov, known_sd=sd)
