"""Formulas with the numbers put in: for each criterion how its value was formed, for each summary too."""

from __future__ import annotations

from adhesion_stats.reporting.model import Block, Equation, Fraction, Number, Root, Symbol, Token
from adhesion_stats.reporting.numbers import Scale, count, measure, percent
from adhesion_stats.reporting.results import Characteristic, Criterion, Summary, Zone
from adhesion_stats.reporting.sections.parts import asked_number, criterion_line, limit_text, ratio, strength_found
from adhesion_stats.reporting.sections.uncertainty import conformity_tokens
from adhesion_stats.reporting.words import word

__all__ = ["criterion_equations", "summary_equations"]


_RATIOS = {"quality index", "share below", "cov", "smallest of mean"}
_LOGS = (Symbol("y", bar=True), "−", Symbol("k"), "·", Symbol("s", "y"))


def criterion_equations(zone: Zone, scale: Scale) -> list[Block]:
    """One formula for each criterion whose value is known exactly and formed from values of this zone."""
    found: list[Block] = []
    for criterion in zone["criteria"]:
        value = criterion["low"]
        if value is None or value != criterion["high"] or not criterion["n"]:
            continue
        left = _formed(criterion, value, scale)
        if left:
            met = criterion["outcome"] == "conforms"
            name = "".join(str(part) for part in criterion_line(criterion))
            sure = conformity_tokens(criterion, value, scale)
            found.append(Equation(name, (*left, *(sure or _against(criterion, met=met))), criterion["source"]))
    return found


def _formed(criterion: Criterion, value: float, scale: Scale) -> tuple[Token, ...]:
    """How the value of a criterion was formed; () for a kind that is explained elsewhere."""
    n, total = criterion["n"], criterion["total"]
    by_failure = criterion["by_failure"]
    if by_failure is not None and by_failure["role"] == "only":
        n = by_failure["sure"] or n
    if by_failure is not None and by_failure["role"] == "each":
        return (Symbol("z"), "=", count(by_failure["sure"] or 0))
    if criterion["kind"] == "mean" and total is not None:
        mean = strength_found(criterion, value, scale)
        return (*_sum_over_n("x", scale.strength(total), n), mean)
    if criterion["kind"] == "smallest":
        return (Symbol("x", "min"), "=", strength_found(criterion, value, scale))
    if criterion["kind"] == "characteristic":
        return (Symbol("f", "k"), "=", strength_found(criterion, value, scale))
    return _of_spread(criterion, value, scale) or _of_areas(criterion, value)


def _of_spread(criterion: Criterion, value: float, scale: Scale) -> tuple[Token, ...]:
    """How a value with a standard deviation, or beside the mean, was formed; () for other kinds."""
    kind, asked = criterion["kind"], criterion.get("asked")
    bar, s, least = Symbol("x", bar=True), Symbol("s"), Symbol("x", "min")
    if kind in {"count", "share of pulls", "held"}:  # the value that decides, by its rank from the smallest
        return (
            least if kind == "held" else Symbol("x", f"({(criterion['n'] - (criterion['z'] or 0)) + 1})"),
            "=",
            strength_found(criterion, value, scale),
        )
    if kind == "mean less sd" and criterion["k"] is not None:
        return (bar, "−", measure(criterion["k"], 3), "·", s, "=", strength_found(criterion, value, scale))
    if asked is None:
        return ()
    number = ratio(value, asked)
    if kind == "quality index":
        return (Symbol("Q"), "=", Fraction((bar, "−", limit_text(criterion)), (s,)), "=", number)
    if kind == "share below":
        return (Symbol("p"), "(", Symbol("Q"), ",", Symbol("n"), ")", "=", number)
    if kind == "cov":
        return (Fraction((s,), (bar,)), "=", number)
    return (Fraction((least,), (bar,)), "=", number) if kind == "smallest of mean" else ()


def _of_areas(criterion: Criterion, value: float) -> tuple[Token, ...]:
    n, total, share = criterion["n"], criterion["total"], criterion["share_limit"]
    if share is not None and total is not None:
        found = percent(value, against=share["percent"])
        if criterion["kind"] == "failure share":
            return (*_sum_over_n("p", percent(total), n), found)
        return (Symbol("p"), "=", Fraction((count(round(total)),), (count(n),)), "=", found)
    return ()


def _sum_over_n(name: str, total: Number, n: int) -> tuple[Token, ...]:
    bar, sum_ = Symbol(name, bar=True), ("Σ", Symbol(name))
    return (bar, "=", Fraction(sum_, (Symbol("n"),)), "=", Fraction((total,), (count(n),)), "=")


def _against(criterion: Criterion, *, met: bool) -> tuple[Token, ...]:
    """The sign that holds, and the limit."""
    share = criterion["share_limit"]
    if share is not None:
        upper = share["sense"] == "at most"
        return (
            ("≤" if upper else "≥", percent(share["percent"]))
            if met
            else (">" if upper else "<", percent(share["percent"]))
        )
    asked = criterion.get("asked")
    if criterion["kind"] in _RATIOS and asked is not None:
        upper = asked["sense"] == "at most"
        return (("≤" if met else ">") if upper else ("≥" if met else "<"), asked_number(asked))
    sign = "≥" if met else "<"
    if criterion["kind"] == "each pull":
        return (sign, count(criterion["n"]))
    return (sign, limit_text(criterion))


def summary_equations(summary: Summary, scale: Scale) -> list[Block]:
    """Interval of the mean and characteristic values, as formulas with the numbers put in."""
    mean, sd, n = summary["mean"], summary["sd"], summary["n"]
    if mean is None or sd is None:
        return []
    m, s = scale.strength(mean), scale.spread(sd)
    found: list[Block] = []
    interval = summary["interval"]
    if interval is not None:
        name = word("v_interval").format(confidence=percent(100 * interval["confidence"]))
        quantile = measure((1 + interval["confidence"]) / 2, 3)
        symbols: tuple[Token, ...] = (
            Symbol("x", bar=True),
            "±",
            Symbol("t"),
            "·",
            Fraction((Symbol("s"),), (Root((Symbol("n"),)),)),
            "=",
            m,
            "±",
            Symbol("t", f"{quantile.text}; {n - 1}"),
            "·",
            Fraction((s,), (Root((count(n),)),)),
            "=",
            scale.strength(interval["low"]),
            word("to"),
            scale.strength(interval["high"], unit=True),
        )
        found.append(Equation(name, symbols))
    found += [_fractile(value, m, s, scale) for value in summary["characteristic"]]
    return found


def _fractile(found: Characteristic, m: Number, s: Number, scale: Scale) -> Equation:
    name = word(f"v_{found['method']}").format(
        content=percent(100 * found["content"]),
        confidence="" if found["confidence"] is None else percent(100 * found["confidence"]),
        fractile=percent(100 * (1 - found["content"])),
        reached=percent(100 * (found.get("reached") or 0.0)),
    )
    value = scale.strength(found["value"], unit=True)
    if found.get("rank") is not None:
        return Equation(name, (Symbol("f", "k"), "=", Symbol("x", f"({found['rank']})"), "=", value), found["source"])
    if found["k"] is None or found["method"] == "en14358-normal":
        return Equation(name, (Symbol("f", "k"), "=", value), found["source"])
    k = measure(found["k"], 3)
    left: tuple[Token, ...] = (Symbol("f", "k"), "=", Symbol("x", bar=True), "−", Symbol("k"), "·")
    tokens: tuple[Token, ...]
    if found["method"] in {"lognormal", "en14358-lognormal"}:
        factor: tuple[Token, ...] = (";", Symbol("k"), "=", k, ";")
        tokens = (Symbol("ln f", "k"), "=", *_LOGS, *factor, Symbol("f", "k"), "=", value)
        return Equation(name, tokens, found["source"])
    if found["known_cov"] is not None:
        cov = measure(found["known_cov"], 3)
        tokens = (*left, Symbol("V"), "·", Symbol("x", bar=True), "=", m, "−", k, "·", cov, "·", m, "=", value)
    elif found["known_sd"]:
        tokens = (*left, Symbol("σ"), "=", m, "−", k, "·", found["known_sd"], "=", value)
    else:
        tokens = (*left, Symbol("s"), "=", m, "−", k, "·", s, "=", value)
    return Equation(name, tokens, found["source"])
