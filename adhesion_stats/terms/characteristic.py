"""The method of a characteristic value, as criteria and the report ask for it.

Imports: terms.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import get_args

from adhesion_stats.terms.checker import Checker
from adhesion_stats.terms.criteria import CharacteristicMethod
from adhesion_stats.terms.specification import CharacteristicAsked

__all__ = ["METHODS", "METHOD_KEYS", "method_asked"]

_KNOWN = ("known_cov", "known_sd")
_LEVELS = ("content", "confidence")
METHOD_KEYS = ("method", *_LEVELS, *_KNOWN, "pooled_over")
_ISO_12491 = (0.75, 0.90, 0.95)  # the confidences that it tabulates


@dataclass(frozen=True, slots=True)
class _Needs:
    """What a method needs: levels; how many of known_cov and known_sd (least, most); whether it may name zones."""

    levels: tuple[str, ...] = ()
    known: tuple[int, int] = (0, 0)
    zones: bool = False


METHODS: dict[CharacteristicMethod, _Needs] = {
    "tolerance": _Needs(_LEVELS),
    "tolerance-known-sd": _Needs(_LEVELS, (1, 1)),
    "pooled": _Needs(_LEVELS, zones=True),
    "lognormal": _Needs(_LEVELS),
    "weibull": _Needs(_LEVELS),
    "order-statistic": _Needs(_LEVELS),
    "en1990-unknown": _Needs(),
    "en1990-known": _Needs(known=(1, 1)),
    "en14358-normal": _Needs(),
    "en14358-lognormal": _Needs(),
    "iso12491": _Needs(("confidence",), (0, 1)),
}


def method_asked(check: Checker, table: Mapping[str, object], path: str) -> CharacteristicAsked | None:
    """The method of a characteristic value and what it needs."""
    names: tuple[CharacteristicMethod, ...] = get_args(CharacteristicMethod)
    written = check.choice(table, "method", f"{path}.method", names)
    if "method" not in table:
        check.problem("spec_missing_key", f"{path}.method", what="one of: " + ", ".join(names))
    content = check.level(table, "content", f"{path}.content")
    confidence = check.level(table, "confidence", f"{path}.confidence")
    cov = check.number(table, "known_cov", f"{path}.known_cov", above_zero=True)
    sd = check.strength(table, "known_sd", f"{path}.known_sd")
    zones = check.zones(table, "pooled_over", f"{path}.pooled_over")
    method = next((name for name in names if name == written), None)
    if method is None:
        return None
    needs = METHODS[method]
    allowed = (*needs.levels, *(_KNOWN if needs.known[1] else ()), *(("pooled_over",) if needs.zones else ()))
    for name in METHOD_KEYS[1:]:
        if name in table and name not in allowed:
            check.problem("spec_key_without_use", f"{path}.{name}", method=method)
    for name in needs.levels:
        if name not in table:
            check.problem("spec_missing_key", f"{path}.{name}", what="a share between 0 and 1")
    given = sum(name in table for name in _KNOWN)
    if needs.known[1] and not needs.known[0] <= given <= needs.known[1]:
        check.problem("spec_one_kind", path, found=(), known=_KNOWN)
    if method == "iso12491" and confidence is not None and confidence not in _ISO_12491:
        expected = "one of: " + ", ".join(f"{level:.2f}" for level in _ISO_12491)
        check.problem("spec_out_of_range", f"{path}.confidence", expected=expected, came=str(confidence))
    return CharacteristicAsked(method, content, confidence, cov, sd, zones or ())
