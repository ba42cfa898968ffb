"""The record's numbers beside the twin's: which differ, by how much, and what was not checked.

Two numbers agree within 1e-9 of the larger one (p-values also within 1e-6, Weibull
bounds within 1e-6 of the larger one); words agree letter for letter.
Imports: the standard library, mpmath, this package.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from mpmath import mpf

from adhesion_stats.twin.decide import Found
from adhesion_stats.twin.model import NotKnown, Pull, Unchecked
from adhesion_stats.twin.opinion import Characteristic, Opinion, Screened, Zone, opinion_of
from adhesion_stats.twin.quantities import limit_of, percent
from adhesion_stats.twin.reconcile import Recorded
from adhesion_stats.twin.standing import Way
from adhesion_stats.twin.terms import Criterion

__all__ = ["FORMAT_VERSION", "Pair", "SecondOpinion", "second_opinion"]

FORMAT_VERSION = 1
RELATIVE = 1e-9
ZERO = 1e-12  # MPa or %: what is zero on paper
# relative; the library states that the confidence of its Weibull bound is right to 1e-9, of two values to 1e-7
WEIBULL, WEIBULL_OF_TWO = 1e-6, 1e-4
P_ZERO = 1e-6  # near the largest G that n values can have, its last bit moves p by as much as 1e-7
Results = Mapping[str, object]


@dataclass(frozen=True, slots=True)
class Pair:
    """One number or word of the record beside the twin's.

    ``what`` names the quantity (a code such as "mean"), ``detail`` says which ("1.2", "A/B") or how ("at least": both
    are lower bounds); ``unit`` is "MPa", "%" or "". ``relative``: difference over the larger number; None where these
    are no two numbers.
    """

    zone: str
    what: str
    detail: str
    unit: str
    recorded: str | float | None
    twin: str | float | None
    agrees: bool
    relative: float | None = None


@dataclass(frozen=True)
class SecondOpinion:
    """What came of the comparison. ``read`` is False where the twin could not read the files at all."""

    read: bool
    pairs: tuple[Pair, ...]
    unchecked: tuple[Unchecked, ...]
    pulls: int = 0

    @property
    def differing(self) -> tuple[Pair, ...]:
        """The pairs that don't agree."""
        return tuple(pair for pair in self.pairs if not pair.agrees)

    @property
    def outcome(self) -> str:
        """Whether a pair "differs"; "not made" where the twin read nothing, else "agrees"."""
        return "differs" if self.differing else "agrees" if self.read else "not made"

    def as_dict(self) -> dict[str, object]:
        """Plain values, as written to audit.json."""
        return {
            "format_version": FORMAT_VERSION,
            "outcome": self.outcome,
            "pulls": self.pulls,
            "pairs": [{name: getattr(pair, name) for name in Pair.__slots__} for pair in self.pairs],
            "unchecked": [{"what": u.what, "code": u.code, "detail": u.detail} for u in self.unchecked],
        }


def second_opinion(
    *,
    readings: tuple[str, bytes],
    specification: bytes,
    layout: Mapping[str, object],
    understood: Mapping[str, object],
    published: Sequence[bytes],
    results: Results,
) -> SecondOpinion:
    """The record's results beside the twin's; arguments as of ``opinion.opinion_of``, results as in results.json."""
    pulls = _tables(results.get("pulls"))
    entry = results.get("entry")
    step = entry.get("recording_step_mpa") if isinstance(entry, Mapping) else None
    try:
        found = opinion_of(
            readings=readings,
            specification=specification,
            layout=layout,
            understood=understood,
            published=published,
            recorded={_place(pull): _recorded(pull) for pull in pulls},
            step_mpa=float(step) if isinstance(step, int | float) else 0.0,
        )
    except NotKnown as problem:
        return SecondOpinion(False, (), (Unchecked("", problem.code, problem.detail),))
    said = list(found.unchecked)
    pairs = [*_pulls(found, pulls), *_zones(found, results, said)]
    return SecondOpinion(True, tuple(pairs), tuple(dict.fromkeys(said)), len(found.pulls))


def _tables(value: object) -> list[Mapping[str, object]]:
    return [entry for entry in value if isinstance(entry, Mapping)] if isinstance(value, list) else []


def _table(value: object) -> Mapping[str, object]:
    return value if isinstance(value, Mapping) else {}


def _recorded(pull: Mapping[str, object]) -> Recorded:
    codes = {reason.get("code") for reason in _tables(pull.get("reasons"))}
    failed = bool(_table(pull.get("failure")))
    return Recorded(str(pull.get("zone")), "reason_disputed" in codes, "reason_method" in codes, failed)


def _place(pull: Mapping[str, object]) -> tuple[str, int]:
    row = pull.get("row")
    return str(pull.get("sheet") or ""), row if isinstance(row, int) else -1


def _plain(value: object) -> str | float | None:
    """A number of the twin as a float, a word as it is."""
    if value is None or isinstance(value, str):
        return value
    number = float(value) if isinstance(value, Fraction | mpf | int | float) else math.nan
    return number if math.isfinite(number) else None


def pair(
    zone: str,
    what: str,
    detail: str,
    unit: str,
    recorded: object,
    twin: object,
    *,
    within: float = RELATIVE,
    zero: float = ZERO,
) -> Pair:
    """The record's entry beside the twin's."""
    ours, theirs = _plain(recorded), _plain(twin)
    if isinstance(ours, float) and isinstance(theirs, float):
        away, largest = abs(ours - theirs), max(abs(ours), abs(theirs))
        agrees = away <= within * largest or away <= zero
        return Pair(zone, what, detail, unit, ours, theirs, agrees, away / largest if largest else 0.0)
    return Pair(zone, what, detail, unit, ours, theirs, ours == theirs)


# ------------------------------------------------------------------------------------------------------------- pulls


def _pulls(found: Opinion, recorded: Sequence[Mapping[str, object]]) -> Iterator[Pair]:
    """The pulls whose zone, value or standing the record has otherwise; those that agree are counted only."""
    ours = {_place(pull): pull for pull in recorded}
    for i, pull in enumerate(found.pulls):
        record = ours.pop((pull.sheet, pull.row), None)
        if record is None:
            yield pair(pull.zone, "pull", pull.name, "", None, "counted")
        elif not pull.unread:
            yield from (one for one in _pull(found, i, pull, record) if not one.agrees)
    for place, record in ours.items():
        yield pair(str(record.get("zone")), "pull", f"row {place[1]}", "", str(record.get("status")), None)


def _pull(found: Opinion, i: int, pull: Pull, record: Mapping[str, object]) -> Iterator[Pair]:
    assert found.judged is not None
    yield pair(pull.zone, "pull_zone", pull.name, "", str(record.get("zone")), pull.zone)
    corrected = record.get("indicated_mpa") is not None
    if not pull.in_doubt:
        value = record.get("indicated_mpa") if corrected else record.get("strength")
        yield pair(pull.zone, "pull_strength", pull.name, "MPa", value, pull.value)
    reasons = found.judged.reasons[i]
    bound = "at least" if found.judged.at_least[i] else pull.bound
    yield pair(
        pull.zone,
        "pull_counts",
        pull.name,
        "",
        str(record.get("counts_as")).replace("_", " ") if record.get("status") == "counted" else "not counted",
        "not counted" if reasons else bound,
    )


# ------------------------------------------------------------------------------------------------------------- zones


def _zones(found: Opinion, results: Results, said: list[Unchecked]) -> Iterator[Pair]:
    zones = {str(zone.get("zone")): zone for zone in _tables(results.get("zones"))}
    tests = _tables(_table(results.get("screening")).get("zones"))
    for zone in found.zones:
        record = zones.get(zone.name)
        if record is None:
            yield pair(zone.name, "zone", "", "", None, zone.name)
            continue
        yield from _decision(zone, record, said)
        yield from _summary(zone, record)
        yield from _characteristics(zone, record, said)
        yield from _composition(zone, record)
        for test in zone.screened:
            row = next((r for r in tests if (r.get("zone"), r.get("test")) == (zone.name, test.test)), {})
            yield from _screening(zone, test, row, said)
        yield from _criteria(zone, record, said)
    names = {zone.name for zone in found.zones} | {pull.zone for pull in found.pulls}
    for name in zones:
        if name not in names:
            yield pair(name, "zone", "", "", name, None)
    if found.decision is None:
        said.append(Unchecked("", "contract"))
    else:
        yield pair("", "contract", "", "", _table(results.get("decision")).get("outcome"), found.decision)


def _decision(zone: Zone, record: Mapping[str, object], said: list[Unchecked]) -> Iterator[Pair]:
    left_open = _left_open(record) or any(_left_open(entry) for entry in _tables(record.get("criteria")))
    if not zone.asked:
        yield pair(zone.name, "decision", "", "", record.get("outcome"), None)
        return
    if zone.outcome is None:
        if zone.shown is not None and zone.shown.unresolved:
            said.append(Unchecked(zone.name, "joint"))
        said.append(Unchecked(zone.name, "decision"))
    elif left_open and record.get("outcome") == "undetermined" != zone.outcome:
        said.append(Unchecked(zone.name, "record_open"))
    else:
        yield pair(zone.name, "decision", "", "", record.get("outcome"), zone.outcome)
    settled = _tables(record.get("settled"))
    if len(settled) < 2:
        return
    theirs = {_way_of(way): outcome for way, outcome in zone.ways.items()}
    ours = {_named_way(way): way.get("outcome") for way in settled}
    for name, outcome in ours.items():
        if name not in theirs:
            yield pair(zone.name, "way", name, "", str(outcome), None)
        elif left_open and outcome == "undetermined" != theirs[name]:
            said.append(Unchecked(f"{zone.name}: {name}", "record_open"))
        elif theirs[name] is not None:
            yield pair(zone.name, "way", name, "", outcome, theirs[name])
    for name in theirs.keys() - ours.keys():
        if not name.endswith("retest instead"):
            yield pair(zone.name, "way", name, "", None, theirs[name])


def _left_open(entry: Mapping[str, object]) -> bool:
    """Whether the record says that it did not resolve a criterion or zone: then its numbers are bounds only."""
    return "not_resolved" in str(_table(entry.get("reason")).get("code"))


def _way_of(way: Way) -> str:
    return _way_name(float(way.glue_from), way.glue_then, float(way.there_from), way.lost, instead=way.instead)


def _named_way(way: Mapping[str, object]) -> str:
    numbers = [float(str(way.get(name))) for name in ("glue_from_percent", "broke_there_from_percent")]
    instead = bool(way.get("retest_instead"))
    return _way_name(numbers[0], str(way.get("glue_then")), numbers[1], str(way.get("lost")), instead=instead)


def _way_name(glue: float, then: str, there: float, lost: str, *, instead: bool) -> str:
    name = f"adhesive from {glue:.6g} % {then}, broke there from {there:.6g} %, lost {lost}"
    return f"{name}, retest instead" if instead else name


def _summary(zone: Zone, record: Mapping[str, object]) -> Iterator[Pair]:
    summary = _table(record.get("summary"))
    yield pair(zone.name, "counted", "", "", summary.get("n"), zone.counted)
    for name in ("mean", "sd", "smallest"):
        detail = "at least" if name in zone.at_least else ""
        yield pair(zone.name, name, detail, "MPa", summary.get(name), zone.numbers.get(name))
    interval = _table(summary.get("interval"))
    for name in ("low", "high"):
        if f"interval_{name}" in zone.numbers or interval:
            yield pair(
                zone.name, f"interval_{name}", "", "MPa", interval.get(name), zone.numbers.get(f"interval_{name}")
            )


def _characteristics(zone: Zone, record: Mapping[str, object], said: list[Unchecked]) -> Iterator[Pair]:
    ours = _tables(_table(record.get("summary")).get("characteristic"))
    left = list(ours)
    for one in zone.characteristic:
        match = next((entry for entry in left if _same_method(entry, one)), None)
        if match is not None:
            left.remove(match)
        name = str(one.table["method"])
        if one.why_not is not None:
            said.append(Unchecked(f"{zone.name}: {name}", one.why_not.code, one.why_not.detail))
        elif match is not None or one.value is not None:
            entry = match or {}
            within = _within(name, zone.counted)
            yield pair(zone.name, "characteristic", name, "MPa", entry.get("value"), one.value, within=within)
            if entry.get("k") is not None or one.k is not None:
                yield pair(zone.name, "factor", name, "", entry.get("k"), one.k)
    for entry in left:
        yield pair(zone.name, "characteristic", str(entry.get("method")), "MPa", entry.get("value"), None)


def _within(method: str, n: int) -> float:
    """How close two characteristic values of n pulls have to be, relative."""
    if method != "weibull":
        return RELATIVE
    return WEIBULL_OF_TWO if n == 2 else WEIBULL


def _same_method(entry: Mapping[str, object], one: Characteristic) -> bool:
    table = one.table
    content = table.get("content", 0.95)
    known = (entry.get("known_cov"), entry.get("known_sd")) == (table.get("known_cov"), table.get("known_sd"))
    same = (entry.get("method"), entry.get("content")) == (table["method"], content)
    return same and known and entry.get("confidence") == table.get("confidence")


def _composition(zone: Zone, record: Mapping[str, object]) -> Iterator[Pair]:
    ours = _table(_table(record.get("failure")).get("percent"))
    for code in sorted({*ours, *zone.composition}, key=str):
        yield pair(zone.name, "composition", str(code), "%", ours.get(code), zone.composition.get(str(code)))


def _screening(zone: Zone, test: Screened, row: Mapping[str, object], said: list[Unchecked]) -> Iterator[Pair]:
    if test.statistic is None and row.get("statistic") is None:
        return
    detail = test.ratio or "G"
    yield pair(zone.name, f"{test.test}_statistic", detail, "", row.get("statistic"), test.statistic)
    if test.p is None:
        said.append(Unchecked(f"{zone.name}: {test.test}", "large_p"))
        return
    yield pair(zone.name, f"{test.test}_p", detail, "", row.get("p"), test.p, zero=P_ZERO)
    yield pair(zone.name, f"{test.test}_flag", detail, "", _yes(row.get("flagged")), _yes(test.flagged))


def _yes(value: object) -> str:
    return "yes" if value else "no"


# ---------------------------------------------------------------------------------------------------------- criteria


def _criteria(zone: Zone, record: Mapping[str, object], said: list[Unchecked]) -> Iterator[Pair]:
    ours = {str(criterion.get("key")): criterion for criterion in _tables(record.get("criteria"))}
    for found in () if zone.shown is None else zone.shown.found:
        key = found.criterion.key
        entry = ours.pop(key, {})
        if found.ends is None:
            assert found.why_not is not None
            said.append(Unchecked(f"{zone.name}: {key}", found.why_not.code, found.why_not.detail))
            continue
        if _left_open(entry):
            said.append(Unchecked(f"{zone.name}: {key}", "record_open"))
            continue
        older = bool(entry) and "asked" not in entry
        if older:  # of an earlier form of the results
            said.append(Unchecked("", "older_limits"))
        yield from (one for one in _criterion(zone, found, entry) if not (older and one.what == "limit"))
    for key, entry in ours.items():
        if zone.shown is not None:
            yield pair(zone.name, "criterion", key, "", str(entry.get("kind")), None)


def _criterion(zone: Zone, found: Found, entry: Mapping[str, object]) -> Iterator[Pair]:
    key, ends = found.criterion.key, found.ends
    assert ends is not None
    asked = _asked(found.criterion)
    unit = str(_table(entry.get("asked")).get("unit") or "")
    if asked is not None:
        yield pair(zone.name, "limit", key, unit, _table(entry.get("asked")).get("value"), asked)
    unit = unit if unit in {"%", ""} else "MPa"
    within = _within(str(found.criterion.table.get("method")), zone.n)
    if ends.low is not None or (not found.unknown and entry.get("low") == entry.get("high")):
        yield pair(
            zone.name,
            "value" if ends.low == ends.high else "value_low",
            key,
            unit,
            entry.get("low"),
            ends.low,
            within=within,
        )
    endless = isinstance(ends.high, float) and math.isinf(ends.high)
    if ends.high is not None and not endless and ends.high != ends.low:
        yield pair(zone.name, "value_high", key, unit, entry.get("high"), ends.high)
    words = {(True, False): "conforms", (False, True): "does not conform"}
    yield pair(
        zone.name,
        "criterion",
        key,
        "",
        entry.get("outcome"),
        words.get((ends.can_meet, ends.can_fail), "undetermined"),
    )


def _asked(criterion: Criterion) -> Fraction | None:
    """The number that the value is compared with, in the unit in which the contract writes it."""
    table = dict(criterion.table)
    kind = criterion.kind
    if kind == "each_pull":
        return Fraction(100)
    if kind in {"failure_share", "pulls_with_failure"}:
        return percent(str(table["at_most" if "at_most" in table else "at_least"]))[0]
    if kind in {"smallest_at_least_of_mean", "share_below_at_most", "cov_at_most"}:
        return percent(str(table[kind]))[0]
    if kind == "quality_index_at_least":
        return Fraction(str(table[kind]))
    if isinstance(table.get(kind), str):
        return limit_of(table, kind).value
    return None
