"""Makes docs/findings.md: every finding with severity, sentence, cause, mend and an example from a real run.

``python -m tests.tooling.findings_page`` in the clone writes the page; ``test_findings_page.py`` fails while it is
out of date. The examples are what the package says about the invented files of the tests.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from adhesion_stats.assessment import assess
from adhesion_stats.assessment.check import check
from adhesion_stats.entrance import readings_from
from adhesion_stats.errors import InvalidSpecification
from adhesion_stats.messages import Message, Place, Severity
from adhesion_stats.planning import make_plan
from adhesion_stats.terms.checker import Checker
from adhesion_stats.terms.library import library
from adhesion_stats.terms.parse import parse_specification
from adhesion_stats.terms.use import merged_rule
from adhesion_stats.wording import SENTENCES, message_of, say_with_place
from adhesion_stats.wording.causes import CAUSES
from adhesion_stats.wording.intake import INTAKE
from adhesion_stats.wording.planning import PLANNING
from adhesion_stats.wording.terms import TERMS
from tests.intake.test_codes import everything
from tests.planning.examples import CAN_NOT_BE_PLANNED, NOT_A_PLAN, SAYS_RISK, SAYS_SOMETHING

PAGE = Path(__file__).resolve().parents[2] / "docs" / "findings.md"

_HEAD = """# Findings: what each one means and how to mend it

`adhesion-stats check READINGS` lists what it found by kind, each with its code; the report has the same list. An
**error** stops: the file (or the specification) can't be used as it stands. A **warning** asks to be looked at. A
**note** says what was done.

Where a file can be read in two ways, one line in a layout file decides:

```
adhesion-stats check readings.csv --write-layout layout.toml
adhesion-stats check readings.csv --layout layout.toml
```

The first command writes what was understood, with the open questions as comments; take the number sign away from one of
the choices and keep the file. `assess` takes `--layout` too, and puts the file into the record.

Curly brackets stand for what the file holds. This page is made from the tables of the program by
`python -m tests.tooling.findings_page`; the examples come from invented files.
"""
_HERE = "In the readings"
_GROUPS = (
    (_HERE, tuple(INTAKE)),
    ("In what counts", tuple(code for code in CAUSES if code not in {*INTAKE, *TERMS, *PLANNING})),
    ("In the specification", tuple(TERMS)),
    ("In the plan", tuple(code for code in PLANNING if code in CAUSES)),
)
_RULES = '[contract]\ntitle = "t"\n[pulls]\nrequired = 3\n[[require]]\nmean_at_least = "1.50 MPa"\n'
_USE = '[contract]\ntitle = "t"\n[[require]]\nuse = "{}"\n'
_HEADS = "zone,id,strength MPa,failure,retest of,cut,exclusion\n"
_ROWS = (
    "A,1,1.9,A,,yes,\nA,2,> 1.7,A,,no,\nA,3,1.8,70% A 30% Y,,yes,\nA,3R,1.9,A,1,yes,\nA,4,1.2,Y,,yes,dolly tilted\n"
    "A,4R,1.8,A,4,yes,\nA,4S,1.7,A,4,yes,\nA,5,1.8,A,77,yes,\nA,6,1.8,A,6,yes,\nA,8,1.8,A,9,yes,\nA,9,1.8,A,8,yes,\nB,7,,,,yes,\n"
)
_DECIDED = (
    '[[determination]]\nzone = "{zone}"\ndecided = "accepted by concession"\nabout = "does not conform"\n'
    'who = "Engineer"\nwhen = 2026-05-04\nwhy = "light loads"\n'
)
_EXCLUDE = '[[exclude]]\nid = "99"\n{zone}reason = "core broke"\nwho = "Engineer"\n'
# Specifications for the rows above.
_JUDGED = (
    _RULES + '[glue]\nfrom = "50 %"\nthen = "discard"\n' + _EXCLUDE.format(zone='zone = "A"\n'),
    _RULES + _EXCLUDE.format(zone="") + '[method]\ncut = "yes"\n',
    _RULES + '[method]\ndolly = "50 mm"\n' + _DECIDED.format(zone="A") + _DECIDED.format(zone="D"),
    '[contract]\ntitle = "t"\n[[require]]\nzones = ["C"]\nmean_at_least = "1.50 MPa"\n',
    _RULES + '[method]\ncut = "yes"\ninvalid = ["cut"]\nleast_pulls = 12\n',
    _USE.format("EN 1504-3:2005 R4") + 'mean_at_least = "1.80 MPa"\n',
    _USE.format("EN 1504-3:2005 R4")
    + 'confirmed = "The engineer, 2026-05-04, table 3"\nall_of = [{ mean_at_least = "2.0 MPa" }]\n',
    _USE.format("NBR 13749:1996 external") + 'confirmed = "The engineer, 2026-05-04, table 1"\n',
    _RULES + '[[require]]\nfailure_share = ["C"]\nat_least = "50 %"\n',
    _RULES.replace("1.50 MPa", "150 MPa") + '[[require]]\nsmallest_at_least = "200 psi"\n',
    _RULES + '[[require]]\nall_of = [{ mean_at_least = "1.5 MPa" }, { smallest_at_least = "1.5 MPa" }]\n',
    _RULES
    + '[[require]]\nshare_below_at_most = "5 %"\nlower_limit = "1 MPa"\n[[require]]\n'
    + 'characteristic_at_least = "1 MPa"\nmethod = "order-statistic"\ncontent = 0.95\nconfidence = 0.95\n',
)
# Specifications and readings with stages and rounds.
_STEPS = '[[ladder]]\ndo = "revise and repeat"\n'
_STAGED = _RULES + 'stage = "production"\n[[require]]\nstage = "production"\nsmallest_at_least = "1.30 MPa"\n'
_ASKED_OF_ONE = (
    '[[require]]\npulls_at_or_above = "1.0 MPa"\nat_least = 4\nof = 6\n[[require]]\nfailure_share = ["A"]\n'
    'at_least = "0 %"\n[[require]]\ncharacteristic_at_least = "1.0 MPa"\nmethod = "en1990-known"\n'
    'known_cov = 0.60\n[[require]]\ncharacteristic_at_least = "1.0 MPa"\nmethod = "tolerance"\ncontent = 0.95\n'
    "confidence = 0.95\n[[require]]\n"
    'characteristic_at_least = "1.0 MPa"\nmethod = "en1990-known"\nknown_sd = "0.6 MPa"\n'
)
_PLANNED = (
    '[contract]\ntitle = "t"\n[[require]]\nmean_at_least = "1.50 MPa"\n[pulls]\nrequired = 2\n[plan]\n'
    '[[plan.zone]]\nname = "A"\n'
)
_TOLERANCE = (
    '[contract]\ntitle = "t"\n[[require]]\ncharacteristic_at_least = "1.0 MPa"\nmethod = "tolerance"\n'
    "content = 0.95\nconfidence = 0.95\n"
)
_TOGETHER = (
    '[contract]\ntitle = "t"\n[[require]]\n{how} = [{{ failure_share = ["A"], at_least = "60 %" }}, '
    '{{ failure_share = ["{code}"], {side} = "60 %" }}]\n'
)
_CLASSES = (
    '[contract]\ntitle = "t"\n[[require]]\nclasses = [{ name = "A4", all_of = [{ mean_at_least = "1.5 MPa" }] }, '
    '{ name = "A3", all_of = [{ mean_at_least = "1.0 MPa" }] }]\n[[require]]\nmean_at_least = "0.1 MPa"\n'
)
_PARTED = (
    (_RULES, "A,1,1.9,,1\nA,2,1.9,,2\n"),
    (_RULES + _STEPS, "A,1,1.9,,1\nA,2,1.9,,2\nA,3,1.9,,3\nA,4,1.9,,once more\n"),
    (_RULES.replace("required", 'count_by = "measurement"\npulls_per_measurement = 2\nrequired'), "A,1,1.9,,\n"),
    (_RULES.replace("required = 3", 'ceiling = "2 MPa"') + _ASKED_OF_ONE, "A,1,1.9,,\nA,2,1.9,,\nA,3,1.9,,\n"),
    (_TOLERANCE, "A,1,1.9,,\nA,2,1.9,,\nA,3,1.9,,\n"),
    (_TOGETHER.format(how="all_of", code="B", side="at_least"), "A,1,1.9,,\n"),
    (_TOGETHER.format(how="any_of", code="A", side="at_most"), "A,1,1.9,,\n"),
    (_RULES.replace("required = 3", ""), "A,1,>1.2,,\nA,2,>1.2,,\n"),
    (_CLASSES, "A,1,1.9,,\nB,1,>1.1,,\nC,1,0.2,,\nD,1,>0.6,,\n"),
    (_STAGED, "A,1,1.2,bare substrate,\nA,2,1.3,bare substrate,\n"),
)
_SURE = (
    "probability_of_conformity_at_least = 0.95\n"
    '[[uncertainty.component]]\nname = "calibration"\nstandard = "0.03 MPa"\ncommon = true\n'
)
# Pulls that stand in another zone than planned: by the plan's ids, by a second column of zones.
_REZONED = (
    (_PLANNED, "zone,id,strength MPa\nA,Z1-01,1.9\nB,Z1-02,0.9\n"),
    (_PLANNED, "planned zone,zone,id,strength MPa\nA,A,1,1.9\nA,A,2,1.8\nA,B,3,1.9\nB,B,4,1.9\nB,B,5,1.9\n"),
)
# Specifications with something wrong.
_WRONG = (
    "a = [",
    _RULES + "zzzzzz = 1\n",
    "[contrat]\n",
    '[contract]\n[[require]]\nmean_at_least = "1.5"\n',
    _RULES.replace('"t"', '""'),
    _RULES.replace("3", '"three"'),
    _RULES.replace("3", "-3"),
    _RULES.replace("1.50 MPa", "1.50 parsec"),
    _RULES + 'smallest_at_least = "1 MPa"\n',
    _RULES + '[[require]]\npulls_at_or_above = "0.3 MPa"\nat_least = 8\nof = 5\n',
    _RULES.replace("3", "12") + '[[require]]\npulls_at_or_above = "0.3 MPa"\nat_least = 3\nof = 5\n',
    _RULES
    + '[[require]]\ncharacteristic_at_least = "1 MPa"\nmethod = "en1990-unknown"\ncontent = 0.95\nconfidence = 0.75\n',
    '[contract]\ntitle = "t"\n',
    _RULES + 'from = "50 %"\n',
    _RULES + 'groups = ["decks"]\n',
    _RULES + '[[group]]\nname = "a"\nzones = ["A"]\n[[group]]\nname = "a"\nzones = ["B"]\n',
    _RULES + '[[ladder]]\ndo = "refer to the designer"\n[[ladder]]\ndo = "revise and repeat"\n',
    _RULES + 'only_failed = ["A"]\nwithin_same_failure = true\nfrom = "60 %"\n',
    _RULES
    + '[[require]]\neach_pull = [{ failed = ["A"], from = "60 %", at_least = "200 psi" }]\notherwise = "1 MPa"\n',
    _USE.format("EN 1504-3 R4"),
    _USE.format("ISO 4624:2016"),
    _RULES + '[method]\nuse = "EN 1504-3:2005 R4"\n',
    _USE.format("EN 1504-10:2017 site bond"),
    _RULES.replace("required = 3", 'required = 3\nceiling = "1.0 MPa"'),
    _RULES.replace("1.50 MPa", "200 psi and 1.4 MPa"),
    _RULES + 'governs = "MPa"\n',
    _RULES + 'guard = "0.05 MPa"\n' + _SURE,
    _RULES + 'only_failed = ["A"]\nfrom = "50 %"\n' + _SURE,
    _RULES
    + '[[require]]\ncharacteristic_at_least = "1 MPa"\nmethod = "lognormal"\ncontent = 0.95\nconfidence = 0.75\n'
    + _SURE,
)


def _judged() -> Iterator[Message]:
    for text in _JUDGED:
        terms = parse_specification(text.encode(), file="specification.toml")
        reading = readings_from((_HEADS + _ROWS).encode(), file="readings.csv", specification=terms)
        yield from check(reading, terms).messages
        results = assess(reading, terms).as_dict()
        found = results["messages"]
        assert isinstance(found, list)
        yield from (message_of(message) for message in found)
    chain = "zone,id,strength MPa,retest of\n" + "".join(f"A,{i},1.9,{i - 1 or ''}\n" for i in range(1, 110))
    yield from check(readings_from(chain.encode(), file="readings.csv"), None).messages
    parted = [(text, "zone,id,strength MPa,stage,round\n" + rows) for text, rows in _PARTED]
    for text, content in (*parted, *_REZONED):
        terms = parse_specification(text.encode(), file="specification.toml")
        reading = readings_from(content.encode(), file="readings.csv", specification=terms)
        found = assess(reading, terms).as_dict()["messages"]
        assert isinstance(found, list)
        yield from (message_of(message) for message in found)
    yield from check(readings_from((_HEADS + _ROWS).encode(), file="readings.csv")).messages


def _planned() -> Iterator[Message]:
    for text in (*CAN_NOT_BE_PLANNED, *SAYS_SOMETHING, *SAYS_RISK):
        terms = parse_specification(text.encode(), file="specification.toml")
        try:
            found = make_plan(terms).as_dict()["messages"]
        except InvalidSpecification as refused:
            yield from refused.messages
        else:
            assert isinstance(found, list)
            yield from (message_of(message) for message in found)


def _refused() -> Iterator[Message]:
    for text in (*_WRONG, *NOT_A_PLAN):
        try:
            parse_specification(text.encode(), file="specification.toml")
        except InvalidSpecification as refused:
            yield from refused.messages
    check = Checker("specification.toml")
    twice = library()["EN 1504-3:2005 R4"]
    parts = [{"smallest_at_least": "1.0 MPa"}, {"smallest_at_least": "1.5 MPa"}]
    merged_rule(check, {"any_of": parts}, {"smallest_at_least": "2.0 MPa"}, "require[1]", twice)
    yield from check.problems
    yield Message("file_not_readable", Severity.ERROR, Place("readings.csv"), {"problem": "No such file or directory"})


def said() -> dict[str, list[Message]]:
    """Every message that the files of the tests bring about, by code."""
    found: dict[str, list[Message]] = {}
    with pytest.MonkeyPatch.context() as patch:
        messages = everything(patch)
    for message in (*messages, *_judged(), *_planned(), *_refused()):
        found.setdefault(message.code, []).append(message)
    return found


def _plural(text: str) -> str:
    return re.sub(r"\[([^\[\]|]*)\|([^\[\]|]*)\]", r"\2", text)


def _code_span(text: str) -> str:
    """Text as it stands, in a code span of Markdown."""
    fence = "`" * (max((len(run) for run in re.findall("`+", text)), default=0) + 1)
    return f"{fence} {text} {fence}"


def page() -> str:
    """The page as it should be."""
    found = said()
    lines = [_HEAD]
    for title, codes in _GROUPS:
        lines.append(f"## {title}\n")
        for code in codes:
            cause, mend = CAUSES[code]
            examples = found.get(code, [])
            severities = " or ".join(sorted({message.severity.value for message in examples}))
            shortest = min((say_with_place(message) for message in examples), key=lambda text: (len(text), text))
            lines += [
                f"### {code}\n",
                f"* Severity: {severities}",
                f"* Says: {_code_span(_plural(SENTENCES[code]))}",
                f"* Cause: {cause}",
                f"* Mend: {mend}",
                f"* Example: {_code_span(shortest)}\n",
            ]
    return "\n".join(lines).rstrip() + "\n"


if __name__ == "__main__":
    PAGE.write_text(page(), encoding="utf-8", newline="\n")
    print(f"{PAGE}: {len(CAUSES)} findings")
