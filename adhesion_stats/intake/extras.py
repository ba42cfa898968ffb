"""The optional columns of a readings file: dates, yes/no columns, labels and conditions with their units."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING

import numpy as np

from adhesion_stats.coded import Coded, Texts
from adhesion_stats.intake.dates import DateColumn, read_dates
from adhesion_stats.intake.grid import Kind
from adhesion_stats.intake.markers import Meaning, is_missing, is_no, is_yes, meaning
from adhesion_stats.intake.numeric import read_numbers
from adhesion_stats.messages import Severity
from adhesion_stats.pulls import CONDITIONS, LABELS

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from adhesion_stats.intake.findings import Findings
    from adhesion_stats.intake.proposal import Plan
    from adhesion_stats.intake.table import Column, Table
    from adhesion_stats.terms.layout import Layout

__all__ = ["conditions_of", "dates_of", "labels_of", "lost_of"]

_YES_NO = ("cut", "hollow")
_CUT_YES = (
    "cut",
    "scored",
    "cored",
    "geschnitten",
    "eingeschnitten",
    "angebohrt",
    "freigeschnitten",
    "entaille",
    "cortado",
    "inciso",
    "tagliato",
    "naciete",
)
_CUT_NO = (
    "uncut",
    "not cut",
    "unscored",
    "not scored",
    "nicht geschnitten",
    "ungeschnitten",
    "non entaille",
    "sin cortar",
    "non inciso",
    "nao cortado",
    "nienaciete",
)
_HOLLOW_NO = ("sound", "solid", "fest", "sain", "sano", "pieno", "nicht hohl")
_HOLLOW_YES = ("hollow", "hohl", "creux", "hueco", "vuoto", "oco", "gluchy")
_DEFAULT_UNIT = {"age_days": "d", "temperature_c": "°C", "moisture_percent": "%", "time_to_failure_s": "s"}


def dates_of(table: Table, column: Column, layout: Layout, findings: Findings, order: str | None = None) -> Texts:
    """ISO dates of a column ("" where not given or not sure)."""
    plain = [text for text, detail in zip(column.texts, column.details, strict=True) if detail is None]
    stored = [k for k, detail in enumerate(column.details) if detail is not None]
    texts = ["" if is_missing(text) else text for text in plain]
    read: DateColumn = read_dates(texts, layout.date_order or order)
    iso = dict(zip(plain, read.iso, strict=True))
    out = [
        iso.get(text, "") if detail is None else detail.iso
        for text, detail in zip(column.texts, column.details, strict=True)
    ]
    sheet, heading = table.grid.sheet, column.heading
    if layout.date_order in {"serial", "serial 1904"}:
        numbers = read_dates([column.texts[k] for k in stored], layout.date_order)
        for k, value in zip(stored, numbers.iso, strict=True):
            out[k] = out[k] or value
    for code, texts_of in (
        ("date_ambiguous", read.ambiguous),
        ("date_unreadable", read.bad),
        ("date_serial", read.serial),
    ):
        wanted = set(texts_of)
        flags = [detail is None and text in wanted for text, detail in zip(column.texts, column.details, strict=True)]
        if code == "date_serial":
            flags = [
                flag or (detail is not None and detail.kind is Kind.NUMBER and not out[k])
                for k, (flag, detail) in enumerate(zip(flags, column.details, strict=True))
            ]
        findings.add_rows(
            code,
            Severity.WARNING,
            table.seen(column.where(flags), column),
            sheet=sheet,
            column=heading,
            facts=_both_ways(texts_of, clashing=read.clashing),
        )
    return Coded(column.codes, tuple(out))


def _both_ways(texts: tuple[str, ...], *, clashing: bool) -> dict[str, str | bool]:
    if not texts:
        return {"clashing": clashing, "day_first": "", "month_first": "", "year_first": ""}
    day, month, year = (read_dates(texts[:1], order).iso[0] for order in ("DMY", "MDY", "YMD"))
    year = year if texts[0].count("-") == 2 else ""
    ways = {"day_first": day or "no date", "month_first": month or "no date"}
    return {"clashing": clashing, **ways, "year_first": f" ({year} with the year first: YMD)" if year else ""}


def lost_of(
    table: Table, plan: Plan, findings: Findings, by_word: NDArray[np.bool_], without_value: NDArray[np.bool_]
) -> NDArray[np.bool_]:
    """Pulls lost before loading: by a word in the value's cell, by the column for it, or by a remark without value."""
    lost = by_word.copy()
    if "lost" in plan.columns:
        column = table.columns[plan.columns["lost"]]
        yes = [
            is_yes(text) or meaning(text) is Meaning.LOST or (meaning(text) is Meaning.WORD and not is_no(text))
            for text in column.texts
        ]
        lost |= column.where([bool(text) and flag for text, flag in zip(column.texts, yes, strict=True)])
    for name in ("remark", "failure"):
        if name in plan.columns:
            column = table.columns[plan.columns[name]]
            asked = np.flatnonzero(without_value)  # a remark beside a value says nothing about its loss
            said = {code: meaning(column.texts[code]) is Meaning.LOST for code in set(column.codes[asked].tolist())}
            lost[asked] |= np.array([said[code] for code in column.codes[asked].tolist()], np.bool_)
    findings.add_rows("lost_before_loading", Severity.NOTE, table.seen(lost), sheet=table.grid.sheet)
    return lost


def labels_of(table: Table, plan: Plan, findings: Findings) -> dict[str, Texts]:
    """The text columns that the file has; cut and hollow as "yes", "no" or ""."""
    labels: dict[str, Texts] = {}
    for name in LABELS:
        if name not in plan.columns:
            continue
        column = table.columns[plan.columns[name]]
        if not column.filled_text.any():
            continue
        if name in _YES_NO:
            said = [_yes_no(name, text) for text in column.texts]
            unknown = column.where([value is None for value in said])
            findings.add_rows(
                "yes_or_no_unclear",
                Severity.WARNING,
                table.seen(unknown, column),
                sheet=table.grid.sheet,
                column=column.heading,
            )
            labels[name] = Coded(column.codes, tuple(value or "" for value in said))
        else:
            labels[name] = column.cells
    return labels


def _yes_no(name: str, text: str) -> str | None:
    from adhesion_stats.intake.folding import fold

    if not text or text.casefold() in {"?", "n/a", "n.a."}:
        return ""
    folded = fold(text)
    yes, no = (_CUT_YES, _CUT_NO) if name == "cut" else (_HOLLOW_YES, _HOLLOW_NO)
    if folded in no or is_no(text):
        return "no"
    if folded in yes or is_yes(text):
        return "yes"
    return "yes" if name == "cut" and text[:1].isdigit() else None


def conditions_of(
    table: Table, plan: Plan, units: dict[str, str], layout: Layout, findings: Findings
) -> dict[str, NDArray[np.float64]]:
    """The number columns that the file has, in the unit of their name; what can't be read is said and not used."""
    found: dict[str, NDArray[np.float64]] = {}
    for name in CONDITIONS:
        field = "dolly" if name == "dolly_mm" else name
        if field not in plan.columns or field == "dolly":
            continue
        column = table.columns[plan.columns[field]]
        if not any(column.texts):
            continue
        unit = units.get(field, "") or _DEFAULT_UNIT.get(field, "")
        numbers = read_numbers(
            table,
            column,
            field,
            unit=unit,
            row_units=None,
            layout=layout,
            findings=findings,
            plausible=None,
            must=False,
        )
        found[name] = numbers.value
    return found


def ages(applied: Texts, tested: Texts) -> NDArray[np.float64]:
    """Age at test [d] from two sure dates, nan where one is missing."""
    return _ordinals(tested) - _ordinals(applied)


def _ordinals(dates: Texts) -> NDArray[np.float64]:
    return dates.numbers(lambda date: dt.date.fromisoformat(date).toordinal() if date else np.nan)
