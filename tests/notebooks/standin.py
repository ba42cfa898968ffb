"""A small notebook for tests of how notebooks are executed; it has nothing to do with pulls."""

from __future__ import annotations

from nbformat import NotebookNode
from nbformat.v4 import new_code_cell, new_markdown_cell, new_notebook

__all__ = ["standin"]


def standin(*sources: str, parameters: str = 'readings = ""') -> NotebookNode:
    """Return a notebook with a parameter cell and one code cell for each of ``sources``."""
    cells = [
        new_markdown_cell("A stand-in.", id="c00-words"),
        new_code_cell(parameters, id="c01-parameters", metadata={"tags": ["parameters"]}),
        *(new_code_cell(source, id=f"c{i:02d}-cell") for i, source in enumerate(sources, start=2)),
    ]
    kernel = {"name": "python3", "display_name": "Python 3", "language": "python"}
    return NotebookNode(new_notebook(cells=cells, metadata={"kernelspec": kernel}))
