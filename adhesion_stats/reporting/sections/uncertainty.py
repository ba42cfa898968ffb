"""Uncertainty of measurement on the page: the budget as stated, the probability of conformity beside a criterion."""

from __future__ import annotations

from adhesion_stats.reporting.model import Block, Column, Fraction, Line, Number, Paragraph, Row, Symbol, Token
from adhesion_stats.reporting.numbers import Scale, chance, measure
from adhesion_stats.reporting.results import Criterion, Results, UncertainComponent
from adhesion_stats.reporting.sections.parts import cell, limit_text, line, table
from adhesion_stats.reporting.words import fill, word

__all__ = ["conformity_lines", "conformity_tokens", "uncertainty_blocks"]

_DIGITS = 3  # significant digits of a standard uncertainty


def conformity_lines(criterion: Criterion) -> tuple[Line, ...]:
    """The probability of conformity; where one is asked, which the reason tells, what the value has to reach."""
    found = criterion["conformity"]
    if found is None:
        return ()
    low, high, limit = found["low"], found["high"], criterion["limit"]
    if low is None or high is None:
        return (line(word("conformity_none"), quiet=True),)
    if found["asked"] is not None:
        if limit is None or found["needed"] is None or found["guard_band"] is None:
            return ()
        needed, guard = (
            measure(value, limit["places"] + 1, limit["unit"]) for value in (found["needed"], found["guard_band"])
        )
        return (Line(fill("conformity_asked", needed=needed, guard=guard), quiet=True),)
    least, most = chance(low, None), chance(high, None)
    if least.text == most.text:
        return (Line(fill("conformity_is", sure=least), quiet=True),)
    return (Line(fill("conformity_between", low=least, high=most), quiet=True),)


def _wanted(asked: float) -> Number:
    """The probability asked for, as it was written."""
    return measure(asked, max(2, len(repr(asked).partition(".")[2])))


def conformity_tokens(criterion: Criterion, value: float, scale: Scale) -> tuple[Token, ...]:
    """The probability of an exact value against the one asked for, with the numbers put in; () where none is."""
    found = criterion["conformity"]
    if found is None or found["asked"] is None or found["low"] is None:
        return ()
    sure, asked, u = found["low"], found["asked"], found["uncertainty"]
    sign = "≥" if criterion["outcome"] == "conforms" else "<"
    end: tuple[Token, ...] = (
        "=",
        chance(sure, asked),
        sign,
        _wanted(asked),
    )
    if u is None or u == 0.0:
        return (";", Symbol("p", "c"), *end)
    more = _more_places(
        u, scale, _DIGITS + 1
    )  # one digit more, and the value to as many, so that who computes it again
    over = (scale.strength(value, more=more), "−", limit_text(criterion))  # gets the probability that is printed
    return (";", Symbol("p", "c"), "=", "Φ", "(", Fraction(over, (scale.strength(u, unit=True, more=more),)), ")", *end)


def _significant(mpa: float, scale: Scale) -> Number:
    """A standard uncertainty, to three significant digits."""
    return scale.strength(mpa, unit=True, more=_more_places(mpa, scale, _DIGITS))


def _more_places(mpa: float, scale: Scale, digits: int) -> int:
    """Places beyond the usual ones at which a strength has so many significant digits; six at most."""
    value = scale.converted(mpa)
    more = 0
    while value * 10.0 ** (scale.places + more) < 10.0 ** (digits - 1) and more < 6:
        more += 1
    return more


def uncertainty_blocks(results: Results, scale: Scale) -> list[Block]:
    """The stated uncertainty, component by component, and what is made of it; nothing where none is stated."""
    found = results["uncertainty"]
    if found is None:
        return []
    source = word("u_source").format(source=found["source"]) if found["source"] else ""
    beside = [criterion["conformity"] for zone in results["zones"] for criterion in zone["criteria"]]
    asked = any(one is not None and one["asked"] is not None for one in beside)
    columns = (Column(word("c_component")), Column(word("c_stated")), Column(word("c_standard"), numeric=True),
               Column(word("c_shared")))  # fmt: skip
    rows = [Row((cell(one["name"]), cell(_stated(one)), cell(_standard(one, scale)), cell(_shared(one)))) for one in
            found["components"]]  # fmt: skip
    return [
        Paragraph(fill("u_head", source=source)),
        table(word("t_uncertainty"), columns, rows, anchor="uncertainty"),
        Paragraph((word("u_shared"), " ", word("u_asked" if asked else "u_not_asked"))),
    ]


def _stated(one: UncertainComponent) -> Line:
    factor = "" if one["coverage_factor"] is None else f"{one['coverage_factor']:g}"
    return Line(fill(f"u_{one['stated_as']}", text=one["text"], factor=factor))


def _standard(one: UncertainComponent, scale: Scale) -> Line:
    if one["standard_share"]:
        percent = 100.0 * one["standard_share"]
        places = 2 if percent >= 1.0 else 3
        return Line(fill("u_of_reading", share=measure(percent, places, "%")))
    return line(_significant(one["standard_mpa"], scale))


def _shared(one: UncertainComponent) -> str:
    return word("u_common" if one["common"] else "u_independent")
