"""A refused file whose questions can be decided is read once one of the lines offered for each question is taken.

The lines are those of the layout that ``check --write-layout`` writes: a number sign is taken away, no more.
"""

from __future__ import annotations

import itertools
import re
from pathlib import Path

import pytest

from adhesion_stats.entrance import understood_layout
from adhesion_stats.errors import UnusableReadings
from adhesion_stats.intake import read_bytes
from adhesion_stats.messages import Severity
from adhesion_stats.reporting.layout_file import DECIDED_BY, layout_text
from adhesion_stats.terms.layout import Layout
from tests.cases.test_kinds import ALL

HERE = Path(__file__).parent
_CHOICE = re.compile(r"""#(\w+|"[^"]*"|'[^']*') = """)

FILES = {f"{number:03} {kind.name}": kind.text.encode(kind.encoding) for number, kind in enumerate(ALL)} | {
    path.name: path.read_bytes()
    for path in sorted([*(HERE / "kinds").iterdir(), *(HERE / "messy").iterdir()])
    if path.is_file() and path.suffix != ".json"
}


def errors_of(content: bytes, name: str, layout: Layout) -> list[str]:
    """Codes of the errors that a file is refused with; none where it is read."""
    try:
        read_bytes(content, file=name, layout=layout)
    except UnusableReadings as refused:
        return [message.code for message in refused.messages if message.severity is Severity.ERROR]
    return []


# Refused for what no setting decides, beside what one does.
REFUSED = {"second_table", "too_many_cells", "unit_changes"}


@pytest.mark.parametrize("name", FILES)
def test_one_of_the_lines_offered_lets_the_file_be_read(name: str, tmp_path: Path) -> None:
    """One line a question; where nothing decides a finding, it stays. A file that is read asks nothing."""
    content = FILES[name]
    suffix = "." + name.rpartition(".")[2] if "." in name else ".csv"
    file = tmp_path / f"readings{suffix}"
    file.write_bytes(content)
    try:
        read_bytes(content, file=file.name)
    except UnusableReadings as refused:
        messages = refused.messages
    else:
        return  # nothing is asked
    codes = [message.code for message in messages if message.severity is Severity.ERROR]
    if not set(codes) <= set(DECIDED_BY):
        assert not set(codes) & set(DECIDED_BY) or set(codes) & REFUSED
        return
    lines = layout_text(understood_layout(file, None, None), messages).split("\n")
    offered = [k for k, line in enumerate(lines) if _CHOICE.match(line)]
    assert offered

    def taken(*chosen: int) -> Layout:
        return Layout.from_toml("\n".join(line[1:] if k in chosen else line for k, line in enumerate(lines)))

    tries = itertools.chain.from_iterable(itertools.combinations(offered, r) for r in range(1, len(codes) + 1))
    keys = {k: lines[k].partition(" = ")[0] for k in offered}
    one_each = (chosen for chosen in tries if len({keys[k] for k in chosen}) == len(chosen))
    assert any(not errors_of(content, file.name, taken(*chosen)) for chosen in one_each)
