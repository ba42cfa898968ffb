"""Parts of a workbook cell that are set apart: raised signs, struck-out parts, and what a number format puts around a
number. Text comes out as a reader of the sheet sees it. No grids, no files.
"""

from __future__ import annotations

import re
from collections.abc import Iterable

__all__ = ["bound_shown", "plain_text", "sums_up", "unit_shown"]

_RAISED = str.maketrans("0123456789+-n", "⁰¹²³⁴⁵⁶⁷⁸⁹⁺⁻ⁿ")
_SIGNS = {">": ">", "<": "<", "≥": "≥", "≤": "≤", ">=": "≥", "<=": "≤", "=>": "≥", "=<": "≤"}
_BEFORE = re.compile(r'(?:"([^"]*)"|\\(.)|([<>=≥≤]+))+?(?=[#0?.,\s_])')
_SUMS = {
    "AVERAGE": "mean", "AVERAGEIF": "mean", "AVERAGEIFS": "mean", "MIN": "min", "MAX": "max", "STDEV": "sd",
    "STDEV.S": "sd", "STDEV.P": "sd", "STDEVP": "sd", "MEDIAN": "median", "SUM": "total", "SUBTOTAL": "total",
    "COUNT": "n", "COUNTA": "n", "MINIFS": "min", "MAXIFS": "max", "AGGREGATE": "total", "VAR": "cov", "PERCENTILE":
    "characteristic", "QUARTILE": "characteristic",
}  # fmt: skip
_CALL = re.compile(r"\b(" + "|".join(re.escape(name) for name in sorted(_SUMS, key=len, reverse=True)) + r")\(")
_RANGE = re.compile(r"\$?([A-Z]{1,3})\$?(\d+):\$?([A-Z]{1,3})\$?(\d+)")


def plain_text(parts: Iterable[tuple[str, bool, bool]]) -> tuple[str, bool]:
    """Text of a cell of several (text, raised, struck out), and whether a part was struck out.

    Raised digits stay raised (a footnote is no digit of the number), raised letters stand in front of a bracket, and
    what is struck out is left away.

    >>> plain_text([("1.62", False, False), ("2", True, False)])
    ('1.62²', False)
    >>> plain_text([("1.2", False, True), ("1.6", False, False)])
    ('1.6', True)
    """
    out: list[str] = []
    struck = False
    for text, raised, gone in parts:
        if gone:
            struck = struck or bool(text.strip())
        elif raised and text.strip():
            turned = text.translate(_RAISED)
            out.append(f" {text.strip().rstrip(')')})" if re.fullmatch(r"[a-mo-z]\)?", text.strip()) else turned)
        else:
            out.append(text)
    return "".join(out), struck


def unit_shown(number_format: str) -> str:
    """Text that a number format puts behind the number: ``0.00" MPa"`` -> ``MPa``."""
    found = re.fullmatch(r'[#0.,]+\s*"\s*([^"]+?)\s*"', number_format.partition(";")[0])
    return found[1] if found else ""


def bound_shown(number_format: str) -> str:
    """Sign of a bound that a number format puts before the number: ``">"0.00`` -> ``>``.

    >>> bound_shown('">"0.00'), bound_shown("0.00"), bound_shown("[>100]0.0")
    ('>', '', '')
    """
    plain = re.sub(r"\[[^\]]*\]", "", number_format.partition(";")[0])
    found = _BEFORE.match(plain)
    return _SIGNS.get(re.sub(r'["\\\s]', "", found.group()), "") if found else ""


def sums_up(formula: str, column: str, row: int) -> str:
    """Kind of summary ("mean", "min", ...) that a formula makes of cells above or below in its own column, else "".

    >>> sums_up("=ROUND(AVERAGE(C2:C4),2)", "C", 5), sums_up("=C2*1000/D2", "C", 5)
    ('mean', '')
    """
    call = _CALL.search(formula)
    if call is None:
        return ""
    for first, top, last, bottom in _RANGE.findall(formula):
        if first == last == column and int(bottom) > int(top) and not int(top) <= row <= int(bottom):
            return _SUMS[call[1]]
    return ""
