"""A layout file as the command writes it: what was understood, and, as lines to choose from, what is left open.

Which key decides a finding stands here; the words of the findings are those of ``wording``. Text of the readings
file stands in comments and quoted texts only, so that the result is always readable TOML.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence

from adhesion_stats.messages import Fact, Message, Severity, worst_first
from adhesion_stats.terms.layout import Layout, Question
from adhesion_stats.wording import say_with_place

__all__ = ["DECIDED_BY", "layout_text"]

_Choice = str | bool | tuple[str, ...] | tuple[int, ...]
_Choices = tuple[_Choice, ...]
_Keys = dict[tuple[str, str], _Choices]  # (table or "", key) -> values

_USUAL_UNITS: Mapping[str, _Choices] = {
    "strength": ("MPa", "kPa", "psi", "kgf/cm²"),
    "load": ("kN", "N", "lbf", "kgf"),
}
_CODES: _Choices = ("A", "A/B", "B", "-/Y", "Y", "Y/Z")
_LONGEST_WORD = 40


def _texts(fact: Fact) -> tuple[str, ...]:
    return fact if isinstance(fact, tuple) else (str(fact),)


def _rows(fact: Fact) -> tuple[int, ...]:
    """Row numbers of ``4-6, 9``."""
    rows: list[int] = []
    for part in str(fact).split(", "):
        first, _, last = part.partition("-")
        rows += range(int(first), int(last or first) + 1)
    return tuple(rows)


def _unit(facts: Mapping[str, Fact]) -> _Keys:
    field = str(facts["field"])
    return {("units", field): _USUAL_UNITS.get(field) or _texts(facts["example"])}


def _sheets(facts: Mapping[str, Fact]) -> _Keys:
    return {("", "sheet"): _texts(facts["sheets"])}


def _zones(facts: Mapping[str, Fact]) -> _Keys:
    first, others = str(facts["first"]), _texts(facts["others"])
    return {("zones", first): (others,), **{("zones", other): ((other,),) for other in others}}


def _leave_out(facts: Mapping[str, Fact]) -> _Keys:
    rows = _rows(facts["rows"])
    return {("", "leave_out_rows"): (rows,), ("", "keep_rows"): (rows,)}


def _columns(facts: Mapping[str, Fact]) -> _Keys:
    return {("columns", str(facts["key"])): _texts(facts["numbers"])}


def _failure_words(facts: Mapping[str, Fact]) -> _Keys:
    """Each word that was not understood, where it is one (a text with digits is rather a composition)."""
    quoted = (re.search(r'^[^"]*: "(.*)"$', found) for found in _texts(facts["found"]))
    words = dict.fromkeys(found[1] for found in quoted if found is not None)
    short = [text for text in words if len(text) <= _LONGEST_WORD and not any(c.isdigit() for c in text)]
    return {("failure_words", text): _CODES for text in short}


def _legend(facts: Mapping[str, Fact]) -> _Keys:
    return {("", "failure_letters"): ("EN 1542",), ("failure_words", str(facts["letter"])): _CODES}


def _always(key: str, *choices: _Choice) -> Callable[[Mapping[str, Fact]], _Keys]:
    return lambda _: {("", key): choices}


# Code of a finding -> the keys that decide it, with the values to choose from.
DECIDED_BY: Mapping[str, Callable[[Mapping[str, Fact]], _Keys]] = {
    "ambiguous_number": lambda facts: {("", "decimal"): (str(facts["mark"]), str(facts["other"]))},
    "date_ambiguous": lambda facts: {
        ("", "date_order"): ("DMY", "MDY", "YMD") if facts["year_first"] else ("DMY", "MDY")
    },
    "date_serial": _always("date_order", "serial", "serial 1904"),
    "encoding_assumed": _always("encoding", "cp1250", "cp1252"),
    "encoding_unreadable": _always("encoding", "cp1250", "cp1252"),
    "example_row": _leave_out,
    "failure_legend": _legend,
    "failure_letters_unknown": lambda facts: {("", "failure_letters"): ("EN 1542",), **_failure_words(facts)},
    "failure_scheme": _always("failure_letters", "C1583", "EN 1542"),
    "failure_unclear": _failure_words,
    "form_rows_left_out": lambda facts: {("", "keep_rows"): (_rows(facts["rows"]),)},
    "hidden_sheet_not_read": _sheets,
    "implausible_strength": _always("plausible", False),
    "implausible_unit": lambda facts: {**_unit(facts), ("", "plausible"): (False,)},
    "instrument_missing": lambda facts: {("", "instrument"): _texts(facts["known"])},
    "label_or_id": _leave_out,
    "lone_value": _leave_out,
    "only_hidden_sheet": _sheets,
    "proof_unclear": _always("proof_held", True, False),
    "proof_without_result": _always("proof_held", True, False),
    "same_heading_twice": _columns,
    "several_columns": _columns,
    "several_sheets": lambda facts: {("", "sheet"): (*_texts(facts["sheets"]), "all")},
    "size_missing": _always("diameter", "50 mm", "20 mm", "2 in"),
    "size_without_unit": lambda facts: {("units", str(facts["field"])): ("in", "cm")},
    "summary_rows_left_out": lambda facts: {("", "keep_rows"): (_rows(facts["rows"]),)},
    "unit_missing": _unit,
    "unlabelled_mean": _leave_out,
    "zone_missing": _always("carry_zone_down", True),
    "zone_perhaps": lambda facts: {("columns", "zone"): (str(facts["heading"]),), ("", "zone"): (str(facts["zone"]),)},
    "zone_or_mean": _leave_out,
    "zone_spellings": _zones,
}


def layout_text(layout: Layout, messages: Sequence[Message]) -> str:
    """Return a layout file as text: the layout with its evidence, and what is open in it.

    Parameters
    ----------
    layout
        As understood, with evidence.
    messages
        What was said about the readings. What a key decides stands at that key with the values to choose from; other
        errors and warnings stand at the head.
    """
    questions: dict[tuple[str, str], tuple[Question, ...]] = {}
    others: list[str] = []
    for message in worst_first(tuple(messages)):
        text = say_with_place(message)
        decide = DECIDED_BY.get(message.code)
        decided = decide(message.facts) if decide is not None else {}
        if decided and message.severity is not Severity.NOTE:
            for key, choices in decided.items():
                questions[key] = (*questions.get(key, ()), Question(text, choices, message.severity is Severity.ERROR))
        elif message.severity is not Severity.NOTE:
            others.append(f"{message.severity.value}: {text}")
    head: list[str] = []
    if any(message.severity is Severity.ERROR for message in messages):
        head += ["The file can't be used as it stands: see what is said below."]
    if questions:
        head += ["Lines under the word OPEN are choices: take the number sign away from one, after making sure."]
    if others:
        head += ["", "Said about the file besides:", *others]
    return layout.to_toml(head=tuple(head), questions=questions)
