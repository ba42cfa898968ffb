"""A box for hostile inputs: a command runs in a process of its own that is watched and can't take the machine along.

The process has limits (memory, seconds), a private folder for temporary files, and a hook that notes what Python itself
reports of each file opened for writing, each program started and each connection. It is forked from a server that has
loaded the libraries once, so that a hundred cases cost a hundred forks and not a hundred starts.
"""

from __future__ import annotations

import contextlib
import json
import multiprocessing
import os
import resource
import signal
import sys
import time
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

__all__ = ["LONGEST", "Outcome", "run"]

LONGEST = 10  # s of the processor: how busy the machine is makes no difference
_HANGS = 120.0  # s of the clock
MEMORY = 3 * 2**30  # bytes of address space beyond what the server has
_PRELOAD = [
    "adhesion_stats.cli",
    "adhesion_stats.assessment",
    "adhesion_stats.audit.command",
    "adhesion_stats.entrance",
    "adhesion_stats.planning.risk",
    "adhesion_stats.record.crate",
    "adhesion_stats.reporting.audit_document",
    "adhesion_stats.reporting.check_text",
    "adhesion_stats.reporting.page",
    "adhesion_stats.reporting.plan.folder",
    "cryptography.hazmat.primitives.serialization",
    "jsonschema",
    "matplotlib.figure",
    "nbformat.v4",
    "openpyxl",
    "pyarrow.compute",
    "pyarrow.parquet",
    "python_calamine",
]
_STARTS = {"os.exec", "os.posix_spawn", "os.system", "subprocess.Popen"}
_CHANGES = {"os.link", "os.mkdir", "os.remove", "os.rename", "os.rmdir", "os.symlink", "os.truncate", "shutil.rmtree"}


@dataclass(frozen=True)
class Outcome:
    """What came of a command.

    Attributes
    ----------
    code
        Its exit code; None where it was still running after ``LONGEST`` seconds of the processor or two minutes of the
        clock, negative where a signal ended it.
    out, err
        What it printed.
    seconds
        How long it took.
    written, started, reached
        Paths written to, made or removed; programs started; addresses reached for.
    """

    code: int | None
    out: str
    err: str
    seconds: float
    written: tuple[str, ...] = field(default=())
    started: tuple[str, ...] = field(default=())
    reached: tuple[str, ...] = field(default=())

    @property
    def said(self) -> str:
        """Everything printed."""
        return self.out + self.err


def run(arguments: Sequence[str], folder: Path, *, known: Path | None = None, seconds: int = LONGEST) -> Outcome:
    """Run ``adhesion-stats`` with ``arguments``, its working folder ``folder``, its notes in ``folder/box``.

    ``known`` is the folder of the record that an audited one was made from. An audit then takes results and page from
    there where the raw files and the results are the same, else makes them in the watched process, and runs no
    notebook: all that takes seconds, and is not what most attacks are about.
    """
    notes = folder / "box"
    (notes / "temporary").mkdir(parents=True)
    context = multiprocessing.get_context("forkserver")
    context.set_forkserver_preload(_PRELOAD)
    process = context.Process(target=_inside, args=(list(arguments), str(folder), str(notes), known, seconds))
    started = time.monotonic()
    process.start()
    process.join(_HANGS)
    code = process.exitcode
    if code is None:
        process.kill()
        process.join()
    if code == -signal.SIGXCPU:
        code = None
    took = time.monotonic() - started
    texts = [(notes / name).read_text(encoding="utf-8", errors="surrogateescape") for name in ("out", "err")]
    lines = (notes / "events").read_text().splitlines() if (notes / "events").exists() else []
    events = [(str(kind), str(what)) for kind, what in map(json.loads, lines)]
    groups = (tuple(what for kind, what in events if kind == name) for name in ("write", "start", "reach"))
    return Outcome(code, texts[0], texts[1], took, *groups)


def _inside(arguments: list[str], folder: str, notes: str, known: Path | None, longest: int) -> None:
    os.setsid()
    os.chdir(folder)
    for number, name in ((1, "out"), (2, "err")):
        handle = os.open(f"{notes}/{name}", os.O_WRONLY | os.O_CREAT)
        os.dup2(handle, number)
    sys.stdout = open(1, "w", encoding="utf-8", closefd=False)  # noqa: SIM115 - the process ends with it
    sys.stderr = open(2, "w", encoding="utf-8", closefd=False)  # noqa: SIM115 - likewise
    os.environ["TMPDIR"] = f"{notes}/temporary"
    import tempfile

    tempfile.tempdir = None
    used = int(Path("/proc/self/statm").read_text().split()[0]) * resource.getpagesize()
    resource.setrlimit(resource.RLIMIT_AS, (used + MEMORY,) * 2)
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    resource.setrlimit(resource.RLIMIT_CPU, (longest, longest + 1))
    signal.signal(signal.SIGINT, signal.SIG_DFL)
    if known is not None:
        _take_from(known)
    _watch(f"{notes}/events")
    from adhesion_stats.cli import main

    code = 1
    try:
        code = main(arguments)
    except SystemExit as ended:  # argparse
        code = ended.code if isinstance(ended.code, int) else 1
    finally:
        for stream in (sys.stdout, sys.stderr):
            with contextlib.suppress(OSError):
                stream.flush()
        Path(f"{notes}/seconds").write_text(f"{time.process_time()}")
        os._exit(code)


def _take_from(known: Path) -> None:
    """Let an audit recompute in this process, or take what is known; in place of a run notebook, one without cells."""
    import adhesion_stats.audit as room
    from adhesion_stats.assessment import assess
    from adhesion_stats.audit.recompute import Recomputation
    from adhesion_stats.entrance import readings_from, specification_from
    from adhesion_stats.errors import InvalidSpecification, UnusableReadings
    from adhesion_stats.record import canonical_bytes, read_results
    from adhesion_stats.reporting import page as page_room

    File = tuple[str, bytes]

    files = {path.name: path.read_bytes() for path in known.iterdir()}
    results = read_results(files["results.json"])
    render = page_room.render_page

    def recompute(*, readings: File, specification: File, layout: File | None) -> Recomputation:
        if (readings[1], specification[1]) == (files["readings.csv"], files["terms.toml"]) and layout is None:
            return Recomputation(results, None, [])
        try:
            terms = specification_from(specification[1], file=specification[0])
            reading = readings_from(readings[1], file=readings[0], specification=terms, layout=layout)
        except (UnusableReadings, InvalidSpecification) as error:
            kind = "readings" if isinstance(error, UnusableReadings) else "specification"
            return Recomputation(None, kind, [message.as_dict() for message in error.messages])
        return Recomputation(read_results(canonical_bytes(assess(reading, terms).as_dict())), None, [])

    def rendered(data: Mapping[str, object], revision: Mapping[str, object] | None = None) -> str:
        if revision is None and canonical_bytes(data) == files["results.json"]:
            return files["assessment.html"].decode()
        return render(data, revision)

    room.recompute = recompute  # type: ignore[attr-defined]
    room._executed = lambda results, files: b'{"cells": []}'  # noqa: ARG005 - as it is called
    setattr(page_room, "render_page", rendered)  # noqa: B010 - a function in place of another


def _watch(notes: str) -> None:
    """Note what is written, started and reached for from now on."""
    handle = os.open(notes, os.O_WRONLY | os.O_CREAT | os.O_APPEND)

    def note(kind: str, what: object) -> None:
        text = os.fsdecode(what) if isinstance(what, str | bytes | os.PathLike) else str(what)
        os.write(handle, f"{json.dumps([kind, text])}\n".encode())

    def hook(event: str, arguments: tuple[object, ...]) -> None:
        if event == "open":
            path, _mode, flags = arguments
            if isinstance(flags, int) and flags & (os.O_WRONLY | os.O_RDWR | os.O_CREAT) and not isinstance(path, int):
                note("write", os.path.abspath(os.fsdecode(path)))  # type: ignore[arg-type]  # noqa: PTH100 - as it is said
        elif event in {"os.remove", "os.rmdir"} and isinstance(arguments[1], int) and arguments[1] >= 0:
            above = Path(f"/proc/self/fd/{arguments[1]}").readlink()  # the name is one below an open folder
            note("write", f"{above}/{os.fsdecode(arguments[0])}")  # type: ignore[arg-type]
        elif event in _CHANGES:
            for path in arguments:
                if isinstance(path, str | bytes | os.PathLike):
                    note("write", os.path.abspath(os.fsdecode(path)))  # noqa: PTH100 - likewise
        elif event in _STARTS:
            note("start", arguments[0])
        elif event == "socket.connect":
            note("reach", arguments[1])

    sys.addaudithook(hook)
