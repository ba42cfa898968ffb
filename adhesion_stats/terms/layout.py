"""How a readings file is laid out: which column is what, units, decimal mark, date order, what letters mean.

One schema for both directions: a person writes it (all keys optional) to decide what the file leaves open, and the
intake writes what it understood, with the evidence as comments. Data only; the reading happens elsewhere.

::

    sheet = "Deck"                  # worksheet to read, or "all"
    heading_row = 6                 # row (line) of the headings, first row of the file = 1
    separator = ";"                 # of a text file: ; , tab or |
    encoding = "cp1250"             # of a text file
    decimal = ","                   # decimal mark of all text numbers
    date_order = "DMY"              # DMY, MDY, YMD, "serial" or "serial 1904"
    failure_letters = "EN 1542"     # or "C1583"
    diameter = "50 mm"              # tested diameter (or "50 x 50 mm") of pulls without one
    recording_step = "0.01 MPa"
    plausible = false               # switch the plausibility gate off
    carry_zone_down = true          # a blank zone cell means the zone above
    proof_held = true               # proof loads without a result held (false: they are the stress at failure)
    zone = "Deck"                   # zone of every pull, for a file without a zone column
    instrument = "G1"               # of every pull that names none; its certificate stands under [instruments]
    missing = ["x"]                 # further texts that mean "no value"
    leave_out_rows = [17, 18]       # rows that are no pulls
    keep_rows = [19]                # rows that are pulls, though they look like a mean, a limit or a remark

    [columns]                       # field = heading as written
    zone = "formulation"
    strength = "result"

    [units]                         # of numbers that carry no unit
    strength = "MPa"

    [failure_words]                 # words or letters of this file -> code
    wire = "B"

    [zones]                         # zone = spellings that mean it
    "North" = ["north", "NORTH"]

    [instruments."G1"]              # certificates: see adhesion_stats.terms.instruments
    unit = "kN"
    table = [[2, 2.04], [8, 8.10], [16, 16.10]]
"""

from __future__ import annotations

import difflib
import textwrap
from collections.abc import Mapping
from dataclasses import dataclass, field, fields, replace
from types import MappingProxyType

from adhesion_stats.errors import InvalidSpecification
from adhesion_stats.messages import Fact, Message, Place, Severity
from adhesion_stats.pulls import CONDITIONS, LABELS
from adhesion_stats.terms.instruments import Instrument, instrument_of
from adhesion_stats.terms.toml_text import table_of

__all__ = ["COLUMN_FIELDS", "UNIT_FIELDS", "Evidence", "Layout", "Question"]

COLUMN_FIELDS = (
    "zone", "id", "strength", "load", "diameter", "dolly", "area", "failure", "date", "application_date", "unit",
    "bound", "proof", "proof_load", "held",
    "retest_of", "exclusion", "lost", *LABELS, *(name for name in CONDITIONS if name != "dolly_mm"),
)  # fmt: skip
UNIT_FIELDS = (
    "strength",
    "load",
    "proof",
    "proof_load",
    "diameter",
    "dolly",
    "area",
    *(name for name in CONDITIONS if name != "dolly_mm"),
)
_MOST_HINTS = 100  # typos that are told the nearest known key: looking for it takes a while
_CHOICES: dict[str, tuple[str, ...]] = {
    "decimal": (".", ","),
    "date_order": ("DMY", "MDY", "YMD", "serial", "serial 1904"),
    "failure_letters": ("EN 1542", "C1583"),
    "separator": (";", ",", "\t", "|", "none"),
}
_TEXTS = (
    "sheet",
    "separator",
    "encoding",
    "decimal",
    "date_order",
    "failure_letters",
    "diameter",
    "recording_step",
    "zone",
    "instrument",
)
_SWITCHES = ("plausible", "carry_zone_down", "proof_held")
_WIDTH = 110  # of a comment
_TABLES = ("columns", "units", "failure_words")


@dataclass(frozen=True, slots=True)
class Evidence:
    """Why a key of a proposed layout has its value, and what else it could have been."""

    why: str
    instead: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Question:
    """Something that a file leaves open: the question in words, and the values of the key that would decide it.

    ``must``: the file can't be used before it is decided.
    """

    text: str
    choices: tuple[str | bool | tuple[str, ...] | tuple[int, ...], ...]
    must: bool = False


@dataclass(frozen=True)
class Layout:
    """See the module; ``None`` or an empty table means that the file itself decides (or the product asks).

    ``evidence`` (dotted key -> :class:`Evidence`) takes no part in comparisons.
    """

    sheet: str | None = None
    heading_row: int | None = None
    separator: str | None = None
    encoding: str | None = None
    decimal: str | None = None
    date_order: str | None = None
    failure_letters: str | None = None
    diameter: str | None = None
    recording_step: str | None = None
    zone: str | None = None
    instrument: str | None = None
    plausible: bool | None = None
    carry_zone_down: bool | None = None
    proof_held: bool | None = None
    missing: tuple[str, ...] = ()
    leave_out_rows: tuple[int, ...] = ()
    keep_rows: tuple[int, ...] = ()
    columns: Mapping[str, str] = field(default_factory=lambda: MappingProxyType({}))
    units: Mapping[str, str] = field(default_factory=lambda: MappingProxyType({}))
    failure_words: Mapping[str, str] = field(default_factory=lambda: MappingProxyType({}))
    zones: Mapping[str, tuple[str, ...]] = field(default_factory=lambda: MappingProxyType({}))
    instruments: Mapping[str, Instrument] = field(default_factory=lambda: MappingProxyType({}))
    evidence: Mapping[str, Evidence] = field(default_factory=lambda: MappingProxyType({}), compare=False)

    @classmethod
    def from_toml(cls, text: str, *, file: str = "layout.toml") -> Layout:
        """Return the layout written in ``text``. Raises ``InvalidSpecification`` with every problem."""
        try:
            table = table_of(text)
        except ValueError as problem:
            raise InvalidSpecification([_problem(file, "layout_not_toml", problem=str(problem))]) from problem
        return cls.from_mapping(table, file=file)

    @classmethod
    def from_mapping(cls, table: Mapping[str, object], *, file: str = "layout.toml") -> Layout:
        """Return the layout of a parsed table (such as ``[readings]`` of a specification)."""
        problems: list[Message] = []
        known = [f.name for f in fields(cls) if f.name != "evidence"]
        values: dict[str, object] = {}
        for key, value in table.items():
            if key not in known:
                problems.append(_unknown(file, key, known, hint=len(problems) < _MOST_HINTS))
                continue
            if key == "instruments":
                values[key] = _instruments(value, file, problems)
                continue
            wrong = _wrong_type(key, value)
            if wrong:
                problems.append(_problem(file, "layout_wrong_value", key=key, expected=wrong, came=repr(value)))
            elif key in {"missing", "leave_out_rows", "keep_rows"}:
                values[key] = tuple(value)  # type: ignore[arg-type]
            elif key == "zones":
                values[key] = {name: tuple(spellings) for name, spellings in value.items()}  # type: ignore[attr-defined]
            else:
                values[key] = value
        for key, allowed in (("columns", COLUMN_FIELDS), ("units", UNIT_FIELDS)):
            inner = values.get(key, {})
            if isinstance(inner, Mapping):
                wrong_names = [name for name in inner if name not in allowed]
                problems += [
                    _unknown(file, f"{key}.{name}", allowed, hint=i < _MOST_HINTS) for i, name in enumerate(wrong_names)
                ]
        if problems:
            raise InvalidSpecification(problems)
        return cls(**values)  # type: ignore[arg-type]

    def to_toml(
        self, *, head: tuple[str, ...] = (), questions: Mapping[tuple[str, str], tuple[Question, ...]] | None = None
    ) -> str:
        """Return the layout as TOML; evidence and alternatives stand as comments above their lines.

        Parameters
        ----------
        head
            Lines of comment for the head of the file.
        questions
            (table or "", key) -> what the file leaves open there. Each possible value stands as a line of its own,
            behind a number sign: taking that away decides.
        """
        asked = dict(questions or {})
        lines = [
            "# How this readings file was understood. Correct a line and keep the file; lines may be left out.",
            *(part for line in head for part in (_remark("", line) if line else ["#"])),
            "",
        ]
        for f in fields(self):
            value = getattr(self, f.name)
            if isinstance(value, Mapping):
                continue
            lines += self._comments(f.name, value, asked.get(("", f.name), ()))
            if value is not None and value != ():
                lines.append(_set(f.name, value, asked.get(("", f.name), ())))
        for name in ("columns", "units", "failure_words", "zones"):
            table = getattr(self, name)
            open_keys = [key for at, key in asked if at == name and key not in table]
            if table or open_keys:
                lines += ["", f"[{name}]"]
            for key, value in table.items():
                lines += self._comments(f"{name}.{key}", value, asked.get((name, key), ()))
                lines.append(_set(_key(key), value, asked.get((name, key), ())))
            for key in open_keys:
                lines += self._comments(f"{name}.{key}", None, asked[name, key])
        for name, instrument in self.instruments.items():
            lines += ["", f"[instruments.{_key(name)}]"]
            given = ((f.name, getattr(instrument, f.name)) for f in fields(instrument))
            lines += [f"{key} = {_toml(value)}" for key, value in given if value]
        return "\n".join(lines) + "\n"

    def _comments(self, key: str, value: object, questions: tuple[Question, ...]) -> list[str]:
        """What stands above a line: why, what else it could be, and what is open about it."""
        lines: list[str] = []
        reason = self.evidence.get(key)
        unset = value is None or value == ()
        if reason is not None:
            lines += _remark(f"{key}: " if unset else "", reason.why)
            lines += [part for other in reason.instead for part in _remark("  or: ", other)]
        name = _key(key.partition(".")[2] or key)
        for question in questions:
            lines += _remark("OPEN: ", question.text)
            lines += [f"#{name} = {_toml(choice)}" for choice in question.choices if choice != value]
        if questions and not unset:  # TOML takes a key once only
            as_set = "As understood; to be chosen like the others:" if _must(questions) else None
            lines += _remark("", as_set or "If you take one of these, put a number sign before the line that follows.")
        return lines

    def differs_from(self, other: Layout) -> tuple[str, ...]:
        """Return the keys (dotted, in order) that both layouts give and not alike."""
        found: list[str] = []
        for f in fields(self):
            mine, theirs = getattr(self, f.name), getattr(other, f.name)
            if f.name == "evidence":
                continue
            if isinstance(mine, Mapping):
                found += [f"{f.name}.{key}" for key in mine if key in theirs and mine[key] != theirs[key]]
            elif mine not in {None, ()} and theirs not in {None, ()} and mine != theirs:
                found.append(f.name)
        return tuple(found)

    def with_defaults_of(self, other: Layout) -> Layout:
        """Return this layout with what it leaves open taken from ``other``."""
        changes: dict[str, object] = {}
        for f in fields(self):
            mine, theirs = getattr(self, f.name), getattr(other, f.name)
            if isinstance(mine, Mapping):
                changes[f.name] = {**theirs, **mine}
            elif mine is None or mine == ():
                changes[f.name] = theirs
        return replace(self, **changes)  # type: ignore[arg-type]


def _must(questions: tuple[Question, ...]) -> bool:
    return any(question.must for question in questions)


def _set(name: str, value: object, questions: tuple[Question, ...]) -> str:
    """The line of a key as understood; behind a number sign where it has to be decided."""
    return f"{'#' if _must(questions) else ''}{name} = {_toml(value)}"


def _instruments(value: object, file: str, problems: list[Message]) -> Mapping[str, Instrument]:
    """The instruments of a layout by name; what is wrong with them goes to ``problems``."""
    if not isinstance(value, Mapping):
        expected = 'a table per instrument, [instruments."name"]'
        problems.append(_problem(file, "layout_wrong_value", key="instruments", expected=expected, came=repr(value)))
        return {}
    found: dict[str, Instrument] = {}
    for name, table in value.items():
        instrument, wrong = instrument_of(name, table)
        problems += [_problem(file, code, **facts) for code, facts in wrong]
        if instrument is not None:
            found[name] = instrument
    return found


def _problem(file: str, code: str, **facts: Fact) -> Message:
    return Message(code, Severity.ERROR, Place(file=file), facts)


def _unknown(file: str, key: str, known: tuple[str, ...] | list[str], *, hint: bool) -> Message:
    near = difflib.get_close_matches(key.rpartition(".")[2][:80], known, n=1, cutoff=0.5) if hint else []
    if near:
        return _problem(file, "layout_unknown_key_near", key=key, near=near[0])
    return _problem(file, "layout_unknown_key", key=key, known=tuple(known))


def _wrong_type(key: str, value: object) -> str | None:
    """What was expected where ``value`` is wrong, else None."""
    if key in _CHOICES:
        return None if value in _CHOICES[key] else "one of " + ", ".join(repr(choice) for choice in _CHOICES[key])
    if key in _TEXTS:
        return None if isinstance(value, str) and value else "a text"
    if key in _SWITCHES:
        return None if isinstance(value, bool) else "true or false"
    if key == "heading_row":
        return (
            None if isinstance(value, int) and not isinstance(value, bool) and value > 0 else "a row number (1, 2, ...)"
        )
    if key == "missing":
        return None if isinstance(value, list | tuple) and all(isinstance(x, str) for x in value) else "a list of texts"
    if key in {"leave_out_rows", "keep_rows"}:
        rows = isinstance(value, list | tuple) and all(isinstance(x, int) and not isinstance(x, bool) for x in value)
        return None if rows else "a list of row numbers"
    if key in _TABLES:
        texts = isinstance(value, Mapping) and all(isinstance(x, str) for x in value.values())
        return None if texts else "a table of texts"
    lists = isinstance(value, Mapping) and all(
        isinstance(spellings, list | tuple) and all(isinstance(x, str) for x in spellings)
        for spellings in value.values()
    )
    return None if lists else "a table of lists of texts"


_ESCAPES = {"\\": "\\\\", '"': '\\"', "\n": "\\n", "\r": "\\r", "\t": "\\t", "\b": "\\b", "\f": "\\f"}


def _text(text: str) -> str:
    escaped = "".join(_ESCAPES.get(c, c if c >= " " and c != "\x7f" else f"\\u{ord(c):04x}") for c in text)
    return f'"{escaped}"'


def _comment(text: str) -> str:
    return "".join(c if c.isprintable() else repr(c)[1:-1] for c in text)


def _remark(lead: str, text: str) -> list[str]:
    """A text as lines of comment."""
    parts = textwrap.wrap(f"# {lead}{_comment(text)}", width=_WIDTH, subsequent_indent="#    ", break_long_words=False)
    return [part.rstrip() for part in parts]


def _key(key: str) -> str:
    bare = key and all(c.isascii() and (c.isalnum() or c in "_-") for c in key)
    return key if bare else _text(key)


def _toml(value: object) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int):
        return str(value)
    if isinstance(value, float):
        return repr(int(value)) if value.is_integer() and abs(value) < 1e15 else repr(value)
    if isinstance(value, tuple):
        return "[" + ", ".join(_toml(part) for part in value) + "]"
    return _text(str(value))
