"""One criterion's table as it is being read, and what a kind of criterion is to the parser.

Imports: terms.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from adhesion_stats.terms.checker import Checker
from adhesion_stats.terms.criteria import PULL_OFF, Criterion, Limit
from adhesion_stats.terms.uncertainty import PROBABILITY_KEY
from adhesion_stats.terms.written_limits import LIMIT_KEYS, guarded, limit_of

__all__ = ["Entry", "Kind"]


@dataclass(frozen=True, slots=True)
class Entry:
    """A table of the specification that holds one criterion; look-ups keep problems in ``check``.

    ``path`` is the table's place in the file ("require[1].all_of[2]"), ``key`` the criterion's ("1.2"), ``main`` the
    key that names its kind.
    """

    check: Checker
    table: Mapping[str, object]
    path: str
    key: str
    main: str

    def at(self, name: str) -> str:
        """The path of one of the table's keys."""
        return f"{self.path}.{name}"

    @property
    def source(self) -> str:
        """The source as the contract names it."""
        return self.check.text(self.table, "source", self.at("source")) or ""

    def question(self) -> str:
        """The question that the criterion asks; "pull-off" where it names none."""
        return self.check.question(self.table, "question", self.at("question")) or PULL_OFF

    def strength(self, name: str | None = None) -> Limit | None:
        """The strength under a key, the main key where none is named; a guard band added where the entry has one."""
        name = name or self.main
        governs = self.check.text(self.table, "governs", self.at("governs"))
        limit = limit_of(self.check, self.table, name, self.at(name), governs)
        guard = self.check.strength(self.table, "guard", self.at("guard")) if "guard" in self.table else None
        return limit if limit is None or guard is None else guarded(limit, guard)

    def percent(self, name: str | None = None) -> tuple[float, int] | None:
        """A share above 0 % under a key (the main key where none is named), and its decimal places as written."""
        name = name or self.main
        self.needed(name, 'a share such as "75 %"')
        found = self.check.percent(self.table, name, self.at(name), above_zero=True)
        return None if found is None else (found, self.check.percent_places(self.table, name) or 0)

    def needed(self, name: str, what: str) -> None:
        """Say that a key is missing, if it is; ``what`` tells what belongs there."""
        if name not in self.table:
            self.check.problem("spec_missing_key", self.at(name), what=what)


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of criterion: the key that names it, the other keys it takes, and how its table becomes a criterion.

    ``limited``: its value is a strength, compared with the strength that its main key names.

    ``parse`` returns None where the table has a problem that leaves no criterion.
    """

    main: str
    keys: tuple[str, ...]
    parse: Callable[[Entry], Criterion | None]
    limited: bool = False

    @property
    def every_key(self) -> tuple[str, ...]:
        """The keys beside the main one."""
        return (*self.keys, *LIMIT_KEYS, PROBABILITY_KEY) if self.limited else self.keys
