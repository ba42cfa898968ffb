"""The short tables of the command line: plain text that fits, and never a command to the terminal."""

from __future__ import annotations

from adhesion_stats.reporting.results import results_from
from adhesion_stats.reporting.terminal import WIDTH, display_width, summary_table, visible
from tests.reporting.conftest import results_named


def test_table_fits_a_hundred_columns(results: dict[str, object]) -> None:
    """No line is wider, whatever names and reasons are."""
    assert max(display_width(line) for line in summary_table(results).splitlines()) <= WIDTH


def test_no_control_character_reaches_the_terminal() -> None:
    """Escape sequences of a name stand as visible text."""
    table = summary_table(results_named("hostile"))
    assert all(c.isprintable() or c == "\n" for c in table)
    assert "\\x1b[31mred" in table


def test_row_has_counts_values_and_decision() -> None:
    """Zone, counted / required, mean, smallest, decision; lower bounds are marked."""
    rows = {line[:16].strip(): line.split() for line in summary_table(results_named("demo")).splitlines()}
    assert rows["Span 1, lane"][3:9] == ["5", "/", "5", "2.14", "1.98", "conforms"]
    assert rows["Span 3, lane"][3:10] == ["5", "/", "5", ">=", "1.49", ">=", "1.20"]


def test_every_zone_and_the_contract_are_there(results: dict[str, object]) -> None:
    """Each zone's decision stands in the table, the contract's at its end."""
    text = summary_table(results)
    for outcome in ("conforms", "does not conform", "undetermined"):
        zones = [zone for zone in results_from(results)["zones"] if zone["outcome"] == outcome]
        assert text.count(f" {outcome}  ") >= len(zones)
    assert "The contract " in text


def test_wide_and_combining_characters_are_measured_as_shown() -> None:
    """An ideograph takes two columns, a combining accent none (Unicode Standard Annex 11)."""
    assert display_width("区域") == 4
    assert display_width("e\u0301") == 1


def test_visible_keeps_blanks_of_any_kind_as_blanks() -> None:
    """A no-break space is a blank, a line break and a direction mark are escapes."""
    assert visible("a\N{NO-BREAK SPACE}b\n\u202ec") == "a b\\n\\u202ec"
