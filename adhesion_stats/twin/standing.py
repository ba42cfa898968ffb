"""Which pulls count: lost, without a value, in doubt, broken in the adhesive, excluded in writing, retested.

A retest stands for a pull only where that pull is not valid, and only where the retest itself is. Where the contract is
silent on a rule, every way to read it is one ``Way``.
Imports: the standard library and this package.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from itertools import product

from adhesion_stats.twin.model import Pull
from adhesion_stats.twin.terms import Terms, criteria

__all__ = ["Judged", "Way", "judged", "ways_of"]

_NEVER = Fraction(101)  # a share that no pull has
_SAME = Fraction(1, 10**7)  # shares [%] this close are one


@dataclass(frozen=True, slots=True)
class Way:
    """One way to read the rules on which a contract may be silent (shares in %)."""

    glue_from: Fraction
    glue_then: str
    there_from: Fraction
    lost: str
    instead: bool = False


def _shares(pulls: Sequence[Pull], codes: tuple[str, ...]) -> list[Fraction]:
    """The different shares above 0 of the codes, ascending."""
    return sorted({share for pull in pulls if (share := pull.share(codes))})


def ways_of(pulls: Sequence[Pull], terms: Terms) -> list[Way]:
    """Every way to read the contract that makes a difference for these pulls; the one whose numbers are shown first."""
    glue = _shares(pulls, terms.glue_codes)
    stated = terms.share("glue", "from")
    starts = [stated] if stated is not None else [Fraction(100)]
    if stated is None and glue and glue != [100]:
        every = glue if Fraction(100) in glue else [*glue, _NEVER]
        first = next((share for share in every if share >= 50), every[-1])
        starts = [first, *(share for share in every if share != first)]
    then = terms.table("glue").get("then")
    matters = bool(glue) and (stated is None or glue[-1] >= stated - _SAME)
    thens = [str(then)] if then is not None else ["discard", "at least"] if matters else ["discard"]
    said = terms.table("pulls").get("lost")
    losts = [str(said)] if said is not None else ["unknown", "left out"] if any(p.lost for p in pulls) else ["unknown"]
    there = terms.share("interface", "broke_there_from")
    asked = {c.question for rule in terms.rules for c in criteria(rule.requirement)} - {"", "pull-off"}
    shares = [share for code in asked for share in _shares(pulls, (code,))]
    theres = [there] if there is not None else [Fraction(100)]
    if there is None and any(share < 100 for share in shares):
        theres.append(min(shares))
    return [Way(*way) for way in product(starts, thens, theres, losts)]


@dataclass
class Judged:
    """The pulls with the reasons why each does not count, and whether a counted one is known from below only."""

    pulls: Sequence[Pull]
    reasons: list[set[str]]
    at_least: list[bool] = field(default_factory=list)

    def counted(self, zone: str) -> list[int]:
        """Places of the pulls of a zone that count."""
        return [i for i, pull in enumerate(self.pulls) if pull.zone == zone and not self.reasons[i]]

    def unknown(self, zone: str, way: Way) -> int:
        """How many pulls of a zone have a value that nobody knows: in doubt, and lost ones where these are unknown."""
        gone = {"replaced", "excluded", "retest of valid"}
        doubtful = lost = 0
        for i, pull in enumerate(self.pulls):
            if pull.zone == zone and not self.reasons[i] & gone:
                lost += "lost" in self.reasons[i]
                doubtful += self.reasons[i] & {"in doubt", "lost", "glue"} == {"in doubt"}
        return doubtful + (lost if way.lost == "unknown" else 0)


def judged(pulls: Sequence[Pull], terms: Terms, way: Way) -> Judged:
    """The standing of each pull under one way to read the contract."""
    found = Judged(pulls, [set() for _ in pulls], [False] * len(pulls))
    for i, pull in enumerate(pulls):
        reasons = found.reasons[i]
        share = pull.share(terms.glue_codes) or Fraction(0)
        nothing = pull.bound == "nothing"
        glue = share >= way.glue_from - _SAME or (nothing and share > 0)
        if pull.lost:
            reasons.add("lost")
        elif nothing and not glue:
            reasons.add("no value")
        if pull.in_doubt:
            reasons.add("in doubt")
        if glue and (way.glue_then == "discard" or nothing):
            reasons.add("glue")
        if pull.against_method:
            reasons.add("method")
        found.at_least[i] = glue and not nothing and not reasons
        if pull.exclusion:
            reasons.add("excluded")
    for zone, name in terms.exclusions:
        named = [i for i, pull in enumerate(pulls) if pull.id == name and (not zone or pull.zone == zone)]
        if len(named) == 1:
            found.reasons[named[0]].add("excluded")
    _retests(found, way)
    return found


def _repeats(pulls: Sequence[Pull]) -> dict[int, list[int]]:
    """For each retest the pulls that it repeats, nearest first, back to the first pull; earlier pulls come first."""
    original: dict[int, int] = {}
    for i, pull in enumerate(pulls):
        if not pull.retest_of:
            continue
        named = [j for j, other in enumerate(pulls) if other.id == pull.retest_of and j != i]
        here = [j for j in named if pulls[j].zone == pull.zone]
        found = here or named
        if len(found) == 1 and i not in (found[0], *_back(original, found[0])):
            original[i] = found[0]
    back = {i: _back(original, i) for i in original}
    return {i: back[i] for i in sorted(back, key=lambda i: (len(back[i]), i))}


def _back(original: dict[int, int], i: int) -> list[int]:
    found = []
    while i in original:
        i = original[i]
        found.append(i)
    return found


def _retests(found: Judged, way: Way) -> None:
    """One pull stands for a first pull and all that repeat it: the first where it is valid, else the first retest."""
    stands: dict[int, int] = {}
    repeats = _repeats(found.pulls)
    before = [set(reasons) for reasons in found.reasons]
    spare = []
    for i, earlier in repeats.items():
        first = earlier[-1]
        if not found.reasons[first] - {"in doubt"}:
            stands.setdefault(first, first)
        if found.reasons[i]:
            continue
        holder = stands.get(first)
        if holder is None or (way.instead and holder in earlier):
            stands[first] = i
            for j in earlier:
                found.reasons[j].add("replaced")
        else:
            spare.append(i)
    for i, earlier in repeats.items():
        open_value = before[i] & {"lost", "in doubt"} and "replaced" not in found.reasons[i]
        if i in spare or (earlier[-1] in stands and open_value):
            found.reasons[i].add("retest of valid")
