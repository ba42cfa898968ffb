"""A characteristic value with one spread pooled over zones: hand-worked, and within bounds where values are unknown."""

from __future__ import annotations

import math

import pytest
from scipy import stats

from adhesion_stats.acceptance import Decisions, Outcome, Reason, criterion_reason, decide, hangs_on, needs
from adhesion_stats.terms.parse import parse_specification
from adhesion_stats.terms.specification import Specification
from adhesion_stats.wording import say
from tests.acceptance.build import Row, cases_of, pulls_of, row


def spec_of(limit: str, over: str = "", more: str = "") -> Specification:
    """A contract that asks a pooled characteristic value of every zone."""
    asked = f'characteristic_at_least = "{limit}"\nmethod = "pooled"\ncontent = 0.95\nconfidence = 0.75\n{over}\n{more}'
    return parse_specification(f'[contract]\ntitle = "t"\n[[require]]\n{asked}'.encode(), file="t.toml")


def rows_of(**zones: tuple[float | str, ...]) -> list[Row]:
    """Pulls by zone; ">1.5" is known from below."""
    return [
        row(float(v[1:]), zone=zone, bound="at least") if isinstance(v, str) else row(v, zone=zone)
        for zone, values in zones.items()
        for v in values
    ]


def decided(spec: Specification, rows: list[Row]) -> Decisions:
    """The decisions."""
    return decide(spec, cases_of(rows, spec))


TWO = {"deck": (1.4, 1.5, 1.6), "wall": (1.2, 1.8, 2.1)}


def test_pooled_spread_and_factor_by_hand() -> None:
    """SS: deck 0.02, wall 0.42 (mean 1.7: 0.25 + 0.01 + 0.16); s_p = sqrt(0.44 / 4) = 0.3317, 4 degrees of freedom;
    k = t'(0.75; 4, 1.645 sqrt 3) / sqrt 3.
    """
    found = decided(spec_of("0.50 MPa"), rows_of(**TWO))
    k = float(stats.nct.ppf(0.75, 4, stats.norm.ppf(0.95) * math.sqrt(3))) / math.sqrt(3)
    for zone, mean in (("deck", 1.5), ("wall", 1.7)):
        assert found[zone].criteria[0].low == pytest.approx(mean - k * math.sqrt(0.44 / 4), rel=1e-9)


def test_the_decision_hangs_on_pooling_where_the_own_spread_says_otherwise() -> None:
    """Deck by its own sd 0.1 and k = 3.152: 1.5 - 0.3152 = 1.185, pooled 0.61; asked is 1.00."""
    spec, rows = spec_of("1.00 MPa"), rows_of(**TWO)
    found = decided(spec, rows)
    assert found["deck"].outcome == Outcome.DOES_NOT_CONFORM
    messages = hangs_on(spec, cases_of(rows, spec), found, pulls_of(rows))
    assert [m.facts["outcome"] for m in messages["deck"] if m.code == "hangs_on_pooling"] == ["conforms"]
    assert "hangs_on_pooling" not in [m.code for m in messages.get("wall", ())]


def test_only_the_named_zones_are_pooled() -> None:
    """A third zone of wide spread leaves the pooled value alone where it is not named."""
    rows = rows_of(**TWO, other=(0.2, 3.0))
    named = decided(spec_of("0.50 MPa", 'pooled_over = ["deck", "wall"]'), rows)
    assert named["deck"].criteria[0].low == decided(spec_of("0.50 MPa"), rows_of(**TWO))["deck"].criteria[0].low
    assert decided(spec_of("0.50 MPa"), rows)["deck"].criteria[0].low < named["deck"].criteria[0].low


def test_an_unknown_value_of_another_zone_leaves_the_pooled_spread_open() -> None:
    """Deck is exact: its value is bounded from above by what the exact values make of the spread, with no lower end."""
    rows = rows_of(deck=(1.4, 1.5, 1.6), wall=(1.2, 1.8, ">2.1"))
    found = decided(spec_of("0.50 MPa"), rows)["deck"]
    assert (found.outcome, found.reason) == (Outcome.UNDETERMINED, Reason.NOT_RESOLVED)
    assert decided(spec_of("1.60 MPa"), rows)["deck"].outcome == Outcome.DOES_NOT_CONFORM
    ceiling = spec_of("0.10 MPa", more='[pulls]\nceiling = "2.2 MPa"')
    assert decided(ceiling, rows)["deck"].outcome == Outcome.CONFORMS


def test_single_values_have_no_spread_to_pool() -> None:
    """One pull in each zone: nothing can be formed."""
    found = decided(spec_of("0.50 MPa"), rows_of(deck=(1.5,), wall=(1.7,)))
    assert found["deck"].reason == Reason.NEEDS_MORE


def test_a_zone_whose_own_values_are_known_is_not_said_to_have_0_unknown_ones() -> None:
    """Deck has three exact values and shares its spread with wall, which has a bound: the sentences say where that lies
    which is not known, and what would have to become known.
    """
    rows = rows_of(deck=(1.4, 1.5, 1.6), wall=(1.2, 1.8, ">1.5"))
    texts = []
    for limit in ("0.50 MPa", "1.80 MPa"):
        spec = spec_of(limit)
        found = decided(spec, rows)
        texts.append(say(criterion_reason(found["deck"].criteria[0], found["deck"])))
        texts += [say(message) for message in needs(spec, cases_of(rows, spec), found).get("deck", ())]
    assert not [text for text in texts if "(0 of" in text or "0 of 3" in text]
    assert texts[0].startswith("With what is not known of the zones that share the standard deviation it could not be")
    assert texts[1].startswith("To decide, the unknown values of the zones that share the standard deviation")
    assert texts[2].startswith(
        "Whatever is not known of the zones that share the standard deviation, the characteristic"
    )
