"""Every way to read the contract, decided: the decision per zone is what all readings agree on."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

from adhesion_stats.acceptance import Cases, Decisions, Outcome, cases, decide
from adhesion_stats.coded import Coded
from adhesion_stats.judging import Judgement, judge, settlements
from adhesion_stats.pulls import Pulls
from adhesion_stats.standing import Reason
from adhesion_stats.terms.silence import Settled
from adhesion_stats.terms.specification import Specification

__all__ = ["Readings", "Way", "combined", "decide_every_way"]


@dataclass(frozen=True)
class Way:
    """One way to settle the silent rules: judgement, cases and decisions under it."""

    settled: Settled
    judgement: Judgement
    cases: Cases
    decisions: Decisions

    def outcome(self, zone: str) -> Outcome | None:
        """Outcome of a zone under this way, None where nothing is asked of it."""
        number = int(self.decisions.outcome[self.decisions.code[zone]])
        return None if number < 0 else Outcome(number)


@dataclass(frozen=True)
class Readings:
    """All ways to read the contract, the shown one first.

    ``instead``: the same with retests of valid pulls in place of these; ``included``: the same with the pulls counted
    that were excluded in writing. Both are empty where there is no such pull.
    """

    ways: tuple[Way, ...]
    instead: tuple[Way, ...]
    included: tuple[Way, ...]

    @property
    def shown(self) -> Way:
        """The way whose numbers a report shows."""
        return self.ways[0]

    def outcome(self, zone: str) -> Outcome | None:
        """What all ways agree on; undetermined where they don't."""
        return combined(way.outcome(zone) for way in self.ways)

    def outcome_instead(self, zone: str) -> Outcome | None:
        """The same with valid retests in place of the pulls that they repeat."""
        return combined(way.outcome(zone) for way in self.instead)

    def outcome_included(self, zone: str) -> Outcome | None:
        """The same with the pulls counted that were excluded in writing."""
        return combined(way.outcome(zone) for way in self.included)


def combined(outcomes: Iterable[Outcome | None]) -> Outcome | None:
    """Return the one outcome that all readings share, else undetermined; None where nothing is asked."""
    found = set(outcomes)
    if None in found:
        return None
    return found.pop() if len(found) == 1 else Outcome.UNDETERMINED


def decide_every_way(pulls: Pulls, specification: Specification, zones: tuple[str, ...]) -> Readings:
    """Decide the zones under every way to settle what the contract leaves silent."""

    def way(settled: Settled, table: Pulls = pulls, terms: Specification = specification) -> Way:
        judgement = judge(table, terms, settled)
        values = cases(table, judgement.standing, terms, settled, zones)
        return Way(settled, judgement, values, decide(terms, values))

    ways = tuple(way(settled) for settled in settlements(specification, pulls))
    repeats = any(message.code == "retest_of_valid" for one in ways for message in one.judgement.messages)
    instead = tuple(way(replace(one.settled, retest_instead=True)) for one in ways) if repeats else ()
    excluded = any(((one.judgement.standing.reasons & int(Reason.EXCLUDED)) != 0).any() for one in ways)
    as_made, unsigned = replace(pulls, exclusion=Coded.same("", len(pulls))), replace(specification, exclusions=())
    included = tuple(way(one.settled, as_made, unsigned) for one in ways) if excluded else ()
    return Readings(ways, instead, included)
