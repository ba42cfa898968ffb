"""One criterion's table as it is being read, and what a kind of criterion is to the parser.

Imports: terms.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from adhesion_stats.terms.checker import Checker
from adhesion_stats.terms.criteria import PULL_OFF, Criterion, Limit

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
        """The strength under a key, the main key where none is named."""
        name = name or self.main
        return self.check.strength(self.table, name, self.at(name))

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

    ``parse`` returns None where the table has a problem that leaves no criterion.
    """

    main: str
    keys: tuple[str, ...]
    parse: Callable[[Entry], Criterion | None]
