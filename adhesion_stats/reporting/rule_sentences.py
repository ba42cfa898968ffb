"""A rule in its own words: the tree of requirements from ``planning.rule_facts`` as one sentence. Plain text."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from adhesion_stats.quantities import decimal_text
from adhesion_stats.reporting.terminal import visible
from adhesion_stats.reporting.words import WORDS, word

__all__ = ["rule_sentence"]

Facts = Mapping[str, Any]


def rule_sentence(rule: Facts) -> str:
    """Return what the rule asks, criteria in the order in which they are written."""
    if "all_of" in rule:
        return word("rule_all_join").join(_part(part) for part in rule["all_of"])
    return _part(rule)


def _part(rule: Facts) -> str:
    if "all_of" in rule:
        return f"({word('rule_and').join(_part(part) for part in rule['all_of'])})"
    if "any_of" in rule:
        ways: Sequence[str] = [_part(part) for part in rule["any_of"]]
        return word("rule_either").format(first=ways[0], others=word("rule_or").join(ways[1:]))
    return _criterion(rule)


def _criterion(asked: Facts) -> str:
    """One criterion; what it asks of an interface or a layer names that."""
    numbers: dict[str, object] = {
        "limit": ", ".join(visible(text) for text in asked["limits"]),
        "z": asked.get("z"),
        "of": asked.get("of"),
        "sense": word("rule_at_most" if asked["sense"] == "at most" else "rule_at_least"),
        "value": f"{decimal_text(asked['value'], asked['places'])} {asked['unit']}".strip(),
        "k": _k(asked.get("k")),
        "percent": _number(asked.get("percent")),
        "codes": _codes(asked.get("codes") or ()),
        "from": _number(asked.get("from_percent")),
        "depth": _depth(asked.get("depth")),
        "cases": _cases(asked),
        "method": _method(asked),
    }
    text = word(f"rule_{asked['kind']}").format(**numbers)
    if asked.get("unless"):
        text += word("rule_unless").format(**_failed(asked["unless"]))
    if asked.get("only"):
        text += word("rule_only").format(**_failed(asked["only"]))
    if asked.get("alike_from") is not None:
        text += word("rule_alike").format(percent=_number(asked["alike_from"]))
    if asked["question"] is not None:
        text = word("rule_of").format(what=text, code=visible(asked["question"]))
    return text


def _failed(failed: Facts) -> dict[str, str]:
    return {
        "codes": _codes(failed["codes"]),
        "percent": _number(failed["from_percent"]),
        "depth": _depth(failed["depth"]),
    }


def _codes(codes: Sequence[str]) -> str:
    return " + ".join(visible(code) for code in codes)


def _depth(text: str | None) -> str:
    return word("rule_depth").format(depth=visible(text)) if text else ""


def _k(k: float | None) -> str:
    return word("rule_k_by_n") if k is None else _number(k)


def _number(value: float | None) -> str:
    return "" if value is None else f"{value:g}"


def _cases(asked: Facts) -> str:
    cases = [
        word("rule_case").format(limit=visible(case["limit"]), **_failed(case["failed"]))
        for case in asked.get("cases") or ()
    ]
    if asked.get("otherwise"):
        cases.append(word("rule_otherwise").format(limit=visible(asked["otherwise"])))
    return ", ".join(cases)


def _method(asked: Facts) -> str:
    """The method of a characteristic value with its levels, in brackets."""
    method = asked.get("method")
    if method is None:
        return ""
    name = WORDS[f"rule_method_{method}"]
    levels = []
    if asked.get("content") is not None:
        levels.append(word("rule_content").format(percent=_number(100.0 * asked["content"])))
    if asked.get("confidence") is not None:
        levels.append(word("rule_confidence").format(percent=_number(100.0 * asked["confidence"])))
    if asked.get("known_cov") is not None:
        levels.append(word("rule_known_cov").format(percent=_number(100.0 * asked["known_cov"])))
    if asked.get("known_sd") is not None:
        levels.append(word("rule_known_sd").format(sd=visible(asked["known_sd"])))
    return f"({', '.join([name, *levels])})"
