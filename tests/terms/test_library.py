"""Published rules and methods: each shipped number against the table of its marks, and the parser's word on each file.

``marks.csv`` holds every shipped number with its mark as found in the trade notes that the project was started with:
``[S..]`` seen in the document or an extract of it, ``[S..*]`` on a page that reports it, ``[mem-H]`` and ``[mem-M]``
from memory with high or medium confidence, no source seen. ``[mem-L]``, low confidence, does not ship. Tolerances are
noted there as such: 35 +/- 15 kPa/s, 5 +/- 2 psi/s, 0.05 +/- 0.01 MPa/s, 13 +/- 3 mm, 250 +/- 50 N/s on 50 mm square.
"""

from __future__ import annotations

import csv
import re
from pathlib import Path

import pytest

from adhesion_stats.locate import packaged
from adhesion_stats.terms.library import Published, leaves, library, looked_up, nearest, read_document
from adhesion_stats.terms.parse import parse_specification
from tests.terms.using import specification_with

MARKS = Path(__file__).with_name("marks.csv")
_SURE = {"verified": r"(\[S\d\d\])+", "secondary": r"(\[S\d\d\*\])+", "unverified": r"\[mem-[HM]\]"}


def shipped() -> list[tuple[str, str, str, str, str, str]]:
    """File, name, key, value, how sure and where seen of every number that ships."""
    found: list[tuple[str, str, str, str, str, str]] = []
    for one in library().values():
        found += [(one.file, one.name, n.key, n.value, n.sure, n.seen) for n in one.numbers]
        found += [(one.file, one.name, f"also: {a.what}", a.value, a.sure, a.seen) for a in one.also]
    return found


def marks() -> dict[tuple[str, ...], tuple[str, str]]:
    """(file, name, key, value) -> mark and source."""
    with MARKS.open(encoding="utf-8", newline="") as file:
        rows = list(csv.reader(file))[1:]
    assert len({tuple(row[:4]) for row in rows}) == len(rows)
    return {tuple(row[:4]): (row[4], row[5]) for row in rows}


def test_every_number_has_its_mark_and_every_mark_its_number() -> None:
    """No number ships without a mark, and none with another value than the one that was marked."""
    assert {row[:4] for row in shipped()} == set(marks())


def test_how_sure_a_number_is_said_to_be_follows_from_its_mark() -> None:
    """Verified where the document was seen, secondary where a page reports it; the source is the marked one."""
    table = marks()
    for *number, sure, seen in shipped():
        mark, source = table[tuple(number)]
        assert re.fullmatch(_SURE[sure], mark), (number, sure, mark)
        assert seen == source, number


def test_no_number_of_low_confidence_ships() -> None:
    """The mark [mem-L] stands nowhere, nor does any mark that is not known."""
    assert not [row for row, (mark, _) in marks().items() if "mem-L" in mark]


@pytest.mark.parametrize("name", list(library()))
def test_every_rule_is_read_by_the_parser_of_specifications(name: str) -> None:
    """With its holes filled by their examples each one makes a specification, and what it asks is what stands there."""
    one = library()[name]
    terms = parse_specification(specification_with(one).encode(), file="specification.toml")
    (used,) = terms.uses
    assert used.published is one
    assert [number.instead for number in used.numbers] == [None] * len(one.numbers)
    assert bool(used.to_confirm) == any(number.sure != "verified" for number in one.numbers)


def test_files_are_named_for_document_and_edition() -> None:
    """One document and edition a file, and no file of another kind in the folders."""
    seen = {(one.file, one.document, one.edition) for one in library().values()}
    assert len({file for file, _, _ in seen}) == len(seen)
    paths = [path for folder in ("published", "methods") for path in packaged("terms", folder).iterdir()]
    assert {f"{path.parent.name}/{path.name}" for path in paths} == {file for file, _, _ in seen}


def test_editions_stand_side_by_side() -> None:
    """NBR 13749: 4 of 6 in the edition of 1996, 8 of 12 in that of 2013, and each names the other."""
    old, new = library()["NBR 13749:1996 external"], library()["NBR 13749:2013 external"]
    values = [[dict(leaves(one.fragment))[f"require.{key}"] for key in ("at_least", "of")] for one in (old, new)]
    assert values == [[4, 6], [8, 12]]
    assert (old.replaced_by, new.replaces) == ("NBR 13749:2013", "NBR 13749:1996")


def test_names_are_found_without_regard_to_case_and_signs() -> None:
    """A name, or a document with or without its edition; a name that is none is told the nearest."""
    assert [one.name for one in looked_up("en 1504-3 2005 r4")] == ["EN 1504-3:2005 R4"]
    assert len(looked_up("EN 1504-3:2005")) == 3
    assert looked_up("EN 99999") == ()
    assert nearest("EN 1504-3 R4")[0] == "EN 1504-3:2005 R4"
    assert nearest("ISO 4624", kind="rule") != nearest("ISO 4624", kind="method")


_FILE = """document = "D"
edition = "1"
title = "t"
[[number]]
keys = ["require.mean_at_least"]
clause = ""
sure = "secondary"
seen = "somewhere"
[[rule]]
name = "D:1"
about = "a"
[rule.require]
mean_at_least = "1.0 MPa"
"""


def read(text: str) -> tuple[Published, ...]:
    """The rules of a file."""
    return read_document(text.encode(), file="published/d.toml", kind="rule")


def test_a_file_of_the_right_form_is_read() -> None:
    """The file that the next test spoils."""
    assert read(_FILE)[0].sure == "secondary"


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ('["require.mean_at_least"]', "[]", "no account of the source of require.mean_at_least"),
        ('about = "a"\n', 'about = "a"\n[rule.glue]\nfrom = "50 %"\n', "unknown keys: glue"),
        ("secondary", "sure", "is none of verified"),
        ('"somewhere"', '""', "exactly where nothing was seen"),
        ("secondary", "unverified", "exactly where nothing was seen"),
        ("1.0 MPa", "by contract", "needs a .*hole"),
        ('["require.mean_at_least"]', '["require.mean_at_least", "require.of"]', "no rule has: require.of"),
        ('edition = "1"\n', "", 'expected a text for "edition"'),
        ('name = "D:1"', 'naem = "D:1"', "unknown keys: naem"),
    ],
)
def test_a_file_that_departs_from_its_form_is_refused(old: str, new: str, says: str) -> None:
    """A value without source, a source without value, a hole without words: each is a fault of the package."""
    assert old in _FILE
    with pytest.raises(ValueError, match=says):
        read(_FILE.replace(old, new, 1))
