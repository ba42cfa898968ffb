"""Published rules and methods as data: what a document asks, where each number stands, and how sure it is.

They lie in ``terms/published/*.toml`` (rules: what is asked of a zone) and ``terms/methods/*.toml`` (methods: what is
asked of each pull), one file for each document and edition. A file holds::

    document = "EN 1504-3"
    edition = "2005"                    # as the document names it, or what is known of it
    title = "..."                       # in our own words
    replaces = "..."                    # optional: documents or editions, as text
    replaced_by = "..."
    notes = ["..."]

    [[number]]                          # of every rule of the file that has the key; or [[rule.number]] for one rule
    keys = ["require.all_of[1].mean_at_least"]
    clause = "..."                      # place in the document, "" where it is not known
    sure = "secondary"                  # verified, secondary or unverified
    seen = "..."                        # where it was seen; only an unverified number has ""

    [[rule]]
    name = "EN 1504-3:2005 R4"          # what a specification writes behind "use ="
    about = "..."                       # what it is for
    [rule.require]                      # a fragment of a specification; a method has method, glue, rounding, pulls
    all_of = [{ mean_at_least = "2.0 MPa" }, { smallest_at_least = "by contract" }]
    [[rule.hole]]                       # what the contract must say
    key = "require.all_of[2].smallest_at_least"
    what = "..."
    example = "1.5 MPa"
    [[rule.also]]                       # what the document says besides and no key of a specification can hold
    what = "..."
    value = "..."
    clause, sure, seen as above

The fragments are read by the parser of specifications (``terms.use`` puts them in); this module only finds them and
keeps the account of their numbers. Imports: locate. Must not import terms.parse or anything above floor 1.
"""

from __future__ import annotations

import difflib
import functools
import re
import tomllib
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Literal, get_args

from adhesion_stats.locate import packaged

__all__ = [
    "BY_CONTRACT",
    "Also",
    "Hole",
    "Number",
    "Published",
    "Sure",
    "leaves",
    "library",
    "looked_up",
    "nearest",
    "read_document",
]

BY_CONTRACT = "by contract"  # in place of a value: the document leaves it to the contract
Sure = Literal["verified", "secondary", "unverified"]
FRAGMENTS = {"rule": ("require",), "method": ("method", "glue", "rounding", "pulls")}
_FOLDERS: tuple[tuple[Literal["rule", "method"], str], ...] = (("rule", "published"), ("method", "methods"))
_OF_A_FILE = ("document", "edition", "title", "replaces", "replaced_by", "notes", "number", "also", "rule")
_OF_A_RULE = ("name", "about", "number", "also", "hole", "notes")


@dataclass(frozen=True, slots=True)
class Number:
    """One value of a fragment: ``key`` as a path in it ("require.all_of[1].mean_at_least"), ``value`` as written."""

    key: str
    value: str
    clause: str
    sure: Sure
    seen: str


@dataclass(frozen=True, slots=True)
class Also:
    """What the document says besides: shown, not checked."""

    what: str
    value: str
    clause: str
    sure: Sure
    seen: str


@dataclass(frozen=True, slots=True)
class Hole:
    """A value that the contract has to give; ``example`` is one that could stand there."""

    key: str
    what: str
    example: object


@dataclass(frozen=True)
class Published:
    """One rule or method of a document. ``fragment`` holds tables of a specification, by name."""

    name: str
    kind: Literal["rule", "method"]
    document: str
    edition: str
    title: str
    about: str
    fragment: Mapping[str, Mapping[str, object]]
    numbers: tuple[Number, ...]
    holes: tuple[Hole, ...]
    also: tuple[Also, ...]
    notes: tuple[str, ...]
    replaces: str
    replaced_by: str
    file: str

    @property
    def sure(self) -> Sure:
        """How sure the least sure number of the fragment is."""
        order = get_args(Sure)
        found = max((order.index(number.sure) for number in self.numbers), default=0)
        return next(word for i, word in enumerate(get_args(Sure)) if i == found)


def leaves(table: Mapping[str, object], path: str = "") -> Iterator[tuple[str, object]]:
    """Yield each value of nested tables with its path, counted from 1 in lists of tables: ``all_of[2].question``.

    A list without tables (such as a span of two quantities) is one value.
    """
    for key, value in table.items():
        here = f"{path}.{key}" if path else key
        if isinstance(value, Mapping):
            yield from leaves(value, here)
        elif isinstance(value, list) and value and all(isinstance(entry, Mapping) for entry in value):
            for i, entry in enumerate(value, 1):
                yield from leaves(entry, f"{here}[{i}]")
        else:
            yield here, value


def shown(value: object) -> str:
    """A value of a fragment as text: lists joined by "to" where they are spans, else by commas."""
    if isinstance(value, list):
        return ", ".join(str(entry) for entry in value)
    if isinstance(value, bool):
        return "true" if value else "false"
    return str(value)


class _Reader:
    """Typed look-ups in one shipped file; what is wrong there is a fault of the package, said as ``ValueError``."""

    def __init__(self, file: str) -> None:
        self.file = file

    def wrong(self, text: str) -> ValueError:
        return ValueError(f"{self.file}: {text}")

    def text(self, table: Mapping[str, object], key: str, *, empty: bool = False) -> str:
        value = table.get(key, "" if empty else None)
        if not isinstance(value, str) or (not empty and not value.strip()):
            raise self.wrong(f'expected a text for "{key}", found {value!r}')
        return value

    def tables(self, table: Mapping[str, object], key: str) -> list[Mapping[str, object]]:
        value = table.get(key, [])
        if not isinstance(value, list) or not all(isinstance(entry, Mapping) for entry in value):
            raise self.wrong(f'expected a list of tables for "{key}"')
        return value

    def texts(self, table: Mapping[str, object], key: str) -> tuple[str, ...]:
        value = table.get(key, [])
        if not isinstance(value, list) or not all(isinstance(entry, str) for entry in value):
            raise self.wrong(f'expected a list of texts for "{key}"')
        return tuple(value)

    def known(self, table: Mapping[str, object], names: Iterable[str]) -> None:
        unknown = set(table) - set(names)
        if unknown:
            raise self.wrong(f"unknown keys: {', '.join(sorted(unknown))}")

    def sure(self, table: Mapping[str, object]) -> tuple[str, Sure, str]:
        """Clause, how sure, where seen."""
        word, seen = self.text(table, "sure"), self.text(table, "seen", empty=True)
        found = next((known for known in get_args(Sure) if known == word), None)
        if found is None:
            raise self.wrong(f'sure = "{word}" is none of {", ".join(get_args(Sure))}')
        if (found == "unverified") != (not seen):
            raise self.wrong(f'a number is unverified exactly where nothing was seen; found "{word}", seen "{seen}"')
        return self.text(table, "clause", empty=True), found, seen


def read_document(content: bytes, *, file: str, kind: Literal["rule", "method"]) -> tuple[Published, ...]:
    """Return the rules (or methods) of one file.

    Raises ``ValueError`` where a value of a fragment has no account of its source, an account has no value, or
    anything else departs from the form in the module's docstring.
    """
    table = tomllib.loads(content.decode("utf-8"))
    reader = _Reader(file)
    reader.known(table, _OF_A_FILE)
    rules = reader.tables(table, "rule")
    if not rules:
        raise reader.wrong("no [[rule]]")
    found = tuple(_rule(reader, table, rule, kind) for rule in rules)
    _all_used(reader, table, found)
    return found


def _rule(
    reader: _Reader, table: Mapping[str, object], rule: Mapping[str, object], kind: Literal["rule", "method"]
) -> Published:
    reader.known(rule, (*_OF_A_RULE, *FRAGMENTS[kind]))
    name = reader.text(rule, "name")
    fragment: dict[str, Mapping[str, object]] = {}
    for part in FRAGMENTS[kind]:
        value = rule.get(part)
        if isinstance(value, Mapping) and value:
            fragment[part] = value
        elif value is not None:
            raise reader.wrong(f'"{name}": expected a table for "{part}"')
    values = dict(leaves(fragment))
    holes = tuple(
        Hole(reader.text(hole, "key"), reader.text(hole, "what"), hole.get("example"))
        for hole in reader.tables(rule, "hole")
    )
    left_open = {key for key, value in values.items() if value == BY_CONTRACT}
    if left_open != {hole.key for hole in holes} or any(hole.example is None for hole in holes):
        raise reader.wrong(f'"{name}": each value "{BY_CONTRACT}" needs a [[rule.hole]] with an example, and no other')
    numbers = _numbers(reader, table, rule, values, name)
    missing = set(values) - left_open - {number.key for number in numbers}
    if missing or not values:
        raise reader.wrong(f'"{name}": no account of the source of {", ".join(sorted(missing)) or "anything"}')
    return Published(
        name=name,
        kind=kind,
        document=reader.text(table, "document"),
        edition=reader.text(table, "edition"),
        title=reader.text(table, "title"),
        about=reader.text(rule, "about"),
        fragment=fragment,
        numbers=numbers,
        holes=holes,
        also=tuple(
            Also(reader.text(one, "what"), reader.text(one, "value"), *reader.sure(one))
            for one in (*reader.tables(table, "also"), *reader.tables(rule, "also"))
        ),
        notes=(*reader.texts(table, "notes"), *reader.texts(rule, "notes")),
        replaces=reader.text(table, "replaces", empty=True),
        replaced_by=reader.text(table, "replaced_by", empty=True),
        file=reader.file,
    )


def _numbers(
    reader: _Reader,
    table: Mapping[str, object],
    rule: Mapping[str, object],
    values: Mapping[str, object],
    name: str,
) -> tuple[Number, ...]:
    """The account of each value, in the order of the fragment; a rule's own account comes before the file's."""
    found: dict[str, Number] = {}
    for own, entries in ((True, reader.tables(rule, "number")), (False, reader.tables(table, "number"))):
        taken = set(found)
        for entry in entries:
            reader.known(entry, ("keys", "clause", "sure", "seen"))
            account = reader.sure(entry)
            for key in reader.texts(entry, "keys"):
                if key not in values or values[key] == BY_CONTRACT:
                    if own:
                        raise reader.wrong(f'"{name}": an account of {key}, which has no value')
                    continue
                if key in found and key not in taken:
                    raise reader.wrong(f'"{name}": two accounts of {key}')
                if key not in taken:
                    found[key] = Number(key, shown(values[key]), *account)
    return tuple(found[key] for key in values if key in found)


def _all_used(reader: _Reader, table: Mapping[str, object], rules: tuple[Published, ...]) -> None:
    """An account for the whole file that no rule of it needs is a slip."""
    used = {number.key for rule in rules for number in rule.numbers}
    for entry in reader.tables(table, "number"):
        idle = [key for key in reader.texts(entry, "keys") if key not in used]
        if idle:
            raise reader.wrong(f"accounts of values that no rule has: {', '.join(idle)}")


def files() -> tuple[tuple[Literal["rule", "method"], Path], ...]:
    """The shipped files, rules first, each folder in the order of names."""
    return tuple((kind, path) for kind, folder in _FOLDERS for path in sorted(packaged("terms", folder).glob("*.toml")))


@functools.cache
def library() -> Mapping[str, Published]:
    """Every shipped rule and method by name, in the order of the files. Raises ``ValueError`` for a file at fault."""
    found: dict[str, Published] = {}
    for kind, path in files():
        for one in read_document(path.read_bytes(), file=f"{path.parent.name}/{path.name}", kind=kind):
            if one.name in found:
                raise ValueError(f'{one.file}: the name "{one.name}" stands in {found[one.name].file} too')
            found[one.name] = one
    return found


def _plain(text: str) -> str:
    return re.sub(r"[\W_]+", " ", text.casefold()).strip()


def looked_up(text: str) -> tuple[Published, ...]:
    """The rules and methods that a reader may mean: those of the name, else of the document (and edition), else none.

    Case and punctuation don't matter here; a specification has to give the name exactly.
    """
    wanted, everything = _plain(text), tuple(library().values())
    if not wanted:
        return ()
    named = tuple(one for one in everything if _plain(one.name) == wanted)
    if named:
        return named
    return tuple(one for one in everything if wanted in {_plain(one.document), _plain(f"{one.document} {one.edition}")})


def nearest(text: str, *, kind: Literal["rule", "method"] | None = None, most: int = 3) -> tuple[str, ...]:
    """The names that look most like ``text``: those that hold all its words first, then those that are spelt alike."""
    names = {_plain(name): name for name, one in library().items() if kind is None or one.kind == kind}
    words = _plain(text).split()
    holding = [plain for plain in names if words and all(word in plain for word in words)]
    alike = difflib.get_close_matches(_plain(text), list(names), n=most, cutoff=0.4)
    return tuple(names[plain] for plain in dict.fromkeys((*holding, *alike)))[:most]
