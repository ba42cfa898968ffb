"""The results dictionary as types: what results.json holds, field by field, so that a typo in a document is found
early.

All strengths in MPa, unrounded; a missing value is None. Nothing is computed here.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Literal, NotRequired, TypedDict, cast

from adhesion_stats.messages import Message
from adhesion_stats.record.schema import CURRENT
from adhesion_stats.wording import message_of as _message_of

__all__ = [
    "AskedNumber",
    "Conformity",
    "ContractHead",
    "Criterion",
    "Determination",
    "Extent",
    "FrequencyRule",
    "LowPull",
    "MessageDict",
    "Outcome",
    "Pull",
    "Results",
    "Rezoning",
    "Settled",
    "Summary",
    "Tree",
    "Uncertainty",
    "Zone",
    "ZoneFrequency",
    "message_of",
    "messages_from",
    "results_from",
]

Outcome = Literal["conforms", "does not conform", "undetermined"]


class MessageDict(TypedDict):
    """A message as JSON."""

    code: str
    severity: str
    sheet: str | None
    row: int | None
    column: str | None
    facts: dict[str, str | int | float | bool | list[str] | None]


class ContractHead(TypedDict):
    """What stands on the head of the report."""

    title: str
    structure: str
    client: str
    engineer: str
    test_method: str
    document: str
    note: str
    invented: bool


class ReadingsFile(TypedDict):
    """The readings file."""

    file: str
    sha256: str
    rows: int


class SpecificationFile(TypedDict):
    """The specification file."""

    file: str
    sha256: str


class LayoutFile(TypedDict):
    """The layout file, where there was one."""

    file: str
    sha256: str


class Inputs(TypedDict):
    """The files that everything comes from."""

    readings: ReadingsFile
    specification: SpecificationFile
    layout: LayoutFile | None


class Entry(TypedDict):
    """How strengths were written in the file."""

    unit: str
    recording_step_mpa: float | None
    recording_step_text: str | None


class Rounding(TypedDict):
    """How a value is compared with its limit."""

    method: Literal["unrounded", "rounded"]
    ties: Literal["even", "up"]
    record_to: str | None


class ContractDecision(TypedDict):
    """The decision for the contract as a whole."""

    outcome: Outcome
    reason: MessageDict
    zones: dict[str, int]
    next: list[MessageDict]
    to_confirm: list[MessageDict]


class PullCounts(TypedDict):
    """Pulls of a zone by standing."""

    made: int
    counted: int
    exact: int
    bounded: int
    not_counted: int
    lost: int
    required: int | None
    unknown: int


class Interval(TypedDict):
    """Confidence interval of a mean [MPa]."""

    confidence: float
    low: float
    high: float


class Characteristic(TypedDict):
    """A characteristic value [MPa] and how it was made."""

    method: str
    content: float
    confidence: float | None
    known_cov: float | None
    known_sd: str | None
    k: float | None
    rank: NotRequired[int | None]
    reached: NotRequired[float | None]
    value: float
    source: str


class Summary(TypedDict):
    """What the counted pulls of a zone say [MPa]."""

    n: int
    mean: float | None
    sd: float | None
    cov: float | None
    smallest: float | None
    largest: float | None
    median: float | None
    mean_is_lower_bound: bool
    interval: Interval | None
    characteristic: list[Characteristic]
    unsaid: list[MessageDict]


class Limit(TypedDict):
    """A limit as written."""

    text: str
    value: float
    unit: str
    places: int
    mpa: float


class ShareLimit(TypedDict):
    """A limit on a failure composition [%]."""

    sense: Literal["at least", "at most"]
    percent: float
    codes: list[str]
    from_percent: float | None


class AskedNumber(TypedDict):
    """The number that a criterion's value is compared with; unit "%" for shares, "" for a number without unit."""

    sense: Literal["at least", "at most"]
    value: float
    unit: str
    places: int


class CharacteristicMethod(TypedDict):
    """How a characteristic value is asked for."""

    name: str
    content: float | None
    confidence: float | None
    known_cov: float | None
    known_sd: str | None
    pooled_over: NotRequired[list[str]]


class WhichPulls(TypedDict):
    """Pulls told apart by what broke."""

    codes: list[str]
    from_percent: float
    depth_mm: float | None
    depth: str | None


class FailureLimit(WhichPulls):
    """The limit of these pulls."""

    limit: Limit


class PullTold(TypedDict):
    """Whether a pull (by index) surely, and possibly, is excused, averaged or reaches its limit."""

    pull: int
    sure: bool
    possible: bool


class ByFailure(TypedDict):
    """How a criterion depends on the failure of each pull."""

    role: Literal["unless", "only", "alike", "each", "counted"]
    which: WhichPulls | None
    from_percent: float | None
    limits: list[FailureLimit]
    otherwise: Limit | None
    sure: int | None
    most: int | None
    pulls: list[PullTold]


class Conformity(TypedDict):
    """The probability that the true value conforms [-]; ``uncertainty`` in MPa, ``needed`` and ``guard_band`` in the
    limit's unit.
    """

    asked: float | None
    low: float | None
    high: float | None
    uncertainty: float | None
    needed: float | None
    guard_band: float | None
    errors: Literal["all", "common"]


class UncertainComponent(TypedDict):
    """One component of the uncertainty of each measured strength."""

    name: str
    stated_as: Literal["standard", "expanded", "half width", "step"]
    text: str
    coverage_factor: float | None
    standard_mpa: float
    standard_share: float
    common: bool


class Uncertainty(TypedDict):
    """The stated uncertainty of each measured strength."""

    source: str
    components: list[UncertainComponent]


class Criterion(TypedDict):
    """One criterion and what came of it; margins in the limit's unit."""

    key: str
    kind: str
    question: str | None
    source: str
    limit: Limit | None
    share_limit: ShareLimit | None
    asked: NotRequired[AskedNumber]
    method: CharacteristicMethod | None
    by_failure: ByFailure | None
    z: int | None
    of: int | None
    n: int
    low: float | None
    high: float | None
    high_is_open: bool
    low_is_open: bool
    k: float | None
    total: float | None
    outcome: Outcome
    at_limit: bool
    margin_low: float | None
    margin_high: float | None
    reason: MessageDict
    published: FromPublished | None
    conformity: Conformity | None


class Settled(TypedDict):
    """The decision under one reading of the rules on which the contract is silent."""

    glue_from_percent: float
    glue_then: Literal["at least", "discard"]
    broke_there_from_percent: float
    lost: Literal["unknown", "left out"]
    retest_instead: bool
    outcome: Outcome | None


class Failure(TypedDict):
    """Mean failure composition of a zone [% of area]."""

    percent: dict[str, float]
    recorded: int
    not_recorded: int


class FromPublished(TypedDict):
    """The published rule of a criterion; ``sure`` of the least sure number that acts, None where none does."""

    name: str
    sure: Literal["verified", "secondary", "unverified"] | None
    to_confirm: bool
    confirmed: str | None


class UsedNumber(TypedDict):
    """A published number in the specification; ``instead``: what the contract says in its place, None for nothing."""

    path: str
    value: str
    instead: str | None
    clause: str
    sure: Literal["verified", "secondary", "unverified"]
    seen: str


class Used(TypedDict):
    """A published rule or method as the specification uses it."""

    path: str
    name: str
    kind: Literal["rule", "method"]
    document: str
    edition: str
    replaced_by: str | None
    zones: list[str]
    confirmed: str | None
    to_confirm: bool
    numbers: list[UsedNumber]


class Determination(TypedDict):
    """What an engineer decided all the same; ``about`` is the computed decision that it was made about."""

    decided: str
    about: Outcome | None
    who: str
    when: str
    why: str


Tree = str | dict[str, list["Tree"]]


class Measurement(TypedDict):
    """Pulls that count as one value: bounds of their mean [MPa], None where it is not valid (high: or without end)."""

    name: str
    pulls: list[int]
    counted: int
    valid: bool
    low: float | None
    high: float | None


class Measurements(TypedDict):
    """The measurements of a zone, where the contract counts by measurement."""

    required: int | None
    valid: int
    pulls_per_measurement: int | None
    listed: list[Measurement]


class Population(TypedDict):
    """What a zone of the results is, where the contract parts zones by stage or by round of its retest ladder."""

    zone: str
    stage: str
    round: int
    stands: bool  # whether its decision is one of those that the contract's is made of
    step: int | None
    said: list[MessageDict]


class ZoneClass(TypedDict):
    """The highest class that a zone could have and the one that it has at least; None: below all."""

    best: str | None
    least: str | None
    names: list[str]


class Zone(TypedDict):
    """One zone."""

    zone: str
    population: Population | None
    measurements: Measurements | None
    outcome: Outcome | None  # None: the specification asks nothing of this zone
    reason: MessageDict
    binding: str | None
    pulls: PullCounts
    summary: Summary
    criteria: list[Criterion]
    tree: Tree | None
    needs: list[MessageDict]
    hangs_on: list[MessageDict]
    settled: list[Settled]
    failure: Failure
    next: list[MessageDict]
    hints: list[MessageDict]
    determinations: list[Determination]
    classes: list[ZoneClass]
    to_confirm: list[MessageDict]


class Pull(TypedDict):
    """One pull as read and judged."""

    index: int
    sheet: str | None
    row: int
    id: str
    name: str
    zone: str
    strength: float | None
    entered: str
    bound: Literal["at_least", "at_most"] | None
    load_n: float | None
    area_mm2: float | None
    indicated_mpa: float | None
    indicated_load_n: float | None
    status: Literal["counted", "invalid", "excluded", "replaced", "lost"]
    counts_as: Literal["exact", "at_least", "at_most", "unknown"] | None
    reasons: list[MessageDict]
    who: str
    flags: list[MessageDict]
    failure: dict[str, float]
    date: str | None
    retest_of: str
    exclusion: str
    labels: dict[str, str]
    conditions: dict[str, float | None]


class ScreenedZone(TypedDict):
    """One outlier test of one zone."""

    zone: str
    n: int
    test: str
    ratio: str | None
    statistic: float | None
    p: float | None
    critical: float | None
    side: str
    pull: int | None
    flagged: bool
    note: MessageDict | None


class ByTest(TypedDict):
    """One outlier test over all zones."""

    test: str
    zones: int
    expected_by_chance: float
    flagged: int


class Screening(TypedDict):
    """Outlier tests: they point at pulls and exclude none."""

    tests: list[str]
    side: str
    level: float
    dixon_convention: str
    zones: list[ScreenedZone]
    by_test: list[ByTest]
    expected_by_chance: float | None
    flagged: int


class Method(TypedDict):
    """Where the computed numbers come from."""

    sources: list[str]


class FrequencyPart(TypedDict):
    """A pour, day or span with its pulls; the name is "" where only their number is known."""

    name: str
    asked: int
    counted: int
    missing: int


class FrequencyRule(TypedDict):
    """What a rule asks of a zone, and what is missing."""

    kind: str
    asked: int
    each: int
    times: int
    source: str
    missing: int
    parts: list[FrequencyPart] | None
    not_recorded: int


class ZoneFrequency(TypedDict):
    """Pulls made against pulls asked in a planned zone."""

    zone: str
    area_m2: float | None
    counted: int
    decides: int | None
    rules: list[FrequencyRule]


class PlaceXY(TypedDict):
    """A place [m]."""

    x_m: float
    y_m: float


class Neighbour(TypedDict):
    """The nearest sound pull towards a side, and the place half-way to it (None: too near)."""

    side: str
    pull: str
    strength: float
    distance_m: float
    next: PlaceXY | None


class LowPull(TypedDict):
    """A low pull with its sound neighbours."""

    pull: str
    strength: float
    x_m: float
    y_m: float
    neighbours: list[Neighbour]
    open_sides: list[str]
    part: list[list[float]] | None


class Extent(TypedDict):
    """How far what is weak in a zone may reach."""

    zone: str
    limit_mpa: float
    area_m2: float | None
    area_in_doubt_m2: float | None
    outline: list[list[float]] | None
    low: list[LowPull]
    says: list[MessageDict]


class Holes(TypedDict):
    """Holes that the pulls left, and their area where every size is known."""

    count: int
    area_mm2: float | None


class OnSite(TypedDict):
    """Pulls made against pulls asked, extent of weak patches, holes to make good."""

    frequency: list[ZoneFrequency]
    extents: list[Extent]
    holes: Holes


class MovedPull(TypedDict):
    """A pull that stands in another zone than before; ``pull`` is its place in ``pulls``."""

    pull: int
    name: str
    before: str
    now: str


class ZoneBefore(TypedDict):
    """The decision of a zone by the earlier zones and by those of now; None: not there, or nothing asked."""

    zone: str
    before: Outcome | None
    now: Outcome | None


class ContractBefore(TypedDict):
    """The same of the contract."""

    before: Outcome
    now: Outcome


class Rezoning(TypedDict):
    """Pulls in other zones than a column, the plan or an earlier record has them in."""

    source: Literal["column", "plan", "record"]
    moved: list[MovedPull]
    zones: list[ZoneBefore]
    contract: ContractBefore
    unmatched: int


class Results(TypedDict):
    """The whole of results.json."""

    format: str
    format_version: int
    contract: ContractHead
    inputs: Inputs
    unit: str
    places: int
    entry: Entry
    rounding: Rounding
    decision: ContractDecision
    published: list[Used]
    zones: list[Zone]
    rezoned: list[Rezoning]
    pulls: list[Pull]
    messages: list[MessageDict]
    screening: Screening
    on_site: OnSite
    cautions: list[MessageDict]
    method: Method
    uncertainty: Uncertainty | None


def results_from(results: Mapping[str, object]) -> Results:
    """The dictionary under its types. Raises ValueError for another format or version."""
    if results.get("format") != "adhesion_stats results" or results.get("format_version") != CURRENT:
        came = f"{results.get('format')!r}, version {results.get('format_version')!r}"
        raise ValueError(f"Expected results of the format 'adhesion_stats results', version {CURRENT}; found {came}.")
    return cast("Results", results)


def message_of(message: MessageDict) -> Message:
    """The message that the dictionary was made from (lists become tuples again)."""
    return _message_of(cast("Mapping[str, object]", message))


def messages_from(results: Mapping[str, object]) -> tuple[Message, ...]:
    """The findings of intake and judging that the results carry, in their order."""
    return tuple(message_of(message) for message in results_from(results)["messages"])
