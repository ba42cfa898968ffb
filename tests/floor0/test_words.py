"""Every message that the package can make has its sentence, and text from files stays text."""

from __future__ import annotations

import ast
import re
from pathlib import Path

import adhesion_stats
from adhesion_stats.messages import Message, Place
from adhesion_stats.wording import SENTENCES, say, say_with_place

PACKAGE = Path(adhesion_stats.__file__).parent


MAKERS = {"Message", "problem", "say", "_say"}  # what a code is handed to


def literal_codes() -> set[str]:
    """Codes written as the first argument of one of ``MAKERS`` anywhere in the package."""
    found: set[str] = set()
    for path in PACKAGE.rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if not isinstance(node, ast.Call) or not node.args:
                continue
            name = node.func.id if isinstance(node.func, ast.Name) else getattr(node.func, "attr", "")
            code = node.args[0]
            if name in MAKERS and isinstance(code, ast.Constant) and isinstance(code.value, str):
                found.add(code.value)
    return found


def test_every_code_has_a_sentence() -> None:
    """No message is without words."""
    codes = literal_codes()
    assert len(codes) > 60
    assert codes - set(SENTENCES) == set()


def test_doubts_are_said_in_words() -> None:
    """The codes of doubts about a value are spelled out where a reader meets them."""
    message = Message("reason_disputed", facts={"doubts": ("load_strength_disagree", "zero_strength")})
    assert "load and strength disagree, zero" in say(message)


def test_control_characters_are_shown_not_sent() -> None:
    """A terminal escape in a zone name is printed as text."""
    message = Message("zone_without_counted", place=Place("a\x1b[31m.csv"), facts={"zone": "Z\x1b]0;x\x07", "made": 3})
    text = say_with_place(message)
    assert "\x1b" not in text
    assert "\\x1b[31m" in text


def test_braces_in_a_name_are_text() -> None:
    """A zone called {made} is not filled in."""
    assert "{made}" in say(Message("zone_without_counted", facts={"zone": "{made}", "made": 3}))


def test_one_row_is_singular_and_text_of_a_file_is_left_alone() -> None:
    """``[row was|rows were]`` follows the fact count; brackets and bars in texts of a file are no such choice."""
    one = Message("value_missing", facts={"count": 1, "found": ('4: "[a|b]"',), "measured": 2, "total": 3})
    two = Message("value_missing", facts={"count": 2, "found": ("4-5",), "measured": 1, "total": 3})
    assert say(one).startswith('1 row without a value: row 4: "[a|b]".')
    assert say(two).startswith("2 rows without a value: rows 4-5.")


def test_no_sentence_leaves_its_number_open() -> None:
    """No "(s)"; and every choice between one and many has two sides."""
    for code, text in SENTENCES.items():
        assert "(s)" not in text, code
        assert text.count("|") == len(re.findall(r"\[[^\[\]|]*\|[^\[\]|]*\]", text)), code


def test_no_sentence_puts_a_count_of_nought_in_brackets() -> None:
    """Where a zone's own values are all known, each sentence on what is not known says so in other words."""
    facts = dict.fromkeys(re.findall(r"{(\w+)}", " ".join(SENTENCES.values())), "x")
    wanted = {code for code in SENTENCES if "({unknown}" in SENTENCES[code] and not code.startswith("needs_")}
    assert len(wanted) > 40
    for code in sorted(wanted):
        for where, words in (("pool", "share the standard deviation"), ("failure", "what broke")):
            text = say(Message(code, facts={**facts, "unknown": 0, "n": 5, "elsewhere": where}))
            assert "(0" not in text, code
            assert words in text or "Whichever of them" in text, code
        assert "(2" in say(Message(code, facts={**facts, "unknown": 2, "n": 5})), code
