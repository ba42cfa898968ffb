"""A small document model: what a report says, as frozen values, before anybody decides how it looks.

Text is made of parts: plain text, numbers that keep their unrounded value, outcomes, marks and links. Every way to
show a document (page, paper, workbook) walks the same values, so no number is rounded twice and no text is written
twice.
"""

from __future__ import annotations

from dataclasses import dataclass

__all__ = [
    "Block",
    "Cell",
    "Column",
    "Decision",
    "Document",
    "Equation",
    "Facts",
    "Figure",
    "Fold",
    "Fraction",
    "Items",
    "Line",
    "Link",
    "Number",
    "OutcomeWord",
    "Paragraph",
    "Part",
    "Root",
    "Row",
    "RowGroup",
    "Section",
    "Severe",
    "Signature",
    "Symbol",
    "Table",
    "Token",
    "TreeNode",
    "TreeView",
]


@dataclass(frozen=True, slots=True)
class Number:
    """A number as printed (``text``, rounded once), the value it was rounded from, and its unit ("" for none).

    ``lead`` stands before it ("at least"); ``value`` is in the unit of the results (MPa for strengths), not of
    ``unit``.
    """

    value: float
    text: str
    unit: str = ""
    lead: str = ""

    def __str__(self) -> str:
        return f"{self.lead}{self.text}{self.gap}{self.unit}"

    @property
    def gap(self) -> str:
        """What separates number and unit: a space that does not break; nothing where there is no unit."""
        return "\N{NO-BREAK SPACE}" if self.unit else ""


@dataclass(frozen=True, slots=True)
class OutcomeWord:
    """A decision: ``outcome`` is the text of the results, ``word`` what is printed; shown with its shape."""

    outcome: str
    word: str

    def __str__(self) -> str:
        return self.word


@dataclass(frozen=True, slots=True)
class Severe:
    """How much a finding matters: ``severity`` as in the results, ``word`` as printed."""

    severity: str
    word: str

    def __str__(self) -> str:
        return self.word


@dataclass(frozen=True, slots=True)
class Link:
    """A jump to another place of the document."""

    text: str
    anchor: str

    def __str__(self) -> str:
        return self.text


Part = str | Number | OutcomeWord | Severe | Link


@dataclass(frozen=True, slots=True)
class Line:
    """Parts in one line; ``quiet`` for what stands back (a limit under its value)."""

    parts: tuple[Part, ...]
    quiet: bool = False

    def __str__(self) -> str:
        return "".join(str(part) for part in self.parts)


@dataclass(frozen=True, slots=True)
class Cell:
    """A cell: lines below each other."""

    lines: tuple[Line, ...] = ()

    def __str__(self) -> str:
        return "\n".join(str(line) for line in self.lines)


@dataclass(frozen=True, slots=True)
class Column:
    """A column: heading, unit; cells are numbers (set to the right), long text (wide) or never broken (tight)."""

    title: str
    unit: str = ""
    numeric: bool = False
    wide: bool = False
    tight: bool = False


@dataclass(frozen=True, slots=True)
class Row:
    """A row; its first cell names it."""

    cells: tuple[Cell, ...]
    anchor: str = ""


@dataclass(frozen=True, slots=True)
class RowGroup:
    """Rows that belong together, with a title and an anchor where they have one."""

    rows: tuple[Row, ...]
    title: Line | None = None
    anchor: str = ""


@dataclass(frozen=True, slots=True)
class Table:
    """A table. ``cards``: on a narrow screen each row may be shown as a card."""

    caption: str
    columns: tuple[Column, ...]
    groups: tuple[RowGroup, ...]
    anchor: str = ""
    cards: bool = False
    hidden_caption: bool = False


@dataclass(frozen=True, slots=True)
class Paragraph:
    """A paragraph; ``role`` "lead", "note", "warning" or "" ."""

    parts: tuple[Part, ...]
    role: str = ""

    def __str__(self) -> str:
        return "".join(str(part) for part in self.parts)


@dataclass(frozen=True, slots=True)
class Items:
    """A list of short statements, with a title where it needs one."""

    title: str
    items: tuple[Line, ...]
    role: str = ""


@dataclass(frozen=True, slots=True)
class Facts:
    """Names and what they are."""

    items: tuple[tuple[str, Cell], ...]
    role: str = ""


@dataclass(frozen=True, slots=True)
class Decision:
    """The decision in large type, with its reason."""

    outcome: Line
    subject: str
    reason: Line


@dataclass(frozen=True, slots=True)
class Symbol:
    """A symbol of a formula: name, index, bar for a mean."""

    name: str
    index: str = ""
    bar: bool = False

    def __str__(self) -> str:
        return f"{self.name}{chr(0x0304) if self.bar else ''}{'_' + self.index if self.index else ''}"


@dataclass(frozen=True, slots=True)
class Fraction:
    """A fraction in a formula."""

    above: tuple[Token, ...]
    below: tuple[Token, ...]

    def __str__(self) -> str:
        return f"({_text(self.above)}) / ({_text(self.below)})"


@dataclass(frozen=True, slots=True)
class Root:
    """A square root in a formula."""

    inside: tuple[Token, ...]

    def __str__(self) -> str:
        return f"√({_text(self.inside)})"


Token = str | Number | Symbol | Fraction | Root


def _text(tokens: tuple[Token, ...]) -> str:
    return " ".join(str(token) for token in tokens)


@dataclass(frozen=True, slots=True)
class Equation:
    """A formula with its symbols and with the numbers put in; ``name`` and ``source`` beside it."""

    name: str
    tokens: tuple[Token, ...]
    source: str = ""

    def __str__(self) -> str:
        return _text(self.tokens)


@dataclass(frozen=True, slots=True)
class TreeNode:
    """A node of a tree of requirements."""

    line: Line
    children: tuple[TreeNode, ...] = ()


@dataclass(frozen=True, slots=True)
class TreeView:
    """A tree of requirements with its title."""

    title: str
    root: TreeNode


@dataclass(frozen=True, slots=True)
class Figure:
    """A picture: which, of which zones, title, caption, text for who can't see it, numbers as a table."""

    kind: str
    zones: tuple[str, ...]
    anchor: str
    title: str
    caption: Line
    alt: str
    numbers: Table


@dataclass(frozen=True, slots=True)
class Signature:
    """Blanks to be filled in by hand: one row per role."""

    title: str
    roles: tuple[str, ...]
    blanks: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Fold:
    """Something long that a reader may open; on paper it is open."""

    title: str
    block: Block


Block = Paragraph | Items | Facts | Decision | Table | Figure | Equation | TreeView | Signature | Fold


@dataclass(frozen=True, slots=True)
class Section:
    """A section with its blocks and the sections below it."""

    title: str
    anchor: str
    blocks: tuple[Block, ...]
    sections: tuple[Section, ...] = ()
    aside: Line | None = None


@dataclass(frozen=True, slots=True)
class Document:
    """A whole document. ``banner`` says what must be known before anything else (invented data); "" for nothing."""

    language: str
    title: str
    subtitle: str
    banner: str
    head: Facts
    sections: tuple[Section, ...]
