"""Blocks of the document model as plain HTML and as plain text, for the cells of a notebook.

No style sheet and no script: a notebook is shown by many programs. Everything is escaped; the classes around it tell
MathJax, which notebooks run over every cell, to leave it alone, so that a zone named ``$x$`` stays what it is.
"""

from __future__ import annotations

import html
from collections.abc import Iterable

from adhesion_stats.reporting.model import (
    Block,
    Cell,
    Decision,
    Equation,
    Facts,
    Figure,
    Fold,
    Items,
    Line,
    Paragraph,
    Row,
    Section,
    Signature,
    Table,
    TreeNode,
    TreeView,
)

__all__ = ["as_html", "as_text", "printable"]

_BLANKS = " \n\N{NO-BREAK SPACE}\N{NARROW NO-BREAK SPACE}\N{THIN SPACE}"
_TOP_HEADING = 3  # the notebook's own headings are of level 1 and 2


def printable(text: object) -> str:
    """Return text of a file with control characters, terminal escapes among them, shown as visible escapes."""
    return "".join(c if c.isprintable() or c in _BLANKS else repr(c)[1:-1] for c in str(text))


def _escaped(text: object) -> str:
    return html.escape(printable(text)).replace("\n", "<br>")


# -- HTML


def as_html(section: Section) -> str:
    """Return the section's blocks and the sections below it as HTML; its own title stands in the notebook."""
    return f'<div class="tex2jax_ignore mathjax_ignore">\n{_inside(section, _TOP_HEADING)}\n</div>'


def _inside(section: Section, level: int) -> str:
    parts = [made for block in section.blocks if (made := _block(block))]
    for below in section.sections:
        parts.append(f"<h{level}>{_escaped(below.title)}</h{level}>")
        parts.append(_inside(below, min(level + 1, 6)))
    return "\n".join(parts)


def _block(block: Block) -> str:
    match block:
        case Paragraph():
            return f"<p>{_escaped(block)}</p>"
        case Decision():
            subject = f"{_escaped(block.subject)}: " if block.subject else ""
            return f"<p><strong>{subject}{_escaped(block.outcome)}</strong><br>{_escaped(block.reason)}</p>"
        case Items():
            title = f"<p><strong>{_escaped(block.title)}</strong></p>\n" if block.title else ""
            return f"{title}<ul>{''.join(f'<li>{_escaped(item)}</li>' for item in block.items)}</ul>"
        case Facts():
            rows = "".join(_row((_td(name), _td(cell))) for name, cell in block.items)
            return f"<table>{rows}</table>"
        case Table():
            return _table(block)
        case Equation():
            source = f"<br><em>{_escaped(block.source)}</em>" if block.source else ""
            return f"<p>{_escaped(block.name)}: {_escaped(block)}{source}</p>"
        case TreeView():
            return f"<p><strong>{_escaped(block.title)}</strong></p>\n<ul>{_node(block.root)}</ul>"
        case Fold():
            return f"<p>{_escaped(block.title)}</p>\n{_block(block.block)}"
        case Figure() | Signature():
            return ""  # figures are shown as such; blanks for signatures are for paper


def _node(node: TreeNode) -> str:
    below = f"<ul>{''.join(map(_node, node.children))}</ul>" if node.children else ""
    return f"<li>{_escaped(node.line)}{below}</li>"


def _cell_html(cell: object) -> str:
    if not isinstance(cell, Cell):
        return _escaped(cell)
    return "<br>".join(f"<small>{_escaped(line)}</small>" if line.quiet else _escaped(line) for line in cell.lines)


def _td(cell: object, *, numeric: bool = False, tag: str = "td", span: int = 1) -> str:
    # Notebooks set every cell to the right; only numbers belong there.
    side = "right" if numeric else "left"
    spanned = f' colspan="{span}"' if span > 1 else ""
    return f'<{tag}{spanned} style="text-align: {side}">{_cell_html(cell)}</{tag}>'


def _row(cells: Iterable[str]) -> str:
    return f"<tr>{''.join(cells)}</tr>"


def _heading(title: str, unit: str) -> str:
    return f"{title}, {unit}" if unit else title


def _table(table: Table) -> str:
    head = _row(_td(_heading(c.title, c.unit), numeric=c.numeric, tag="th") for c in table.columns)
    body: list[str] = []
    for group in table.groups:
        if group.title is not None:
            body.append(_row([_td(group.title, tag="th", span=len(table.columns))]))
        body += [_values(row, table) for row in group.rows]
    return (
        f'<table><caption style="text-align: left">{_escaped(table.caption)}</caption>\n<thead>{head}</thead>\n'
        f"<tbody>{chr(10).join(body)}</tbody></table>"
    )


def _values(row: Row, table: Table) -> str:
    return _row(_td(cell, numeric=column.numeric) for cell, column in zip(row.cells, table.columns, strict=True))


# -- text


def as_text(section: Section) -> str:
    """Return the same in plain text, for programs that show no HTML."""
    parts = [made for block in section.blocks if (made := _block_text(block))]
    parts += [f"{printable(below.title)}\n\n{as_text(below)}" for below in section.sections]
    return "\n\n".join(parts)


def _block_text(block: Block) -> str:
    match block:
        case Paragraph() | Equation():
            return printable(block)
        case Decision():
            return f"{printable(block.subject)}: {printable(block.outcome)}. {printable(block.reason)}".removeprefix(
                ": "
            )
        case Items():
            return "\n".join([printable(block.title), *(f"- {printable(item)}" for item in block.items)]).strip()
        case Facts():
            return "\n".join(f"{printable(name)}: {_one_line(cell)}" for name, cell in block.items)
        case Table():
            return _table_text(block)
        case TreeView():
            return "\n".join([printable(block.title), *_node_text(block.root, 0)])
        case Fold():
            return _block_text(block.block)
        case Figure() | Signature():
            return ""


def _node_text(node: TreeNode, depth: int) -> list[str]:
    below = [line for child in node.children for line in _node_text(child, depth + 1)]
    return [f"{'  ' * depth}- {printable(node.line)}", *below]


def _one_line(cell: Cell | Line) -> str:
    return printable(cell).replace("\n", "; ")


def _table_text(table: Table) -> str:
    lines = [" | ".join(_heading(c.title, c.unit) for c in table.columns)]
    for group in table.groups:
        lines += [] if group.title is None else [_one_line(group.title)]
        lines += [" | ".join(_one_line(cell) for cell in row.cells) for row in group.rows]
    return "\n".join([printable(table.caption), *lines])
