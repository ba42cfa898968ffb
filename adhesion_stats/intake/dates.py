"""Texts of a date column -> ISO dates. The order of day and month comes from the whole column, or the dates are not
used.
"""

from __future__ import annotations

import datetime as dt
import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

from adhesion_stats.intake.folding import fold
from adhesion_stats.intake.numbers import plain_digits

if TYPE_CHECKING:
    from collections.abc import Iterable

__all__ = ["DateColumn", "looks_like_turned_date", "of_something_else", "read_dates"]

_MONTHS = {
    stem: number
    for number, stems in enumerate(
        (
            "jan ene gen sty",
            "feb fev fév lut",
            "mar mär maer mrz mars marz",
            "apr avr abr kwi",
            "may mai mag maj maggio mayo",
            "jun juin giu cze",
            "jul juil lug lip",
            "aug aou aoû ago sie",
            "sep set wrz",
            "oct okt ott out paz paź",
            "nov lis",
            "dec dez dic dés gru",
        ),
        start=1,
    )
    for stem in stems.split()
}
_NUMERIC = re.compile(
    r"(?:[^\W\d_]{2,}\.?,?\s+)?(\d{1,4})\s*([./-])\s*(\d{1,2})\s*\2\s*(\d{1,4})(?:[\sT,]+\d{1,2}:\d{2}(?::\d{2}(?:\.\d+)?)?\s*(?:[ap]m)?Z?)?",
    re.IGNORECASE,
)
_NAMED = re.compile(
    r"(?:[^\W\d_]{2,}\.?,?\s+)?(\d{1,2})\.?(?:st|nd|rd|th|er|"
    r"º)?[\s.-]*(?:de |of )?([^\W\d_]{3,})\.?[\s.,-]*(?:de )?(\d{2,4})",
    re.IGNORECASE,
)
_NAMED_US = re.compile(r"([^\W\d_]{3,})\.?\s+(\d{1,2})(?:st|nd|rd|th)?,?\s+(\d{4})", re.IGNORECASE)
_COMPACT = re.compile(r"((?:19|20)\d{2})(\d{2})(\d{2})")
_TURNED = re.compile(r"\d{1,2}[-. ]+(?P<month>[^\W\d_]{3,4})\.?|(?P<month2>[^\W\d_]{3,4})[-. ]+\d{2}", re.IGNORECASE)
_TWO_DIGIT_PIVOT = 80  # 24 -> 2024, 85 -> 1985
_YEARS = (1950, 2100)  # in which pulls were made; common practice, no published source


# A date with one of these is that of something else than the test; with one of the second list only where no word of
# testing stands beside it ("date of bond test", "core test date").
_NO_TEST_DATE = (
    "glu", "cast", "pour", "report", "calib", "production", "issue", "receiv", "sampl", "coring", "drill", "cured",
    "delivery", "klebe", "kleb ", "betonier", "bericht", "kalibr", "entnahme", "lieferung", "coulage", "collage",
    "rapport", "etalonn", "fabricac", "informe", "hormigonad", "getto", "incoll", "relazione", "concretagem",
    "relatorio", "colagem", "betonowan", "raport", "kleje", "taratura", "print",
)  # fmt: skip
_PERHAPS_NO_TEST_DATE = ("bond", "core", "repair")
_TESTING = ("test", "pull")


@dataclass(frozen=True)
class DateColumn:
    """ISO date of each distinct text ("" where it gives none), the order used, and what was wrong.

    ``order`` is DMY, MDY, YMD or "" (not needed); ``ambiguous`` texts could be read both ways, ``bad`` ones not at all.
    """

    iso: tuple[str, ...]
    order: str
    ambiguous: tuple[str, ...] = ()
    clashing: bool = False
    bad: tuple[str, ...] = ()
    serial: tuple[str, ...] = ()


def _iso(year: int, month: int, day: int) -> str:
    if year < 100:
        year += 2000 if year < _TWO_DIGIT_PIVOT else 1900
    if not _YEARS[0] <= year <= _YEARS[1]:  # "03.04.0024", a year of another calendar, or a slip
        return ""
    try:
        return dt.date(year, month, day).isoformat()
    except ValueError:
        return ""


def _month(word: str) -> int:
    folded = fold(word)
    for length in (4, 3):
        if folded[:length] in _MONTHS:
            return _MONTHS[folded[:length]]
    return 0


def looks_like_turned_date(text: str) -> bool:
    """Whether an id looks like one that a spreadsheet turned into a date (``05-Mar``, ``Mrz 07``).

    >>> looks_like_turned_date("05-Mar"), looks_like_turned_date("P-05")
    (True, False)
    """
    found = _TURNED.fullmatch(text.strip())
    return bool(found and _month(found["month"] or found["month2"]))


def of_something_else(heading: str) -> bool:
    """Whether a folded heading names the day of something else than the test.

    >>> of_something_else("date of gluing"), of_something_else("date of bond test"), of_something_else("bond date")
    (True, False, True)
    """
    tested = any(word in heading for word in _TESTING)
    return any(word in heading for word in (*_NO_TEST_DATE, *(() if tested else _PERHAPS_NO_TEST_DATE)))


def read_dates(texts: Iterable[str], order: str | None = None) -> DateColumn:
    """Read the distinct texts of one column; ``order`` is what a layout says (DMY, MDY, YMD, serial, serial 1904)."""
    items = [plain_digits(text).strip() for text in texts]
    parts = [_NUMERIC.fullmatch(item) for item in items]
    slashed = [p for p in parts if p and len(p[1]) <= 2 and len(p[4]) in {2, 4}]
    day_first = [p for p in slashed if int(p[1]) > 12 or p[2] == "."]
    month_first = [p for p in slashed if int(p[3]) > 12]
    clashing = bool(day_first and month_first and order is None)
    decided = order if order in {"DMY", "MDY", "YMD"} else "DMY" if day_first else "MDY" if month_first else ""
    short = [p for p in slashed if p[2] == "-" and len(p[4]) == 2]  # "24-04-03" may begin with its year
    year_first = any(int(p[1]) > 31 for p in short)
    year_open = order is None and not year_first and not any(int(p[4]) > 31 for p in slashed if p[2] == "-")
    iso: list[str] = []
    ambiguous: list[str] = []
    bad: list[str] = []
    serial: list[str] = []
    for item, part in zip(items, parts, strict=True):
        value = ""
        if not item:
            iso.append("")
            continue
        if part and len(part[1]) == 4:
            value = _iso(int(part[1]), int(part[3]), int(part[4])) if len(part[4]) <= 2 else ""
        elif part and len(part[1]) <= 2 and len(part[4]) in {2, 4}:
            first, second, third = int(part[1]), int(part[3]), int(part[4])
            if len(part[4]) == 4 and third < 1000:  # "03.04.0024"
                bad.append(item)
                iso.append("")
                continue
            own = "YMD" if order is None and part in short and year_first else decided
            if own != "YMD" and (clashing or (not own and first != second) or (part in short and year_open)):
                ambiguous.append(item)
                iso.append("")
                continue
            value = {"MDY": _iso(third, first, second), "YMD": _iso(first, second, third)}.get(
                own, _iso(third, second, first)
            )
        elif re.fullmatch(r"\d{5}(?:\.\d+)?", item):
            if order not in {"serial", "serial 1904"}:
                serial.append(item)
                iso.append("")
                continue
            start = dt.date(1899, 12, 30) if order == "serial" else dt.date(1904, 1, 1)
            value = (start + dt.timedelta(days=int(float(item)))).isoformat()
        else:
            value = _named(item)
        if not value:
            bad.append(item)
        iso.append(value)
    return DateColumn(tuple(iso), decided, tuple(ambiguous), clashing, tuple(bad), tuple(serial))


def _named(item: str) -> str:
    compact = _COMPACT.fullmatch(item)
    if compact:
        return _iso(int(compact[1]), int(compact[2]), int(compact[3]))
    found = _NAMED.fullmatch(item)
    if found and _month(found[2]):
        return _iso(int(found[3]), _month(found[2]), int(found[1]))
    american = _NAMED_US.fullmatch(item)
    if american and _month(american[1]):
        return _iso(int(american[3]), _month(american[1]), int(american[2]))
    return ""
