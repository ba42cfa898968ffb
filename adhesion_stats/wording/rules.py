"""Words of the list of published rules and methods, in the terminal and on the page docs/rules.md."""

from __future__ import annotations

__all__ = ["RULES"]

RULES: dict[str, str] = {
    "rule": "Rules for zones",
    "method": "Test methods",
    "verified": "verified: seen in the source",
    "secondary": "secondary: seen on a page that reports it",
    "unverified": "unverified: no source seen",
    "by_contract": "by contract",
    "place_unknown": "place not known",
    "for": "For",
    "asks": "Asks",
    "sure": "How sure",
    "replaces": "Replaces",
    "replaced_by": "Replaced by",
    "numbers": "Numbers",
    "also": "Also said there; shown, not checked",
    "holes": "Left to the contract",
    "notes": "Notes",
    "paste": "To paste into a specification",
    "confirm": "who, when, where seen",
    "must_confirm": "To be confirmed before it is relied on",
    "nothing_to_confirm": "Nothing: every number was seen in the source.",
    "caution": "The text of most of these documents was not seen. The contract and the document itself govern, and an engineer "
    "decides. A number that is not verified puts every decision on it under reserve until the specification says "
    'confirmed = "who, when, where seen".',
    "more": 'adhesion-stats rules "NAME" shows one whole.',
    "unknown": 'No published rule or method is called "{name}"; nearest: {near}. adhesion-stats rules lists them all.',
    "none_near": "none like it",
    "page": """# Published rules and methods

A specification names one in place of writing it out: `use = "NAME"` in a table `[[require]]` for a rule, in `[method]` for a
method. Keys beside `use` fill what the document leaves to the contract, or stand over its number; the report says so.

{caution}

The table is made from the data of the program by `python -m tests.tooling.rules_page`. `adhesion-stats rules NAME` shows the
clause and source of each number.
""",
}
