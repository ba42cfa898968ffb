"""What somebody may make of a record to harm whoever looks at it: each function alters the folder that it is given."""

from __future__ import annotations

import base64
import contextlib
import json
import os
from collections.abc import Callable, Mapping
from pathlib import Path

from adhesion_stats.record import canonical_bytes
from tests.audit.conftest import remade

__all__ = ["RECORDS"]

Alteration = Callable[[Path], None]
_RESULTS, _MANIFEST, _PAGE, _NOTEBOOK = "results.json", "manifest.json", "assessment.html", "assessment.ipynb"
_ESCAPES = "\x1b]8;;http://127.0.0.1:9\x07\x9b31m\u202e<script>alert(1)</script>"


def _manifest(change: Callable[[dict[str, object]], object]) -> Alteration:
    return lambda folder: remade(folder, lambda manifest: void(change(manifest)))


def void(_: object) -> None:
    """Take whatever it is."""


def _raw(name: str, change: Callable[[bytes], bytes]) -> Alteration:
    def alter(folder: Path) -> None:
        (folder / name).write_bytes(change((folder / name).read_bytes()))
        if name != _MANIFEST:
            with contextlib.suppress(ValueError):
                remade(folder)

    return alter


def _json(name: str, change: Callable[[dict[str, object]], object]) -> Alteration:
    def alter(content: bytes) -> bytes:
        found = json.loads(content)
        change(found)
        return json.dumps(found, indent=1, sort_keys=True, ensure_ascii=True).encode()

    return _raw(name, alter)


def _results(change: Callable[[dict[str, object]], object]) -> Alteration:
    def alter(folder: Path) -> None:
        found = json.loads((folder / _RESULTS).read_bytes())
        change(found)
        (folder / _RESULTS).write_bytes(canonical_bytes(found))
        remade(folder)

    return alter


def _cells(change: Callable[[list[dict[str, object]]], object]) -> Alteration:
    return _json(_NOTEBOOK, lambda notebook: change(notebook["cells"]))  # type: ignore[arg-type]


def _instead(name: str, make: Callable[[Path], object]) -> Alteration:
    def alter(folder: Path) -> None:
        (folder / name).unlink()
        make(folder / name)

    return alter


def _more(*names: str | bytes, content: bytes = b"x") -> Alteration:
    def alter(folder: Path) -> None:
        for name in names:
            with open(os.path.join(os.fsencode(folder), os.fsencode(name)), "wb") as file:  # noqa: PTH118, PTH123 - names that are no text
                file.write(content)

    return alter


def _listed_elsewhere(*names: str) -> Alteration:
    entry = {"bytes": 1, "sha256": "0" * 64}
    return _raw(
        _MANIFEST,
        lambda content: canonical_bytes(
            {**json.loads(content), "files": {**json.loads(content)["files"], **dict.fromkeys(names, entry)}}
        ),
    )


def _roles(**names: object) -> Alteration:
    def change(manifest: dict[str, object]) -> None:
        parameters = manifest["parameters"]
        assert isinstance(parameters, dict)
        parameters.update(names)

    return _manifest(change)


def _of_other_versions(change: Callable[[bytes], bytes]) -> Alteration:
    """The page changed in a record that other versions made, so that pictures are not compared byte for byte."""

    def alter(folder: Path) -> None:
        (folder / _PAGE).write_bytes(change((folder / _PAGE).read_bytes()))
        remade(folder, lambda m: m["versions"].update(matplotlib="0"))  # type: ignore[attr-defined]

    return alter


def _code_everywhere(cells: list[dict[str, object]]) -> None:
    trap = "open('trap', 'w').close()"
    for cell in cells:
        cell["metadata"] = {"tags": ["parameters"], "papermill": {"exec": trap}, "jupyter": {"source_hidden": True}}
        cell["source"] = [f"{trap}\n", "%%bash\ntouch trap\n", "!touch trap\n"]
        if cell["cell_type"] == "code":
            cell["outputs"] = [
                {
                    "output_type": "display_data",
                    "metadata": {},
                    "data": {"text/html": "<script>alert(1)</script>", "application/javascript": "alert(1)"},
                }
            ]


def _odd_types(cells: list[dict[str, object]]) -> None:
    cells[0] |= {"cell_type": ["code"], "metadata": [1], "source": {"a": 1}, "id": {"b": 2}}
    cells[1] |= {"outputs": 7, "source": None, "metadata": None}
    cells[2] |= {"source": [[["x"]]], "outputs": [None, [], {"data": []}], "id": None}


RECORDS: Mapping[str, Alteration] = {
    "untouched": void,
    # what the folder holds
    "link to a secret": _instead("readings.csv", lambda path: path.symlink_to("/etc/passwd")),
    "link of the manifest": _instead(_MANIFEST, lambda path: path.symlink_to("/dev/zero")),
    "link to itself": _instead(_RESULTS, lambda path: path.symlink_to(path.name)),
    "link to the folder above": lambda folder: (folder / "up").symlink_to(".."),
    "pipe of the manifest": _instead(_MANIFEST, os.mkfifo),
    "pipe of the readings": _instead("readings.csv", os.mkfifo),
    "pipe of a signature": lambda folder: os.mkfifo(folder / "manifest.tester.sig"),
    "device": _instead(_PAGE, lambda path: path.symlink_to("/dev/full")),
    "folder of the results": _instead(_RESULTS, lambda path: path.mkdir()),
    "hard link": lambda folder: os.link(folder / "readings.csv", folder / "readings-2.csv"),
    "names that differ in case": _more("Readings.CSV", "MANIFEST.json", "Results.json"),
    "names that command": _more(
        "\x1b[2J.txt",
        "\x9b31m.txt",
        "\u202ecod.txt",
        "<img src=x onerror=alert(1)>",
        "a\nb",
        "-rf",
        "{0.__class__}",
        "%s%n",
        "a" * 255,
    ),
    "names that are no text": _more(b"\xff\xfe.txt", b"\x80"),
    "many names": _more(*(f"{i:03d}" for i in range(600))),
    "program": _more(
        "sitecustomize.py", "numpy.py", "conftest.py", "pyproject.toml", content=b"open('trap', 'w').close()\n"
    ),
    # what the manifest says
    "manifest names files above": _listed_elsewhere("../outside.csv", "../../etc/passwd"),
    "manifest names absolute files": _listed_elsewhere(
        "/etc/passwd", "C:\\Windows\\x", "\\\\host\\share", "file:///etc/passwd"
    ),
    "manifest names odd files": _listed_elsewhere("", ".", "..", "a/b", "a\0b", _ESCAPES, "x" * 5000),
    "manifest lists many": _listed_elsewhere(*(f"f{i}" for i in range(3_000))),
    "role above": _roles(readings="../outside.csv"),
    "role absolute": _roles(readings="/etc/passwd"),
    "role with a zero byte": _roles(readings="a\0b"),
    "role that commands": _roles(readings=_ESCAPES),
    "role of no text": _roles(readings=["a"], results={"a": 1}, layout=7),
    "roles all one": _roles(readings=_RESULTS, specification=_RESULTS, layout=_RESULTS),
    "role of the manifest": _roles(results=_MANIFEST),
    "versions of no text": _manifest(lambda m: m.update(versions={"numpy": [1], _ESCAPES: {"a": 2}}, machine=7)),
    "long versions": _manifest(lambda m: m.update(versions={f"p{i}": "1" for i in range(3_000)})),
    "files of no table": _manifest(lambda m: m.update(files=m["files"], created=[_ESCAPES])),
    "manifest nan": _raw(_MANIFEST, lambda c: c.replace(b'"format_version": 1', b'"format_version": NaN')),
    "manifest infinite": _raw(_MANIFEST, lambda c: c.replace(b'"format_version": 1', b'"format_version": 1e999')),
    "manifest digits": _raw(
        _MANIFEST, lambda c: c.replace(b'"format_version": 1', b'"format_version": ' + b"9" * 100_000)
    ),
    "manifest large number": _raw(
        _MANIFEST, lambda c: c.replace(b'"format_version": 1', b'"format_version": ' + b"9" * 4000)
    ),
    "manifest twice": _raw(_MANIFEST, lambda c: c.replace(b'"seal"', b'"seal": 1, "seal"')),
    "manifest half a pair": _raw(_MANIFEST, lambda c: c.replace(b'"seal"', b'"\\ud800": "\\udfff", "seal"')),
    "manifest deep": _raw(
        _MANIFEST, lambda c: c.replace(b'"seal"', b'"x": ' + b"[" * 100_000 + b"]" * 100_000 + b', "seal"')
    ),
    "manifest rather deep": _raw(
        _MANIFEST, lambda c: c.replace(b'"seal"', b'"x": ' + b"[" * 900 + b"]" * 900 + b', "seal"')
    ),
    "manifest utf-16": _raw(_MANIFEST, lambda c: c.decode().encode("utf-16")),
    "manifest empty": _raw(_MANIFEST, lambda _: b""),
    # what the results say
    "results infinite": _raw(_RESULTS, lambda c: c.replace(b"1.82", b"1e999", 1)),
    "results nan": _raw(_RESULTS, lambda c: c.replace(b"1.82", b"NaN", 1)),
    "results digits": _raw(_RESULTS, lambda c: c.replace(b"1.82", b"9" * 100_000, 1)),
    "results large number": _raw(_RESULTS, lambda c: c.replace(b"1.82", b"9" * 4000, 1)),
    "results half a pair": _raw(_RESULTS, lambda c: c.replace(b'"Deck"', b'"\\ud800"', 1)),
    "results command": _raw(_RESULTS, lambda c: c.replace(b'"Deck"', json.dumps(_ESCAPES).encode())),
    "results with a code": _results(
        lambda r: r["messages"].append({**r["messages"][0], "code": "{0.__class__}", "facts": {"count": "{x}"}})  # type: ignore[attr-defined, index]
    ),
    "results with other facts": _results(lambda r: [m.update(facts={}) for m in r["messages"]]),  # type: ignore[attr-defined]
    "results of no zones": _results(lambda r: r.update(zones=[], pulls=[])),
    "results with many pulls": _results(lambda r: r.update(pulls=r["pulls"] * 20)),  # type: ignore[operator]
    "results deep": _raw(_RESULTS, lambda c: c.rstrip()[:-1] + b', "x": ' + b"[" * 50_000 + b"]" * 50_000 + b"}"),
    "results of a list": _raw(_RESULTS, lambda _: b"[]"),
    # what page and notebook hold
    "page with a script": _raw(
        _PAGE, lambda c: c.replace(b"</body>", b"<script>fetch('http://127.0.0.1:9')</script></body>")
    ),
    "page of open tags": _raw(_PAGE, lambda _: b"<a " * 300_000),
    "page of open comments": _raw(_PAGE, lambda _: b"<!-- <!" * 300_000),
    "page of entities": _raw(_PAGE, lambda _: b"&#x" * 300_000 + b"&" * 300_000),
    "page of other versions": _of_other_versions(lambda _: b"<![" * 200_000 + b"<a '" * 200_000),
    "picture with a script": _of_other_versions(lambda c: c.replace(b"</svg>", b"<script>alert(1)</script></svg>", 1)),
    "code in every cell": _cells(_code_everywhere),
    "code in the metadata": _json(
        _NOTEBOOK,
        lambda n: n["metadata"].update(  # type: ignore[attr-defined]
            kernelspec={"argv": ["sh", "-c", "touch trap"], "name": "../../sh"},
            papermill={"exec": "touch trap"},
            widgets={},
        ),
    ),
    "cells of odd types": _cells(_odd_types),
    "cells of no list": _json(_NOTEBOOK, lambda n: n.update(cells={"a": 1})),
    "cells that are no objects": _json(_NOTEBOOK, lambda n: n.update(cells=[1, "a", None])),
    "many cells": _cells(lambda cells: cells.extend(dict(cells[1]) for _ in range(1500))),
    "many different cells": _cells(lambda cells: cells.extend({**cells[1], "source": str(i)} for i in range(1500))),
    "a long cell": _cells(lambda cells: cells[1].update(source="\n" * 400_000 + "x" * 400_000)),
    "cells that command": _cells(lambda cells: cells[1].update(source=_ESCAPES, id=_ESCAPES)),
    "deep metadata": _raw(
        _NOTEBOOK, lambda c: c.replace(b'"metadata": {', b'"metadata": {"x": ' + b"[" * 900 + b"]" * 900 + b", ", 1)
    ),
    "very deep notebook": _raw(_NOTEBOOK, lambda _: b'{"cells": ' + b"[" * 100_000 + b"]" * 100_000 + b"}"),
    "notebook digits": _raw(_NOTEBOOK, lambda c: c.replace(b'"nbformat": 4', b'"nbformat": ' + b"9" * 100_000)),
    "notebook infinite": _raw(_NOTEBOOK, lambda c: c.replace(b'"nbformat": 4', b'"nbformat": 1e999')),
    "notebook half a pair": _cells(lambda cells: cells[1].update(source="\ud800", id="\ud800")),
    # signatures
    "signature of no text": _more("manifest.tester.sig", content=b"\xff"),
    "signature deep": _more("manifest.tester.sig", content=b"[" * 100_000),
    "signature digits": _more("manifest.tester.sig", content=b'{"signer": ' + b"9" * 100_000 + b"}"),
    "signature odd": _more(
        "manifest.tester.sig",
        content=json.dumps(
            {
                "format": "adhesion_stats signature",
                "format_version": 1,
                "algorithm": "Ed25519",
                "signer": "tester",
                "public_key": base64.b64encode(b"\0" * 32).decode(),
                "signature": "=" * 100_000,
            }
        ).encode(),
    ),
    "many signatures": _more(*(f"manifest.s{i}.sig" for i in range(400)), content=b"{}"),
    # what the raw files hold
    "readings of code": _raw("readings.csv", lambda c: c.replace(b"Deck", b"__import__('os').system('touch trap')")),
    "readings of escapes": _raw("readings.csv", lambda c: c.replace(b"Deck", _ESCAPES.encode())),
    "readings of zeros": _raw("readings.csv", lambda _: b"\0" * 1000),
    "specification deep": _raw("terms.toml", lambda c: c + b"x = " + b"[" * 100_000),
    # a revision
    "revision odd": _more(
        "revision.json", content=b'{"revises": {"a": 1}, "reason": 7, "changes": "x", "inputs": [1]}'
    ),
    "revision that commands": _more(
        "revision.json",
        content=json.dumps({"revises": _ESCAPES, "reason": _ESCAPES, "changes": [], "inputs": []}).encode(),
    ),
}
