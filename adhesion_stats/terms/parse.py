"""From a specification's TOML text to ``Specification``; every problem of the file is reported at once.

The file's tables and keys::

    [contract]   title, structure, client, engineer, test_method, document, note, invented
    [report]     unit, interval_confidence, [[report.characteristic]] method, content, confidence, known_cov, known_sd
    [pulls]      required, zones, ceiling, lost, recording_step, count_by, pulls_per_measurement
    [glue]       codes, from, then
    [interface]  broke_there_from
    [rounding]   method, ties, record_to
    [screening]  tests, side, level, dixon_convention
    [method]     use, confirmed, dolly, dolly_shape, cut, cut_depth, rate, time_to_failure, temperature, min_age,
                 least_pulls, spacing, edge, calibrated, min_glue_hours,
                 failure_shares_step, invalid (see terms.method_checks)
    [readings]   how the readings file is laid out (see terms.layout)
    [[exclude]]  zone, id, reason, who
    [uncertainty]  source, [[uncertainty.component]] (see terms.uncertainty)
    [plan]       what is planned before the first pull (see terms.plan)
    [[determination]]  what an engineer decided all the same (see terms.determinations)
    [[group]]    name, zones; [[ladder]]  on, do, pulls (see terms.stages)
    [[require]]  zones, groups, stage, required, and a criterion, ``all_of = [...]`` or ``any_of = [...]``;
                 or ``use = "name"`` of a published rule (see terms.use)

and a criterion is one of::

    { mean_at_least = "1.50 MPa" }
    { smallest_at_least = "1.00 MPa" }                  or "75 % of 2.00 MPa"
    { characteristic_at_least = "1.00 MPa", method = "tolerance", content = 0.95, confidence = 0.75 }
    { characteristic_at_least = "1.00 MPa", method = "en1990-known", known_cov = 0.20 }
    { pulls_at_or_above = "0.30 MPa", at_least = 8, of = 12 }
    { failure_share = ["A"], at_least = "60 %" }
    { pulls_with_failure = ["A"], from = "50 %", depth_from = "6 mm", at_least = "80 %" }

each with an optional ``question`` (strength criteria; "pull-off", an interface such as "A/B" or a layer such as "A")
and ``source``; those with a limit on strength also with
``probability_of_conformity_at_least``. A limit is a text, number and unit as the contract writes them.
"""

from __future__ import annotations

import hashlib
from collections.abc import Mapping

from adhesion_stats.errors import InvalidSpecification
from adhesion_stats.messages import Message, Place, Severity
from adhesion_stats.pulls import GLUE_CODES
from adhesion_stats.terms.characteristic import METHOD_KEYS, method_asked
from adhesion_stats.terms.checker import Checker
from adhesion_stats.terms.determinations import determinations
from adhesion_stats.terms.layout import Layout
from adhesion_stats.terms.method_checks import method_checks
from adhesion_stats.terms.plan import plan_terms
from adhesion_stats.terms.require import check_rules, first_unit, rules_of
from adhesion_stats.terms.specification import (
    CharacteristicAsked,
    Contract,
    Exclusion,
    GlueRule,
    PullRules,
    Rounding,
    Screening,
    Specification,
)
from adhesion_stats.terms.stages import ladder_of
from adhesion_stats.terms.toml_text import table_of
from adhesion_stats.terms.uncertainty import uncertainty_of
from adhesion_stats.terms.use import Used, for_zones, with_published

__all__ = ["DIXON_CONVENTIONS", "parse_specification"]

DIXON_CONVENTIONS = ("E178", "E178 to 100", "Q")  # the keys of statistics.dixon.CONVENTIONS (a test keeps them equal)
_TOP = (
    "contract",
    "report",
    "pulls",
    "glue",
    "interface",
    "rounding",
    "screening",
    "method",
    "readings",
    "uncertainty",
    "plan",
    "exclude",
    "determination",
    "ladder",
    "group",
    "require",
)


def parse_specification(content: bytes, *, file: str) -> Specification:
    """Return the specification written in ``content`` (TOML, UTF-8).

    Raises ``InvalidSpecification`` with one message per problem, each naming the key's path.
    """
    try:
        table = table_of(content.decode("utf-8-sig"))
    except ValueError as error:  # no UTF-8, no TOML, or beyond what a specification can be
        raise InvalidSpecification(
            [Message("spec_not_toml", Severity.ERROR, Place(file), {"problem": str(error)})]
        ) from error
    check = Checker(file)
    check.keys(table, "", _TOP)
    whole, uses = with_published(check, table)
    specification = _specification(check, whole, uses, file, hashlib.sha256(content).hexdigest())
    if check.problems or specification is None:
        raise InvalidSpecification(check.problems)
    return specification


def _specification(
    check: Checker, table: Mapping[str, object], uses: tuple[Used, ...], file: str, digest: str
) -> Specification | None:
    contract = _contract(check, check.table(table, "contract", "contract", needed=True))
    uncertain = uncertainty_of(check, table)
    rules, classes = rules_of(check, table, uncertain)
    report = check.table(table, "report", "report")
    check.keys(report, "report", ("unit", "interval_confidence", "characteristic"))
    unit = check.text(report, "unit", "report.unit") or first_unit(rules)
    if unit and not check.unit_known(unit, "report.unit"):
        unit = ""
    pulls = _pull_rules(check, check.table(table, "pulls", "pulls"))
    check_rules(check, rules, pulls)
    interface = check.table(table, "interface", "interface")
    check.keys(interface, "interface", ("broke_there_from",))
    readings = _readings(check, table)
    glue = _glue(check, check.table(table, "glue", "glue"))
    rounding = _rounding(check, check.table(table, "rounding", "rounding"))
    screening = _screening(check, check.table(table, "screening", "screening"))
    method = method_checks(check, check.table(table, "method", "method"))
    exclusions = _exclusions(check, table)
    decided = determinations(check, table)
    ladder = ladder_of(check, table)
    plan = plan_terms(check, table)
    broke = check.percent(interface, "broke_there_from", "interface.broke_there_from", above_zero=True)
    confidence = check.level(report, "interval_confidence", "report.interval_confidence")
    asked = tuple(
        found
        for i, entry in enumerate(check.tables(report, "characteristic", "report.characteristic"), 1)
        if (found := _shown_beside(check, entry, f"report.characteristic[{i}]")) is not None
    )
    if check.problems or contract is None:
        return None
    return Specification(
        contract=contract,
        rules=rules,
        classes=classes,
        unit=unit or "MPa",
        pulls=pulls,
        glue=glue,
        broke_there_from_percent=broke,
        rounding=rounding,
        screening=screening,
        method=method,
        exclusions=exclusions,
        determinations=decided,
        ladder=ladder,
        plan=plan,
        uses=for_zones(uses, tuple(rule.zones for rule in rules)),
        interval_confidence=0.95 if confidence is None else confidence,
        characteristic=asked,
        readings=readings,
        uncertain=uncertain,
        file=file,
        digest=digest,
    )


def _shown_beside(check: Checker, entry: Mapping[str, object], path: str) -> CharacteristicAsked | None:
    """A characteristic value that the report shows beside the decision."""
    check.keys(entry, path, METHOD_KEYS)
    return method_asked(check, entry, path)


def _readings(check: Checker, table: Mapping[str, object]) -> Mapping[str, object] | None:
    """The readings layout as written; what is wrong with it is said with the other problems of the file."""
    if "readings" not in table:
        return None
    readings = check.table(table, "readings", "readings")
    try:
        Layout.from_mapping(readings, file=check.file)
    except InvalidSpecification as error:
        check.problems.extend(error.messages)
    return readings


def _contract(check: Checker, table: Mapping[str, object]) -> Contract | None:
    names = ("title", "structure", "client", "engineer", "test_method", "document", "note")
    check.keys(table, "contract", (*names, "invented"))
    texts = {name: check.text(table, name, f"contract.{name}") or "" for name in names}
    if "title" in table or not table:
        if not texts["title"] and table:
            check.problem("spec_empty", "contract.title")
    else:
        check.problem("spec_missing_key", "contract.title", what="a title for the report")
    invented = check.flag(table, "invented", "contract.invented")
    return Contract(invented=bool(invented), **texts)


def _pull_rules(check: Checker, table: Mapping[str, object]) -> PullRules:
    check.keys(
        table,
        "pulls",
        ("required", "zones", "ceiling", "lost", "recording_step", "count_by", "pulls_per_measurement", "least_valid"),
    )
    lost = check.choice(table, "lost", "pulls.lost", ("unknown", "left out"))
    by = check.choice(table, "count_by", "pulls.count_by", ("pull", "measurement"))
    per = check.count(table, "pulls_per_measurement", "pulls.pulls_per_measurement", at_least=1)
    if "pulls_per_measurement" in table and by != "measurement":
        check.problem("spec_key_needs_another", "pulls.pulls_per_measurement", needs='count_by = "measurement"')
    return PullRules(
        count_by="measurement" if by == "measurement" else "pull",
        pulls_per_measurement=per,
        least_valid=check.count(table, "least_valid", "pulls.least_valid", at_least=1),
        required=check.count(table, "required", "pulls.required", at_least=1),
        zones=check.zones(table, "zones", "pulls.zones") or (),
        ceiling=check.strength(table, "ceiling", "pulls.ceiling"),
        lost=None if lost is None else ("unknown" if lost == "unknown" else "left out"),
        recording_step=check.strength(table, "recording_step", "pulls.recording_step"),
    )


def _glue(check: Checker, table: Mapping[str, object]) -> GlueRule:
    check.keys(table, "glue", ("codes", "from", "then"))
    then = check.choice(table, "then", "glue.then", ("at least", "discard"))
    return GlueRule(
        codes=check.codes(table, "codes", "glue.codes") or GLUE_CODES,
        from_percent=check.percent(table, "from", "glue.from", above_zero=True),
        then=None if then is None else ("at least" if then == "at least" else "discard"),
    )


def _rounding(check: Checker, table: Mapping[str, object]) -> Rounding:
    check.keys(table, "rounding", ("method", "ties", "record_to"))
    method = check.choice(table, "method", "rounding.method", ("unrounded", "rounded"))
    ties = check.choice(table, "ties", "rounding.ties", ("even", "up"))
    if (method == "rounded" or "record_to" in table) and "ties" not in table:
        check.problem("spec_missing_key", "rounding.ties", what='the tie rule, "even" or "up"')
    return Rounding(
        method="rounded" if method == "rounded" else "unrounded",
        ties="up" if ties == "up" else "even",
        record_to=check.strength(table, "record_to", "rounding.record_to"),
    )


def _screening(check: Checker, table: Mapping[str, object]) -> Screening:
    default = Screening()
    check.keys(table, "screening", ("tests", "side", "level", "dixon_convention"))
    names = check.texts(table, "tests", "screening.tests")
    if names is not None:
        for name in names:
            check.one_of(name, "screening.tests", ("grubbs", "dixon"))
    side = check.choice(table, "side", "screening.side", ("low", "high", "both"))
    level = check.level(table, "level", "screening.level")
    convention = check.choice(table, "dixon_convention", "screening.dixon_convention", DIXON_CONVENTIONS)
    return Screening(
        tests=default.tests if names is None else tuple(t for t in default.tests if t in names),
        side=default.side if side is None else "low" if side == "low" else "high" if side == "high" else "both",
        level=default.level if level is None else level,
        dixon_convention=convention or default.dixon_convention,
    )


def _exclusions(check: Checker, table: Mapping[str, object]) -> tuple[Exclusion, ...]:
    found: list[Exclusion] = []
    for i, entry in enumerate(check.tables(table, "exclude", "exclude"), 1):
        path = f"exclude[{i}]"
        check.keys(entry, path, ("zone", "id", "reason", "who"))
        texts: dict[str, str] = {}
        for name, what in (("id", "the pull's id"), ("reason", "the physical cause"), ("who", "who says so")):
            text = check.text(entry, name, f"{path}.{name}")
            if name not in entry:
                check.problem("spec_missing_key", f"{path}.{name}", what=what)
            elif text == "":
                check.problem("spec_empty", f"{path}.{name}")
            texts[name] = text or ""
        found.append(
            Exclusion(check.text(entry, "zone", f"{path}.zone") or "", texts["id"], texts["reason"], texts["who"])
        )
    return tuple(found)
