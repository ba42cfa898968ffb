"""What the cells of a notebook call: tables as escaped HTML and as text, figures with alt text, the comparison."""

from __future__ import annotations

import base64
from pathlib import Path

import pytest
from matplotlib.figure import Figure

from adhesion_stats.errors import RecordDiffers
from adhesion_stats.record import canonical_bytes
from adhesion_stats.reporting import cells
from adhesion_stats.reporting.blocks_html import as_html, as_text, printable
from adhesion_stats.reporting.cells import compare_with_record, show, show_section
from adhesion_stats.reporting.model import (
    Cell,
    Column,
    Decision,
    Document,
    Facts,
    Items,
    Line,
    Number,
    OutcomeWord,
    Paragraph,
    Row,
    RowGroup,
    Section,
    Signature,
    Table,
    TreeNode,
    TreeView,
)

BAD = '<b>&"$x$\x1b[31m'


def _line(text: str, *, quiet: bool = False) -> Line:
    return Line((text,), quiet=quiet)


SECTION = Section(
    "Title",
    "all",
    (
        Paragraph((BAD,)),
        Decision(Line((OutcomeWord("conforms", "conforms"),)), BAD, _line(BAD)),
        Items(BAD, (_line(BAD),)),
        Facts(((BAD, Cell((_line(BAD),))),)),
        TreeView(BAD, TreeNode(_line(BAD), (TreeNode(_line("leaf")),))),
        Table(
            BAD,
            (Column(BAD), Column("Mean", "MPa", numeric=True)),
            (
                RowGroup(
                    (Row((Cell((_line(BAD), _line("below", quiet=True))), Cell((Line((Number(1.5, "1.50"),)),)))),),
                    _line(BAD),
                ),
            ),
        ),
        Signature("Signatures", ("tester",), ("name",)),
    ),
    (Section(BAD, "below", (Paragraph(("inner",)),)),),
)


def _document(*sections: Section) -> Document:
    return Document("en", "t", "s", "", Facts(()), sections)


def test_everything_is_escaped_and_nothing_is_typeset() -> None:
    """Markup, quotes and terminal codes from a file are visible characters; MathJax is told to stay out."""
    html = as_html(SECTION)
    assert html.startswith('<div class="tex2jax_ignore mathjax_ignore">')
    assert "<b>" not in html
    assert "\x1b" not in html
    assert html.count("&lt;b&gt;&amp;&quot;$x$\\x1b[31m") == 14  # each of the fourteen places
    assert "Signatures" not in html


def test_numbers_stand_to_the_right_and_words_to_the_left() -> None:
    """Notebooks would set every cell to the right."""
    html = as_html(SECTION)
    assert '<td style="text-align: right">1.50</td>' in html
    assert '<th style="text-align: right">Mean, MPa</th>' in html
    assert "<br><small>below</small></td>" in html


def test_plain_text_has_the_same_rows() -> None:
    """Programs without HTML show the table with bars."""
    text = as_text(SECTION)
    assert '<b>&"$x$\\x1b[31m; below | 1.50' in text
    assert "- <b>&" in text
    assert text.endswith("inner")


def test_blanks_that_hold_number_and_unit_together_stay() -> None:
    """A no-break space is no control character; a change of writing direction is."""
    assert printable("1.50\N{NO-BREAK SPACE}MPa \u202e\u2028") == "1.50\N{NO-BREAK SPACE}MPa \\u202e\\u2028"


@pytest.fixture
def shown(monkeypatch: pytest.MonkeyPatch) -> list[tuple[dict[str, str], dict[str, dict[str, str]]]]:
    """What the cells would display."""
    found: list[tuple[dict[str, str], dict[str, dict[str, str]]]] = []
    monkeypatch.setattr(cells, "_display", lambda data, metadata: found.append((data, metadata)))
    return found


def test_a_section_is_found_at_any_depth_and_a_wrong_name_is_said(shown: list[object]) -> None:
    """The error names the sections that there are."""
    show_section(_document(SECTION), "below")
    assert len(shown) == 1
    with pytest.raises(KeyError, match="no section 'decisions'; it has all, below"):
        show_section(_document(SECTION), "decisions")


def test_a_figure_is_a_picture_with_its_text(shown: list[tuple[dict[str, str], dict[str, dict[str, str]]]]) -> None:
    """PNG, the same bytes each time, alt text in metadata and as plain text, without control characters."""
    for _ in range(2):
        figure = Figure(figsize=(2, 1))
        figure.add_subplot().plot([1, 2])
        show(figure, alt=f"Pulls of {BAD}")
    (data, metadata), second = shown
    assert (data, metadata) == second
    assert base64.b64decode(data["image/png"]).startswith(b"\x89PNG")
    assert metadata == {"image/png": {"alt": 'Pulls of <b>&"$x$\\x1b[31m'}}
    assert data["text/plain"] == metadata["image/png"]["alt"]


def test_letters_that_the_font_lacks_are_said(
    shown: list[object], capsys: pytest.CaptureFixture[str], recwarn: pytest.WarningsRecorder
) -> None:
    """Boxes in a figure are explained in a sentence, not by a warning with a path in it."""
    figure = Figure(figsize=(2, 1))
    figure.text(0, 0, "\N{CJK UNIFIED IDEOGRAPH-533A}", family="DejaVu Sans")
    show(figure, alt="A zone")
    assert "lacks some letters" in capsys.readouterr().out
    assert len(recwarn) == 0
    assert len(shown) == 1


def test_a_figure_without_text_is_refused() -> None:
    """No picture for those who see only."""
    with pytest.raises(ValueError, match="needs a text"):
        show(Figure(), alt=" ")


RESULTS: dict[str, object] = {"zones": [{"zone": "Z", "mean": 1.5}], "decision": "conforms"}


def test_comparison_of_equal_results(tmp_path: Path) -> None:
    """One sentence with the counts."""
    (tmp_path / "results.json").write_bytes(canonical_bytes(RESULTS))
    assert compare_with_record(RESULTS, tmp_path / "results.json") == (
        "Recomputed from the raw files: the decision for the contract, the decisions for 1 zone and all 3 entries "
        "agree with results.json to the last bit."
    )


def test_comparison_within_the_tolerance_is_said(tmp_path: Path) -> None:
    """A last bit that differs is not hidden."""
    (tmp_path / "r.json").write_bytes(canonical_bytes({"zones": [], "x": 0.1 + 0.2, "y": 1.0}))
    found = compare_with_record({"zones": [], "x": 0.3, "y": 1.0}, tmp_path / "r.json")
    assert "(1 numbers within a relative difference of 2e-16, the rest exactly)" in found


def test_differences_are_named_and_counted(tmp_path: Path) -> None:
    """Each place with both entries, at most twenty, the number of the others."""
    (tmp_path / "r.json").write_bytes(canonical_bytes({"zones": [{"n": i} for i in range(25)]}))
    with pytest.raises(RecordDiffers) as caught:
        compare_with_record({"zones": [{"n": -1} for _ in range(25)]}, tmp_path / "r.json")
    text = str(caught.value)
    assert text.startswith("25 of 25 entries are not what r.json says.")
    assert "  zones[3].n: r.json has 3, recomputed is -1" in text
    assert text.endswith("and 5 more")


def test_no_record_no_comparison() -> None:
    """An empty name is said to have compared nothing."""
    assert "nothing was compared" in compare_with_record(RESULTS, "")
