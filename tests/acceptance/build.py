"""Small zones for the tests of decisions: rows and nested tuples (see ``tests.oracle_decisions``) as the package's
own types.
"""

from __future__ import annotations

import numpy as np

from adhesion_stats.acceptance.collect import Cases, cases
from adhesion_stats.coded import Coded
from adhesion_stats.pulls import Bound, Pulls
from adhesion_stats.standing import Flag, Reason, Standing
from adhesion_stats.terms.criteria import Requirement
from adhesion_stats.terms.parse import parse_specification
from adhesion_stats.terms.silence import Settled
from adhesion_stats.terms.specification import Specification

Row = dict[str, object]
BOUNDS = {"exact": Bound.EXACT, "at least": Bound.AT_LEAST, "at most": Bound.AT_MOST}


def row(
    value: float | None,
    *,
    zone: str = "Z",
    bound: str = "exact",
    failure: dict[str, float] | None = None,
    counted: bool = True,
    lost: bool = False,
    held: bool = False,
    flagged: bool = False,
) -> Row:
    """One pull."""
    return {
        "zone": zone, "value": value, "bound": bound, "failure": failure, "counted": counted and not lost, "lost": lost,
        "held": held, "flagged": flagged,
    }  # fmt: skip


def pulls_of(rows: list[Row]) -> Pulls:
    """The rows as read."""
    codes = tuple(sorted({code for r in rows if isinstance(r["failure"], dict) for code in r["failure"]}))
    n = len(rows)
    shares = [
        tuple(float(r["failure"].get(code, 0.0)) for code in codes) if isinstance(r["failure"], dict) else ()
        for r in rows
    ]
    values = np.array([np.nan if r["value"] is None else r["value"] for r in rows], dtype=np.float64)
    return Pulls(
        file="t.csv", digest="", sheet=Coded.same("", n), row=np.arange(2, n + 2),
        id=Coded.of(f"P{i + 1}" for i in range(n)), zone=Coded.of(str(r["zone"]) for r in rows), strength_mpa=values,
        bound=np.array(
            [Bound.NOTHING if r["value"] is None else BOUNDS[str(r["bound"])] for r in rows], dtype=np.int8
        ),
        load_n=np.full(n, np.nan), area_mm2=np.full(n, np.nan), failure_codes=codes, failures=Coded.of(shares),
        lost=np.array([bool(r["lost"]) for r in rows], dtype=np.bool_), retest_of=Coded.same("", n),
        exclusion=Coded.same("", n), doubts=Coded.same((), n), date=Coded.same("", n), entered=Coded.same("", n),
    )  # fmt: skip


def standing_of(rows: list[Row]) -> Standing:
    """The rows as judged."""
    reasons = [int(Reason.LOST) if r["lost"] else 0 if r["counted"] else int(Reason.GLUE) for r in rows]
    return Standing(
        reasons=np.array(reasons, dtype=np.int64),
        who=Coded.of("" if reason == 0 else "rule" for reason in reasons),
        flags=np.array([int(Flag.GRUBBS_LOW) if r["flagged"] else 0 for r in rows], dtype=np.int64),
        at_least=np.array([bool(r["held"]) for r in rows], dtype=np.bool_),
    )


def settled(*, there_from: float = 50.0, lost: str = "unknown") -> Settled:
    """Silent rules settled."""
    return Settled(50.0, "at least", there_from, "unknown" if lost == "unknown" else "left out")


def criterion_toml(c: tuple[object, ...], unit: str = "MPa") -> str:
    """One criterion, or all of / any of, as the specification writes it."""
    kind = c[0]
    if kind in {"all", "any"}:
        return f"{{ {kind}_of = [{', '.join(criterion_toml(part, unit) for part in c[1:])}] }}"  # type: ignore[arg-type]
    if kind in {"share", "pulls"}:
        codes = "[" + ", ".join(f'"{code}"' for code in c[1]) + "]"  # type: ignore[attr-defined]
        if kind == "share":
            return f'{{ failure_share = {codes}, {str(c[2]).replace(" ", "_")} = "{c[3]} %" }}'
        return f'{{ pulls_with_failure = {codes}, from = "{c[2]} %", {str(c[3]).replace(" ", "_")} = "{c[4]} %" }}'
    asked = f'question = "{c[1]}"'
    limit = f'"{c[2]:.10g} {unit}"' if isinstance(c[2], float) else f'"{c[2]}"'
    if kind == "mean":
        return f"{{ mean_at_least = {limit}, {asked} }}"
    if kind == "smallest":
        return f"{{ smallest_at_least = {limit}, {asked} }}"
    further = _further_toml(c, limit, asked, unit)
    if further:
        return further
    if kind == "z of n":
        return f"{{ pulls_at_or_above = {limit}, at_least = {c[3]}, of = {c[4]}, {asked} }}"
    if kind == "tolerance":
        levels = f"content = {c[3]}, confidence = {c[4]}"
        return f'{{ characteristic_at_least = {limit}, method = "tolerance", {levels}, {asked} }}'
    if kind == "en unknown":
        return f'{{ characteristic_at_least = {limit}, method = "en1990-unknown", {asked} }}'
    assert kind in {"en sd", "en cov"}, kind
    known = f'known_sd = "{c[3]} {unit}"' if kind == "en sd" else f"known_cov = {c[3]}"
    return f'{{ characteristic_at_least = {limit}, method = "en1990-known", {known}, {asked} }}'


def _further_toml(c: tuple[object, ...], limit: str, asked: str, unit: str) -> str:
    """The kinds with a spread, shares and proof loads; "" for others."""
    kind = c[0]
    plain = {
        "cov": f'cov_at_most = "{c[2]} %"',
        "of mean": f'smallest_at_least_of_mean = "{c[2]} %"',
        "held": f"held_at = {limit}",
    }
    if kind in plain:
        return f"{{ {plain[str(kind)]}, {asked} }}"
    if kind in {"less sd", "index", "below", "part"}:
        written = {
            "less sd": f"mean_less_sd_at_least = {limit}, k = {c[3]}",
            "index": f"quality_index_at_least = {c[3]}, lower_limit = {limit}",
            "below": f'share_below_at_most = "{c[3]} %", lower_limit = {limit}',
            "part": f'pulls_at_or_above = {limit}, at_least_share = "{c[3]} %"',
        }
        return f"{{ {written[str(kind)]}, {asked} }}"
    methods = {"known sd": "tolerance-known-sd", "order": "order-statistic", "lognormal": "lognormal"}
    levels = ""
    if kind in methods:
        known = f', known_sd = "{c[5]} {unit}"' if kind == "known sd" else ""
        levels = f", content = {c[3]}, confidence = {c[4]}{known}"
    elif kind == "iso12491":
        levels = f", confidence = {c[3]}"
    elif kind not in {"en14358-normal", "en14358-lognormal"}:
        return ""
    return f'{{ characteristic_at_least = {limit}, method = "{methods.get(str(kind), kind)}"{levels}, {asked} }}'


def specification(
    requirement: tuple[object, ...],
    *,
    required: int | None = None,
    ceiling: float | None = None,
    rounding: str = "",
    pulls: str = "",
    unit: str = "MPa",
) -> Specification:
    """A contract that asks one requirement of every zone."""
    inner = criterion_toml(requirement, unit)
    text = f'[contract]\ntitle = "t"\n[[require]]\n{_body(inner)}\n[pulls]\n{pulls}\n'
    if required is not None and required > 0:
        text += f"required = {required}\n"
    if ceiling is not None:
        text += f'ceiling = "{ceiling} {unit}"\n'
    if rounding:
        text += f"[rounding]\n{rounding}\n"
    return parse_specification(text.encode(), file="t.toml")


def _body(table: str) -> str:
    """``{ a = 1, b = 2 }`` as lines of a [[require]] table."""
    inner = table.strip()[1:-1].strip()
    depth = 0
    parts, current = [], ""
    for character in inner:
        depth += character in "[{"
        depth -= character in "]}"
        if character == "," and depth == 0:
            parts.append(current)
            current = ""
        else:
            current += character
    return "\n".join(part.strip() for part in [*parts, current])


def requirement_of(spec: Specification) -> Requirement:
    """The requirement of the only rule."""
    found = spec.requirement_for("Z")
    assert found is not None
    return found


def cases_of(rows: list[Row], spec: Specification, how: Settled | None = None, zones: tuple[str, ...] = ()) -> Cases:
    """The values of the rows' zones."""
    names = zones or tuple(dict.fromkeys(str(r["zone"]) for r in rows)) or ("Z",)
    return cases(pulls_of(rows), standing_of(rows), spec, how or settled(), names)
