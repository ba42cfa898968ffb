"""An executed notebook as bytes that two runs share.

What changes from run to run and says nothing about the result goes: timings, paths and ids that papermill notes, the
random id of the injected cell, how an output was cut into pieces, addresses of objects, process numbers. The version of
Python goes too; the manifest has it.
"""

from __future__ import annotations

import json
import re
from collections.abc import Mapping

__all__ = ["INJECTED_ID", "normalised_bytes"]

INJECTED_ID = "c00-injected-parameters"
_INJECTED_TAG = "injected-parameters"
_NOISE = ("papermill", "execution", "collapsed", "ExecuteTime")
_SCRUBS = (
    (re.compile(r"\b0x[0-9a-fA-F]{6,16}\b"), "0x0"),
    (re.compile(r"[^\s\"'<>]*ipykernel_\d+[\\/]"), "ipykernel_0/"),
    (re.compile(r"\b(pid[ =:]*)\d+", re.IGNORECASE), r"\g<1>0"),
)
_TEXTUAL = ("text/", "application/javascript", "image/svg")


def _scrubbed(text: str, folders: tuple[str, ...]) -> str:
    for folder in folders:
        text = text.replace(folder, ".")
    for pattern, constant in _SCRUBS:
        text = pattern.sub(constant, text)
    return text


def _joined(text: object) -> str:
    return "".join(text) if isinstance(text, list) else str(text)


def _output(output: Mapping[str, object], folders: tuple[str, ...]) -> dict[str, object]:
    clean = dict(output)
    if clean.get("output_type") == "stream":
        clean["text"] = _scrubbed(_joined(clean["text"]), folders)
    data = clean.get("data")
    if isinstance(data, Mapping):
        clean["data"] = {
            kind: _scrubbed(_joined(content), folders) if kind.startswith(_TEXTUAL) else content
            for kind, content in data.items()
        }
    return clean


def _outputs(outputs: list[Mapping[str, object]], folders: tuple[str, ...]) -> list[dict[str, object]]:
    """Clean the outputs of one cell; one stream entry for each of stdout and stderr, where the first one stood."""
    merged: list[dict[str, object]] = []
    streams: dict[object, dict[str, object]] = {}
    for raw in outputs:
        output = dict(raw)
        if output.get("output_type") == "stream":
            first = streams.get(output["name"])
            if first is not None:
                first["text"] = _joined(first["text"]) + _joined(output["text"])
                continue
            streams[output["name"]] = output
        merged.append(output)
    return [_output(output, folders) for output in merged]


def _without_noise(metadata: Mapping[str, object]) -> dict[str, object]:
    kept = {name: entry for name, entry in metadata.items() if name not in _NOISE}
    if not kept.get("tags", True):  # papermill gives every cell a list of tags
        del kept["tags"]
    return kept


def _cell(cell: Mapping[str, object], folders: tuple[str, ...]) -> dict[str, object]:
    clean = dict(cell)
    metadata = cell["metadata"]
    assert isinstance(metadata, Mapping)
    tags = metadata.get("tags", ())
    clean["metadata"] = _without_noise(metadata)
    if isinstance(tags, list) and _INJECTED_TAG in tags:
        clean["id"] = INJECTED_ID
    outputs = clean.get("outputs")
    if isinstance(outputs, list):
        clean["outputs"] = _outputs(outputs, folders)
    return clean


def normalised_bytes(notebook: Mapping[str, object], *, folders: tuple[str, ...] = ()) -> bytes:
    """Return the bytes of an executed notebook without what differs from run to run.

    Parameters
    ----------
    notebook
        A notebook of format 4.5 or later, as nested mappings.
    folders
        Private folders of the run; where an output names one, it is replaced by ``.``.

    Returns
    -------
    bytes
        JSON with sorted keys, one blank of indentation (the usual form of notebooks), UTF-8, a newline at the end.
    """
    cells = notebook["cells"]
    metadata = notebook["metadata"]
    assert isinstance(cells, list)
    assert isinstance(metadata, Mapping)
    kept = _without_noise(metadata)
    language = kept.get("language_info")
    if isinstance(language, Mapping):
        kept["language_info"] = {name: entry for name, entry in language.items() if name != "version"}
    clean = dict(notebook) | {"cells": [_cell(cell, folders) for cell in cells], "metadata": kept}
    text = json.dumps(clean, ensure_ascii=False, allow_nan=False, indent=1, sort_keys=True)
    return (text + "\n").encode("utf-8")
