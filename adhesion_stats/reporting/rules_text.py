"""Published rules and methods for readers: the list, one of them whole, both as JSON, and the page docs/rules.md.

Reads the library of ``terms``; nothing is computed here.
"""

from __future__ import annotations

import json
import textwrap
from collections.abc import Iterable, Mapping

from adhesion_stats.errors import WrongUsage
from adhesion_stats.terms.library import (
    BY_CONTRACT,
    Also,
    Number,
    Published,
    leaves,
    library,
    looked_up,
    nearest,
    shown,
)
from adhesion_stats.wording.rules import RULES

__all__ = ["asked_in_a_line", "rules_json", "rules_page", "rules_text"]

_WIDTH = 100
_KINDS = ("rule", "method")


def asked_in_a_line(one: Published) -> str:
    """What it asks, in one line: each key of its fragment with its value.

    >>> asked_in_a_line(library()["ACI 548.8M-19"])
    'required 3, mean at least 1.7 MPa'
    """
    parts = []
    for key, value in leaves(one.fragment):
        name = key.rpartition(".")[2].replace("_", " ")
        said = RULES["by_contract"] if value == BY_CONTRACT else _spoken(value)
        parts.append(f"{name} {said}")
    return ", ".join(parts)


def _spoken(value: object) -> str:
    """A value in words; a span of two ends reads from one to the other."""
    if isinstance(value, list) and len(value) == 2 and all(isinstance(end, str) for end in value):
        low, high = value
        if "any" in value:
            return f"{high} at most" if low == "any" else f"{low} or more"
        if any(end[:1].isdigit() for end in value):
            return f"{low} to {high}"
    return shown(value)


def _chosen(name: str | None) -> tuple[Published, ...]:
    """The rules that a reader asks for. Raises ``WrongUsage`` with the nearest names."""
    if name is None:
        return tuple(library().values())
    found = looked_up(name)
    if not found:
        near = ", ".join(f'"{other}"' for other in nearest(name)) or RULES["none_near"]
        raise WrongUsage(RULES["unknown"].format(name=name, near=near))
    return found


def rules_text(name: str | None) -> str:
    """Return the list (``None``), or each rule of that name or document whole. Raises ``WrongUsage``."""
    chosen = _chosen(name)
    if name is not None:
        return "\n\n".join(_whole(one) for one in chosen)
    lines: list[str] = []
    for kind in _KINDS:
        lines += [RULES[kind], ""]
        for one in chosen:
            if one.kind == kind:
                lines += [
                    one.name,
                    *_indented(f"{one.document}, {one.edition}. {asked_in_a_line(one)}. [{one.sure}]"),
                    "",
                ]
    return "\n".join([*lines, *textwrap.wrap(RULES["caution"], _WIDTH), RULES["more"]])


def _indented(text: str, lead: str = "  ") -> list[str]:
    return textwrap.wrap(text, _WIDTH, initial_indent=lead, subsequent_indent="  ", break_on_hyphens=False)


def _account(number: Number | Also) -> str:
    place = number.clause or RULES["place_unknown"]
    return f"{place}; {RULES[number.sure]}" + (f" ({number.seen})" if number.seen else "")


def _whole(one: Published) -> str:
    lines = [one.name, "=" * len(one.name), *_indented(f"{one.document}, {one.edition}: {one.title}", "")]
    for word, text in (
        ("for", one.about),
        ("asks", asked_in_a_line(one)),
        ("sure", RULES[one.sure]),
        ("replaces", one.replaces),
        ("replaced_by", one.replaced_by),
    ):
        lines += textwrap.wrap(f"{RULES[word]}: {text}", _WIDTH, subsequent_indent="  ") if text else []
    open_ = [number.key for number in one.numbers if number.sure != "verified"]
    for word, items in (
        ("numbers", [f"{number.key} = {number.value}: {_account(number)}" for number in one.numbers]),
        ("holes", [f"{hole.key}: {hole.what}" for hole in one.holes]),
        ("also", [f"{also.what}: {also.value}. {_account(also)}" for also in one.also]),
        ("notes", list(one.notes)),
        ("must_confirm", open_ or [RULES["nothing_to_confirm"]]),
    ):
        if items:
            lines += ["", f"{RULES[word]}:", *(line for item in items for line in _indented(item, "- "))]
    return "\n".join(
        [*lines, "", f"{RULES['paste']}:", "", _fragment(one), "", *textwrap.wrap(RULES["caution"], _WIDTH)]
    )


def _fragment(one: Published) -> str:
    """Lines of a specification that use it, with an example in each hole."""
    lines = ["[[require]]" if one.kind == "rule" else "[method]", f'use = "{one.name}"']
    if one.sure != "verified":
        lines.append(f'# confirmed = "{RULES["confirm"]}"')
    tables: dict[str, list[str]] = {}
    for hole in one.holes:
        table, _, rest = hole.key.partition(".")
        value = str(hole.example) if isinstance(hole.example, int) else f'"{hole.example}"'
        tables.setdefault(table, []).append(f"{rest.rpartition('.')[2]} = {value}  # {hole.what}")
    lines += tables.pop("require", []) + tables.pop("method", [])
    for table, keys in tables.items():
        lines += ["", f"[{table}]", *keys]
    return "\n".join(lines)


def _plain(one: Published) -> Mapping[str, object]:
    return {
        "name": one.name,
        "kind": one.kind,
        "document": one.document,
        "edition": one.edition,
        "title": one.title,
        "about": one.about,
        "asks": asked_in_a_line(one),
        "sure": one.sure,
        "replaces": one.replaces or None,
        "replaced_by": one.replaced_by or None,
        "fragment": one.fragment,
        "numbers": [_numbers(number, key=number.key) for number in one.numbers],
        "left_to_the_contract": [{"key": hole.key, "what": hole.what, "example": hole.example} for hole in one.holes],
        "also": [_numbers(also, what=also.what) for also in one.also],
        "notes": list(one.notes),
        "to_confirm": [number.key for number in one.numbers if number.sure != "verified"],
        "to_paste": _fragment(one),
    }


def _numbers(number: Number | Also, **named: str) -> dict[str, object]:
    account = {"value": number.value, "clause": number.clause, "sure": number.sure, "seen": number.seen}
    return {**named, **account}


def rules_json(name: str | None) -> str:
    """Return the same as a JSON list of objects. Raises ``WrongUsage``."""
    return json.dumps([_plain(one) for one in _chosen(name)], ensure_ascii=True, indent=2, allow_nan=False)


def rules_page() -> str:
    """Return docs/rules.md."""
    lines = [RULES["page"].format(caution=RULES["caution"])]
    for kind in _KINDS:
        lines += [f"## {RULES[kind]}", "", "| name | document, edition | asks | how sure |", "|---|---|---|---|"]
        lines += _rows(one for one in library().values() if one.kind == kind)
        lines.append("")
    return "\n".join(lines)


def _rows(rules: Iterable[Published]) -> list[str]:
    rows = []
    for one in rules:
        newer = f"; replaced by {one.replaced_by}" if one.replaced_by else ""
        cells = (f"`{one.name}`", f"{one.document}, {one.edition}{newer}", asked_in_a_line(one), one.sure)
        rows.append(f"| {' | '.join(cells)} |")
    return rows
