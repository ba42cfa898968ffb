"""What the cells of a notebook call, so that the notebook itself holds no logic.

Text that came from a file stays text: tables are escaped, their cells are never typeset as formulas, and control
characters (terminal escapes among them) are shown as such.
"""

from __future__ import annotations

import base64
import io
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING

from adhesion_stats.errors import RecordDiffers
from adhesion_stats.record import Comparison, compare_results, read_results

if TYPE_CHECKING:
    import pandas as pd
    from matplotlib.figure import Figure

__all__ = ["compare_with_record", "show", "show_table"]

_DOTS_PER_INCH = 110
_DIFFERENCES_NAMED = 20


def show(figure: Figure, *, alt: str) -> None:
    """Show a figure with a text for who can't see it.

    Parameters
    ----------
    figure
        The figure; drawn to PNG, whose bytes do not depend on the time.
    alt
        What the figure shows, in words; not empty.
    """
    from IPython.display import display

    if not alt.strip():
        raise ValueError("a figure needs a text for people who can't see it")
    content = io.BytesIO()
    figure.savefig(content, format="png", dpi=_DOTS_PER_INCH, metadata={"Software": None})
    data = {"image/png": base64.b64encode(content.getvalue()).decode("ascii"), "text/plain": alt}
    display(data, raw=True, metadata={"image/png": {"alt": alt}})  # type: ignore[no-untyped-call]


def show_table(frame: pd.DataFrame) -> None:
    """Show a table of texts: every row, every column, each cell as it is.

    Parameters
    ----------
    frame
        Texts with their digits and units; the index is not shown.
    """
    import pandas as pd
    from IPython.display import display

    plain = frame.map(_printable).rename(columns=_printable)
    # use_mathjax: without it a zone named $x$ would be typeset; the class it sets is the one that notebooks look for.
    with pd.option_context("display.html.use_mathjax", False, "display.max_colwidth", None):
        html = plain.to_html(index=False, escape=True, border=0, na_rep="", classes="mathjax_ignore", justify="left")
        text = plain.to_string(index=False, na_rep="", justify="left")
    display({"text/html": html, "text/plain": text}, raw=True)  # type: ignore[no-untyped-call]


def _printable(entry: object) -> str:
    return "".join(c if c.isprintable() or c in " \n" else repr(c)[1:-1] for c in str(entry))


def compare_with_record(results: Mapping[str, object], record: str | Path) -> str:
    """Compare results just computed with those of a record.

    Parameters
    ----------
    results
        As from ``assessment.as_dict()``.
    record
        Path of ``results.json``; "" where there is none to compare with.

    Returns
    -------
    str
        One sentence: what was compared, and that it agrees.

    Raises
    ------
    RecordDiffers
        When a number, text or decision differs; the text names each place.
    """
    if not str(record):
        return "No record was named, so nothing was compared: set results in the first cell to compare."
    path = Path(record)
    recorded = read_results(path.read_bytes())
    found = compare_results(recorded, results)
    if found.differences:
        raise RecordDiffers(_what_differs(found, path.name))
    zones = results.get("zones")
    count = len(zones) if isinstance(zones, list) else 0
    exactness = (
        "to the last bit"
        if not found.inexact
        else f"({found.inexact} numbers within a relative difference of {found.largest:.0e}, the rest to the last bit)"
    )
    return (
        f"Recomputed from the raw files: the decision for the contract, the decisions for {count} "
        f"zone{'' if count == 1 else 's'} and all {found.entries} entries agree with {path.name} {exactness}."
    )


def _what_differs(found: Comparison, name: str) -> str:
    lines = [
        f"  {d.path}: {name} has {_printable(repr(d.recorded))}, recomputed is {_printable(repr(d.recomputed))}"
        for d in found.differences[:_DIFFERENCES_NAMED]
    ]
    more = len(found.differences) - _DIFFERENCES_NAMED
    if more > 0:
        lines.append(f"  and {more} more")
    return (
        f"{len(found.differences)} of {found.entries} entries are not what {name} says. "
        "The raw files, the specification or the results were changed, or another version computed them:\n"
        + "\n".join(lines)
    )
