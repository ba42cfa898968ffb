"""What the sections share: cells and lines from messages, criteria, values and failure shares."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import TypeGuard

from adhesion_stats.quantities import number_against
from adhesion_stats.reporting.codes import in_order
from adhesion_stats.reporting.model import Cell, Column, Line, Link, Number, OutcomeWord, Part, Row, RowGroup, Table
from adhesion_stats.reporting.numbers import Scale, count, measure, percent, signed
from adhesion_stats.reporting.results import (
    AskedNumber,
    ByFailure,
    Criterion,
    Limit,
    MessageDict,
    Outcome,
    Pull,
    Results,
    WhichPulls,
    Zone,
    ZoneClass,
    message_of,
)
from adhesion_stats.reporting.words import fill, word
from adhesion_stats.units import factor
from adhesion_stats.wording import SENTENCES, say

__all__ = [
    "Anchors",
    "asked_number",
    "cell",
    "class_texts",
    "criterion_line",
    "criterion_of",
    "failure_line",
    "joined",
    "limit_text",
    "line",
    "margin_line",
    "messages_cell",
    "outcome_word",
    "population_lines",
    "pull_link",
    "pull_strength",
    "ratio",
    "scale_of",
    "sentence",
    "sentences",
    "smallest_is_bound",
    "strength_found",
    "table",
    "value_line",
    "zone_link",
]

NBSP = "\N{NO-BREAK SPACE}"


def line(*parts: Part, quiet: bool = False) -> Line:
    """Parts as a line."""
    return Line(tuple(parts), quiet=quiet)


def cell(*lines: Line | Part) -> Cell:
    """A cell of one or more lines; a bare part is a line of its own."""
    return Cell(tuple(entry if isinstance(entry, Line) else Line((entry,)) for entry in lines))


def joined(groups: Iterable[Sequence[Part]], between: str = ", ") -> tuple[Part, ...]:
    """Groups of parts in a row, separated."""
    parts: list[Part] = []
    for group in groups:
        if parts:
            parts.append(between)
        parts += group
    return tuple(parts)


def sentence(message: MessageDict) -> str:
    """The message in words, as a sentence of its own: capital letter (unless it begins with a name), full stop."""
    said = say(message_of(message))
    if SENTENCES[message["code"]][:1].isalpha():
        said = said[:1].upper() + said[1:]
    return said if said.endswith((".", "?", "!")) else f"{said}."


def sentences(messages: Iterable[MessageDict]) -> tuple[Line, ...]:
    """Messages as lines; one that says the same twice stands once."""
    return tuple(Line((text,)) for text in dict.fromkeys(sentence(message) for message in messages))


def messages_cell(messages: Sequence[MessageDict], nothing: str) -> Cell:
    """Messages below each other, or what stands for none."""
    return Cell(sentences(messages) or (line(nothing, quiet=True),))


def outcome_word(outcome: Outcome | None) -> Part:
    """The outcome in words, with its shape; where nothing is asked, that."""
    return word("not_asked") if outcome is None else OutcomeWord(outcome, word(outcome))


def scale_of(results: Results) -> Scale:
    """Unit and places of the report."""
    return Scale(results["unit"], results["places"])


@dataclass(frozen=True)
class Anchors:
    """Where zones and pulls stand in the document: by number, since names may hold anything."""

    zones: Mapping[str, int]

    @classmethod
    def of(cls, results: Results) -> Anchors:
        """Anchors for the zones of these results."""
        return cls({zone["zone"]: i for i, zone in enumerate(results["zones"], 1)})

    def zone(self, name: str) -> str:
        """Anchor of a zone's section; "" for a zone without one."""
        return f"zone-{self.zones[name]}" if name in self.zones else ""

    def pulls(self, name: str) -> str:
        """Anchor of a zone's pulls in the appendix."""
        return f"pulls-of-zone-{self.zones[name]}" if name in self.zones else ""

    @staticmethod
    def pull(index: int) -> str:
        """Anchor of a pull in the appendix."""
        return f"pull-{index}"


def zone_link(anchors: Anchors, name: str) -> Part:
    """The zone's name, as a jump to its section where it has one."""
    anchor = anchors.zone(name)
    return Link(name, anchor) if anchor else name


def pull_link(pull: Pull) -> Link:
    """The pull's name, as a jump to its row in the appendix."""
    return Link(pull["name"], Anchors.pull(pull["index"]))


def pull_strength(pull: Pull, scale: Scale) -> Part:
    """What is known of a pull's strength, without unit."""
    if pull["strength"] is None:
        return word("nothing")
    known = pull["counts_as"] if pull["counts_as"] in {"at_least", "at_most"} else pull["bound"]
    return scale.strength(pull["strength"], lead=word(known) if known else "")


def smallest_is_bound(results: Results, zone: Zone) -> bool:
    """Whether the smallest value of the zone is itself only a lower bound."""
    smallest = zone["summary"]["smallest"]
    mine = [p for p in results["pulls"] if p["zone"] == zone["zone"] and p["status"] == "counted"]
    at = [p["counts_as"] for p in mine if p["strength"] == smallest]
    return bool(at) and all(known == "at_least" for known in at)


def population_lines(zone: Zone) -> tuple[str, ...]:
    """Where the zone stands on the contract's retest ladder, in sentences; empty where it is on none."""
    return () if zone["population"] is None else tuple(sentence(message) for message in zone["population"]["said"])


def class_texts(zone: Zone) -> tuple[str, ...]:
    """The class of the zone, or the classes between which it lies, one text a table of classes of the contract."""
    return tuple(_class(one) for one in zone["classes"])


def _class(found: ZoneClass) -> str:
    best, least, lowest = found["best"], found["least"], found["names"][-1]
    if best is None:
        return word("class_below").format(lowest=lowest)
    if least is None:
        return word("class_below_range").format(lowest=lowest, best=best)
    return best if best == least else word("class_range").format(least=least, best=best)


def failure_line(percents: Mapping[str, float]) -> tuple[Part, ...]:
    """A failure composition: code and share, from the substrate outwards, without what is at 0 %."""
    shares = [(code, percents[code]) for code in in_order(percents) if percents[code] > 0]
    return joined([(f"{code}\N{NO-BREAK SPACE}", percent(share)) for code, share in shares])


def limit_text(criterion: Criterion) -> str:
    """The limit as written."""
    return "" if criterion["limit"] is None else criterion["limit"]["text"].replace(" ", "\N{NO-BREAK SPACE}")


def asked_number(asked: AskedNumber) -> Number:
    """The number that a criterion's value is compared with, to the places in which it was written."""
    return measure(asked["value"], asked["places"], asked["unit"])


def _isratio(asked: AskedNumber | None) -> TypeGuard[AskedNumber]:
    """Whether a criterion compares a number without unit, or a share that is no failure composition."""
    return asked is not None and asked["unit"] in {"", "%"}


def ratio(value: float, asked: AskedNumber) -> Number:
    """A value without unit, or in percent, with one place more than its limit, and more where it would read as that."""
    places = asked["places"] + 1
    equal = abs(value - asked["value"]) <= 1e-9 * max(1.0, abs(value))
    text = number_against(value, asked["value"], places, at_limit=equal).replace("-", "\N{MINUS SIGN}")
    return Number(value, text, asked["unit"])


def criterion_of(zone: Zone, key: str | None) -> Criterion | None:
    """The criterion with this key."""
    return next((criterion for criterion in zone["criteria"] if criterion["key"] == key), None)


def criterion_line(criterion: Criterion) -> tuple[Part, ...]:
    """What the criterion asks, in words."""
    share = criterion["share_limit"]
    fields: dict[str, Part] = {"limit": limit_text(criterion)}
    asked = criterion.get("asked")
    if asked is not None:
        fields["asked"] = asked_number(asked)
    if criterion["k"] is not None:
        fields["k"] = measure(criterion["k"], len(f"{criterion['k']:g}".partition(".")[2]))
    elif criterion["kind"] == "mean less sd":
        fields["k"] = "k"
    if criterion["z"] is not None and criterion["of"] is not None:
        fields |= {"z": count(criterion["z"]), "of": count(criterion["of"])}
    if share is not None:
        fields |= {
            "codes": " + ".join(in_order(share["codes"])),
            "sense": word("at_least" if share["sense"] == "at least" else "at_most").strip(),
            "share": percent(share["percent"]),
        }
        if share["from_percent"] is not None:
            fields["from_share"] = percent(share["from_percent"])
    key = f"kind_{criterion['kind']}"
    by_failure = criterion["by_failure"]
    if by_failure is not None:
        key, more = _by_failure(criterion["kind"], by_failure)
        fields |= more
    parts = fill(key, **fields)
    question = criterion["question"]
    if question and question != "pull-off":
        head = fill("of_question", criterion="\0", question=question)
        return tuple(piece for part in head for piece in (parts if part == "\0" else (part,)))
    return parts


def _by_failure(kind: str, found: ByFailure) -> tuple[str, dict[str, Part]]:
    """Key of the sentence, and what fills it, for a criterion that depends on what broke."""
    if found["role"] == "each":
        said = ["".join(str(p) for p in fill("kind_each_case", limit=_nowrap(one["limit"]), **_which(one))) for one in
                found["limits"]]  # fmt: skip
        otherwise = found["otherwise"]
        said.append(word("kind_each_silent") if otherwise is None else
                    word("kind_each_otherwise").format(limit=_nowrap(otherwise)))  # fmt: skip
        return f"kind_{kind}", {"limits": "; ".join(said)}
    if found["which"] is None:
        return f"kind_{kind}_{found['role']}", {"from_share": percent(found["from_percent"] or 0.0)}
    return f"kind_{kind}_{found['role']}", _which(found["which"])


def _which(which: WhichPulls) -> dict[str, Part]:
    deep = "" if which["depth"] is None else word("deep").format(depth=which["depth"].replace(" ", NBSP))
    codes = " + ".join(in_order(which["codes"]))
    return {"codes": codes, "from_share": percent(which["from_percent"]), "deep": deep}


def _nowrap(limit: Limit) -> str:
    return limit["text"].replace(" ", NBSP)


def _in_range(criterion: Criterion, low: Number | None, high: Number | None, *, margin: bool) -> Line:
    if low is not None and high is not None:
        if low.value == high.value:
            return line(low)
        bare = Number(low.value, low.text, "" if low.unit == high.unit else low.unit)
        return Line(fill("margin_to" if margin else "value_to", low=bare, high=high))
    if low is not None:
        lead = word("at_least") if criterion["high_is_open"] else ""
        return line(Number(low.value, low.text, low.unit, lead))
    if high is not None:
        lead = word("at_most") if criterion["low_is_open"] else ""
        return line(Number(high.value, high.text, high.unit, lead))
    return line(word("nothing"))


def strength_found(criterion: Criterion, value: float, scale: Scale) -> Number:
    """The strength that decides a criterion, so that it reads on its side of what it has to reach.

    That is the limit; where a probability of conformity is asked it lies a guard band away and is told to one place
    more (1.536 beside 1.538, not 1.54).
    """
    limit, conformity = criterion["limit"], criterion["conformity"]
    if limit is None or conformity is None or conformity["asked"] is None or conformity["needed"] is None:
        return scale.compared(value, limit, unit=True)
    return scale.apart(value, conformity["needed"] * factor(limit["unit"], "strength"), unit=True, more=1)


def value_line(criterion: Criterion, scale: Scale) -> Line:
    """What was found for a criterion: a value, or the range that the unknown values leave."""
    asked = criterion.get("asked")

    def number(value: float | None) -> Number | None:
        if value is None:
            return None
        if criterion["kind"] == "each pull":
            return percent(value, against=100.0)
        if criterion["share_limit"] is None and _isratio(asked):
            return ratio(value, asked)
        if criterion["share_limit"] is not None:
            return percent(value, against=criterion["share_limit"]["percent"])
        return strength_found(criterion, value, scale)

    return _in_range(criterion, number(criterion["low"]), number(criterion["high"]), margin=False)


def margin_line(criterion: Criterion) -> Line:
    """Value minus limit, in the limit's unit; a number, or the range that the unknown values leave."""
    limit, asked = criterion["limit"], criterion.get("asked")
    if criterion["share_limit"] is None and _isratio(asked):
        unit, places = word("unit_points") if asked["unit"] == "%" else "", asked["places"] + 1
    elif criterion["share_limit"] is not None or limit is None:
        unit, places = word("unit_points"), 0
    else:
        unit, places = limit["unit"], limit["places"]

    def number(value: float | None) -> Number | None:
        return None if value is None else signed(value, places, unit)

    if (
        criterion["at_limit"]
        and criterion["margin_low"] == criterion["margin_high"]
        and criterion["margin_low"] is not None
    ):
        return line(signed(0.0, places, unit))
    return _in_range(criterion, number(criterion["margin_low"]), number(criterion["margin_high"]), margin=True)


def table(
    caption: str, columns: Sequence[Column], rows: Iterable[Row], *, anchor: str = "", cards: bool = False
) -> Table:
    """A table of one group of rows."""
    return Table(caption, tuple(columns), (RowGroup(tuple(rows)),), anchor=anchor, cards=cards)
