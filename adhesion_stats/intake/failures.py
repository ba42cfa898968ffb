"""Failure composition of each pull: from one text column, or from a column per letter."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from adhesion_stats.coded import Coded
from adhesion_stats.intake.failure_codes import Composition, FailureProblem, canonical, order_of, parse_failure, settle
from adhesion_stats.intake.failure_words import code_of_words
from adhesion_stats.intake.grid import Kind
from adhesion_stats.intake.headings import letter_code
from adhesion_stats.intake.markers import Meaning, is_yes, meaning
from adhesion_stats.intake.numbers import parse
from adhesion_stats.intake.proof import Held, held_in_words
from adhesion_stats.messages import Severity

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from adhesion_stats.intake.findings import Findings
    from adhesion_stats.intake.proposal import Plan
    from adhesion_stats.intake.table import Column, Table
    from adhesion_stats.terms.layout import Layout

__all__ = ["Failures", "check_legend", "read_failures"]

Shares = tuple[float, ...]  # by code [%]; () where nothing is recorded or accepted
Failures = tuple[tuple[str, ...], Coded[Shares]]

_LEGEND = re.compile(
    r"(?:(?:^|[;,|(\n]\s*|(?:legend|key|legende|leyenda|legenda|modes?|code|codes)\s*:?\s+)(?P<letter>-/Y|[A-HYZ](?:/[A-HYZ])?)\s*(?:=|:|[-–—]\s)|\s(?P<other>-/Y|[A-HYZ](?:/[A-HYZ])?)\s*=)\s*(?P<meaning>[^=;,:|]{3,}?)(?=$|[;,|\n)]|\s[A-HYZ](?:/[A-HYZ])?\s*[=:])",
    re.MULTILINE,
)


def read_failures(table: Table, plan: Plan, layout: Layout, findings: Findings, glue: NDArray[np.bool_]) -> Failures:
    """Return codes, and for each pull the share of each code [%], () where not recorded or not accepted.

    ``glue``: pulls whose value cell says that the dolly adhesive broke; they get 100 % Y where no composition stands.
    """
    sources: list[tuple[list[Composition], NDArray[np.int32]]] = []
    if plan.shares:
        sources.append(_from_columns(table, plan, layout, findings))
    if "failure" in plan.columns:
        column = table.columns[plan.columns["failure"]]
        sources.append((_from_text(table, column, layout, findings), column.codes))
    said = {code for compositions, _ in sources for c in compositions for code, _ in c.shares}
    codes = sorted(said | ({"Y"} if glue.any() else set()), key=order_of)
    shares: Coded[Shares] | None = None
    for compositions, which in sources:
        other = Coded(which, tuple(_shares(composition, codes) for composition in compositions))
        shares = other if shares is None else _both(table, shares, other, findings)
    if shares is None:
        shares = Coded.same((), len(table))
    if glue.any():
        bare = glue & shares.where(lambda known: not known)
        shares = shares.put(bare, tuple(100.0 if code == "Y" else 0.0 for code in codes))
        findings.add_rows("glue_word_as_failure", Severity.NOTE, table.seen(bare), sheet=table.grid.sheet)
    return tuple(codes), shares


def _both(table: Table, first: Coded[Shares], other: Coded[Shares], findings: Findings) -> Coded[Shares]:
    """Shares of two sources: where one is silent the other speaks, where they differ neither counts."""
    pairs = first.beside(other)
    clash = pairs.where(_clash)
    findings.add_rows("failure_twice", Severity.WARNING, table.seen(clash), sheet=table.grid.sheet)
    return pairs.map(lambda pair: () if _clash(pair) else pair[0] or pair[1])


def _clash(pair: tuple[Shares, Shares]) -> bool:
    return bool(pair[0]) and bool(pair[1]) and pair[0] != pair[1]


def _shares(composition: Composition, codes: list[str]) -> Shares:
    """Share of each code; () where there is no composition."""
    known = dict(composition.shares)
    return tuple(float(known.get(code, 0.0)) for code in codes) if known else ()


def _from_text(table: Table, column: Column, layout: Layout, findings: Findings) -> list[Composition]:
    c1583 = layout.failure_letters == "C1583"
    found: list[Composition] = []
    for text, detail in zip(column.texts, column.details, strict=True):
        said = text
        if detail is not None and detail.kind is Kind.NUMBER:
            said = f"{text} ?" if text else ""
        if text and text not in layout.failure_words and held_in_words(text) is Held.HELD:
            found.append(Composition(problem=FailureProblem.BLANK))  # a proof load that held: nothing broke
            continue
        composition = parse_failure(said, layout.failure_words, c1583=c1583)
        unclear = composition.problem is FailureProblem.UNCLEAR
        if unclear and meaning(text) in {Meaning.MISSING, Meaning.BLANK}:
            composition = Composition(problem=FailureProblem.BLANK)
        found.append(composition)
    whole = code_of_words(column.heading)  # a column "glue failure" holds yes, no or a cross
    if whole:
        found = [
            Composition(((whole, 100.0),), words=True) if text and is_yes(text) else c
            for text, c in zip(column.texts, found, strict=True)
        ]
    elif not c1583 and layout.failure_letters is None and not layout.failure_words:
        found = _other_letters(column, found)
    lower = [text for text in column.texts if text]
    if (
        lower
        and not c1583
        and layout.failure_letters is None
        and not layout.failure_words
        and all(text in {"a", "b", "c", "d"} for text in lower)
    ):
        found = [
            Composition(problem=FailureProblem.SCHEME) if text else c
            for text, c in zip(column.texts, found, strict=True)
        ]
    if layout.failure_letters == "EN 1542":
        found = [
            parse_failure(re.sub(r"[()]|mode|type", " ", text, flags=re.IGNORECASE).upper(), layout.failure_words)
            if c.problem is FailureProblem.SCHEME
            else c
            for text, c in zip(column.texts, found, strict=True)
        ]
    _say(table, column, found, findings)
    return found


def _other_letters(column: Column, found: list[Composition]) -> list[Composition]:
    """Beside a letter that is none of EN 1542 (``K``), the letters alone may mean other things too: not accepted."""
    odd = any(
        len(text) == 1 and text.isalpha() and text.isascii() and c.problem is FailureProblem.UNCLEAR
        for text, c in zip(column.texts, found, strict=True)
    )
    if not odd:
        return found
    return [
        Composition(problem=FailureProblem.LETTERS) if len(text) == 1 and text.isalpha() else c
        for text, c in zip(column.texts, found, strict=True)
    ]


def _say(table: Table, column: Column, found: list[Composition], findings: Findings) -> None:
    sheet, heading = table.grid.sheet, column.heading
    for problem, code, severity in (
        (FailureProblem.UNCLEAR, "failure_unclear", Severity.WARNING),
        (FailureProblem.NO_SHARES, "failure_no_shares", Severity.WARNING),
        (FailureProblem.SCHEME, "failure_scheme", Severity.ERROR),
        (FailureProblem.LETTERS, "failure_letters_unknown", Severity.ERROR),
    ):
        mask = column.where([c.problem is problem for c in found])
        findings.add_rows(code, severity, table.seen(mask, column), sheet=sheet, column=heading)
    sums = column.where([c.problem is FailureProblem.SUM for c in found])
    seen = table.seen(sums, column, [f"{text} = {c.total:g} %" for text, c in zip(column.texts, found, strict=True)])
    findings.add_rows("failure_sum", Severity.WARNING, seen, sheet=sheet, column=heading)
    _say_accepted(table, column, found, findings)
    words = {text: c for text, c in zip(column.texts, found, strict=True) if c.words and c.shares}
    if words:
        taken = tuple(
            f'"{text}" = ' + " + ".join(f"{code} {share:g} %" for code, share in c.shares) for text, c in words.items()
        )
        findings.add("failure_words", Severity.NOTE, sheet=sheet, column=heading, facts={"taken": taken})


def _say_accepted(table: Table, column: Column, found: list[Composition], findings: Findings) -> None:
    sheet, heading = table.grid.sheet, column.heading
    rounded = column.where([bool(c.shares) and abs(c.total - 100.0) > 1e-6 for c in found])
    findings.add_rows("failure_sum_rounded", Severity.NOTE, table.seen(rounded, column), sheet=sheet, column=heading)
    scaled = column.where([c.scaled for c in found])
    findings.add_rows("failure_scaled", Severity.NOTE, table.seen(scaled, column), sheet=sheet, column=heading)
    fine = column.where([any(abs(share / 10 - round(share / 10)) > 1e-6 for _, share in c.shares) for c in found])
    findings.add_rows("failure_not_tens", Severity.NOTE, table.seen(fine, column), sheet=sheet, column=heading)


def _from_columns(
    table: Table, plan: Plan, layout: Layout, findings: Findings
) -> tuple[list[Composition], NDArray[np.int32]]:
    """One column per letter: a number is a share in percent, a cross alone means all of it, blank means none.

    A layout may say that a letter means another code in this file.
    """
    codes = sorted(plan.shares, key=order_of)
    columns = [table.columns[plan.shares[code]] for code in codes]
    means = [layout.failure_words.get(code, canonical(code) or code) for code in codes]
    _say_word_columns(table, columns, codes, findings)
    parsed = []
    for column in columns:
        values = np.zeros(len(column.texts))
        for k, (text, detail) in enumerate(zip(column.texts, column.details, strict=True)):
            values[k] = _share(
                text,
                detail.value if detail is not None and detail.kind is Kind.NUMBER else None,
                percent=detail is not None and detail.percent,
            )
        parsed.append(values)
        bad = column.where([bool(np.isnan(value)) for value in values])
        findings.add_rows(
            "failure_unclear", Severity.WARNING, table.seen(bad, column), sheet=table.grid.sheet, column=column.heading
        )
    stacked = np.stack([values[column.codes] for values, column in zip(parsed, columns, strict=True)], axis=1)
    filled = np.logical_or.reduce([column.filled for column in columns])
    unique, which = np.unique(np.nan_to_num(stacked, nan=-1e9), axis=0, return_inverse=True)
    found: list[Composition] = []
    for shares in unique:
        if not np.any(shares):
            found.append(Composition(problem=FailureProblem.BLANK))
        elif np.any(shares < -1e8):
            found.append(Composition(problem=FailureProblem.UNCLEAR))
        elif np.count_nonzero(shares == -1.0) == 1 and np.count_nonzero(shares) == 1:
            found.append(Composition(((means[int(np.flatnonzero(shares)[0])], 100.0),)))
        else:
            by_code: dict[str, float] = {}
            for code, share in zip(means, shares.tolist(), strict=True):
                by_code[code] = by_code.get(code, 0.0) + share
            found.append(settle(by_code))
    rows: NDArray[np.int32] = np.asarray(which.reshape(-1), np.int32)
    _say_columns(table, found, rows, filled, columns, findings)
    return found, rows


def _say_word_columns(table: Table, columns: Sequence[Column], codes: Sequence[str], findings: Findings) -> None:
    """Say which headings of shares were words and for what they were taken."""
    taken = tuple(
        f'"{column.heading}" = {code}'
        for column, code in zip(columns, codes, strict=True)
        if letter_code(column.heading) is None
    )
    if taken:
        findings.add("failure_words", Severity.NOTE, sheet=table.grid.sheet, facts={"taken": taken})


def _share(text: str, stored: float | None, *, percent: bool) -> float:
    """Share in percent; -1 for a cross; nan for what is no share."""
    if stored is not None:
        return stored * 100.0 if percent else stored
    if text.casefold() in {"x", "✓", "✔", "✗", "yes", "ja", "oui", "si", "sim", "tak"}:
        return -1.0
    if not text or meaning(text) is Meaning.MISSING:
        return 0.0
    body, number = parse(text.rstrip("% ").strip())
    return (
        number.value if not body.bound and not body.mark and not number.problem and number.value >= 0 else float("nan")
    )


def _say_columns(
    table: Table,
    found: list[Composition],
    which: NDArray[np.int32],
    filled: NDArray[np.bool_],
    columns: Sequence[Column],
    findings: Findings,
) -> None:
    heading = ", ".join(column.heading for column in columns)
    sheet = table.grid.sheet

    def rows(test: list[bool]) -> NDArray[np.bool_]:
        return np.asarray(test, np.bool_)[which] & filled

    sums = rows([c.problem is FailureProblem.SUM for c in found])
    seen = replace(table.seen(sums), cells=Coded(which, [f"= {c.total:g} %" for c in found]))
    findings.add_rows("failure_sum", Severity.WARNING, seen, sheet=sheet, column=heading)
    for code, test in (
        ("failure_sum_rounded", [bool(c.shares) and abs(c.total - 100.0) > 1e-6 for c in found]),
        ("failure_scaled", [c.scaled for c in found]),
        ("failure_not_tens", [any(abs(share / 10 - round(share / 10)) > 1e-6 for _, share in c.shares) for c in found]),
    ):
        findings.add_rows(code, Severity.NOTE, table.seen(rows(test)), sheet=sheet, column=heading)


def check_legend(
    texts: Sequence[tuple[str, int, str]], column: str, plan: Plan, layout: Layout, findings: Findings
) -> None:
    """Ask where the file explains its letters otherwise than EN 1542; ``texts`` are (sheet, row, text) outside the
    table.
    """
    if layout.failure_letters is not None or not ("failure" in plan.columns or plan.shares):
        return
    for sheet, row, text in texts:
        for match in _LEGEND.finditer(text[:400]):
            letter, said = match["letter"] or match["other"], match["meaning"].strip()
            means = code_of_words(said)
            if means == letter or letter in layout.failure_words:
                continue
            if not means and not re.search(
                r"fail|fract|bruch|versag|rupt|rott|coh|adh|koh|cohes|substr|concrete|beton|bond|interface|glue|layer|coat|schicht|kleb|colle|mort",
                said,
                re.IGNORECASE,
            ):
                continue
            facts = {"letter": letter, "meaning": said, "standard": _STANDARD.get(letter, "?")}
            facts["code"] = means or "code"
            findings.add("failure_legend", Severity.ERROR, sheet=sheet, row=row or None, column=column, facts=facts)


_STANDARD = {
    "A": "substrate",
    "A/B": "between substrate and first layer",
    "B": "first layer",
    "B/C": "between first and second layer",
    "C": "second layer",
    "-/Y": "last layer to dolly adhesive",
    "Y": "dolly adhesive",
    "Y/Z": "dolly adhesive to dolly",
}
