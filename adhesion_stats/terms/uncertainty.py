"""What the contract states of the uncertainty of each measured strength, and the probability of conformity it asks for.

::

    [uncertainty]
    source = "calibration certificate 4711"

    [[uncertainty.component]]
    name = "calibration of the instrument"
    expanded = "2 %"            # of the reading, or an amount such as "0.04 MPa"
    coverage_factor = 2
    common = true               # one error that all pulls share: it does not average out

    [[uncertainty.component]]
    name = "resolution of the display"
    step = "0.01 MPa"
    common = false              # drawn anew for each pull

Each component has exactly one of ``standard``, ``expanded`` (with its ``coverage_factor``), ``half_width`` (anywhere
within plus or minus this, with equal chance) and ``step`` (a reading shown in steps). ``common`` has no default:
whether many pulls help against an error is what matters most. A criterion with ``probability_of_conformity_at_least``
is met where the true value conforms with that probability; without this key nothing changes in a decision.

It speaks of the measurement only: how far the pulls stand for the zone (sampling) is another question.

Imports: terms, units.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import get_args

from adhesion_stats.terms.checker import Checker
from adhesion_stats.terms.criterion import Uncertain, UncertainPart, UncertaintyForm

__all__ = ["LARGEST_PROBABILITY", "LARGEST_SHARE", "PROBABILITY_KEY", "probability_asked", "uncertainty_of"]

PROBABILITY_KEY = "probability_of_conformity_at_least"
LARGEST_PROBABILITY = 0.9999
LARGEST_SHARE = 0.15  # standard uncertainty as a share of the reading: beyond it a normal error could reach the reading
_FORMS: tuple[UncertaintyForm, ...] = get_args(UncertaintyForm)
_KEYS = ("name", *_FORMS, "coverage_factor", "common")
_HALF = 0.5


def uncertainty_of(check: Checker, table: Mapping[str, object]) -> Uncertain | None:
    """The stated uncertainty; None where the contract states none."""
    if "uncertainty" not in table:
        return None
    own = check.table(table, "uncertainty", "uncertainty")
    check.keys(own, "uncertainty", ("source", "component"))
    source = check.text(own, "source", "uncertainty.source") or ""
    entries = check.tables(own, "component", "uncertainty.component")
    if not entries:
        check.problem("spec_missing_key", "uncertainty.component", what="one table for each component")
        return None
    found = [_component(check, entry, f"uncertainty.component[{i}]") for i, entry in enumerate(entries, 1)]
    parts = [part for part in found if part is not None]
    if len(parts) < len(entries):
        return None
    _names_once(check, parts)
    for common in (True, False):
        whole = sum(part.standard_share**2 for part in parts if part.common == common) ** 0.5
        if whole > LARGEST_SHARE:
            expected = f"standard uncertainties of at most {LARGEST_SHARE:.0%} of the reading together"
            check.problem("spec_out_of_range", "uncertainty.component", expected=expected, came=f"{100 * whole:.1f} %")
            return None
    return Uncertain(tuple(parts), source)


def _names_once(check: Checker, parts: Sequence[UncertainPart]) -> None:
    names = [part.name for part in parts]
    for i, name in enumerate(names, 1):
        if name in names[: i - 1]:
            came = f'"{name}" again'
            check.problem("spec_out_of_range", f"uncertainty.component[{i}].name", expected="each name once", came=came)


def _component(check: Checker, entry: Mapping[str, object], path: str) -> UncertainPart | None:
    check.keys(entry, path, _KEYS)
    name = check.text(entry, "name", f"{path}.name")
    if not name:
        check.problem("spec_missing_key", f"{path}.name", what="what the component is")
    common = check.flag(entry, "common", f"{path}.common")
    if "common" not in entry:
        check.problem("spec_missing_key", f"{path}.common", what="true where all pulls share the error, else false")
    named = [form for form in _FORMS if form in entry]
    if len(named) != 1:
        check.problem("spec_one_kind", path, found=tuple(named), known=_FORMS)
        return None
    form = named[0]
    factor = check.number(entry, "coverage_factor", f"{path}.coverage_factor", above_zero=True)
    if form == "expanded" and "coverage_factor" not in entry:
        check.problem("spec_missing_key", f"{path}.coverage_factor", what="the coverage factor k, such as 2")
    if form != "expanded" and "coverage_factor" in entry:
        check.problem("spec_key_needs_another", f"{path}.coverage_factor", needs="expanded")
    amount = _amount(check, entry, form, f"{path}.{form}")
    if not name or common is None or amount is None or (form == "expanded" and factor is None):
        return None
    mpa, share = amount
    return UncertainPart(
        name, form, str(entry[form]).strip(), mpa, share, factor if form == "expanded" else None, common
    )


def _amount(
    check: Checker, entry: Mapping[str, object], form: UncertaintyForm, path: str
) -> tuple[float, float] | None:
    """An amount in MPa and a share of the reading, one of which is 0."""
    text = entry[form]
    if isinstance(text, str) and text.strip().endswith("%"):
        percent = check.percent(entry, form, path, above_zero=True)
        return None if percent is None else (0.0, percent / 100.0)
    limit = check.strength(entry, form, path)
    if limit is None:
        return None
    if limit.share is not None:
        check.problem("spec_wrong_type", path, expected='"0.02 MPa" or "1 %" of the reading', came=f'"{text}"')
        return None
    return limit.mpa, 0.0


def probability_asked(check: Checker, table: Mapping[str, object], path: str) -> float | None:
    """The probability that a criterion asks for: above one half, else it would let the limit down."""
    at = f"{path}.{PROBABILITY_KEY}"
    value = check.number(table, PROBABILITY_KEY, at)
    if value is None:
        return None
    if not _HALF < value <= LARGEST_PROBABILITY:
        expected = f"a probability above {_HALF} and at most {LARGEST_PROBABILITY}"
        check.problem("spec_out_of_range", at, expected=expected, came=str(table[PROBABILITY_KEY]))
        return None
    if "guard" in table:
        check.problem("spec_two_bands", at)
    return value
