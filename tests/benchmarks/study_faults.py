"""Faults: is a record whole or absent after a kill at any moment, on a full disk, in a read-only folder, in a crowd?

``python -m tests.benchmarks.study_faults [kills] [seed] [section ...]`` prints counts (as root on Linux, for the small
file systems):

- kill -9 of ``assess``, ``assess --revises`` and ``audit --output`` at random moments, from the start to behind the
  end, half of them in the last third, in which files are written;
- ``assess`` onto file systems of 30 sizes, from empty to large enough, by bytes and by number of files; the same with
  the folder for temporary files on them;
- a read-only file system, for the record and for temporary files;
- 20 runs of ``assess``, then of ``audit --output``, into one folder at once.

After each: the folder is absent, or a record with every hash right; the record that was there before has not changed;
what a killed run leaves is private, and no process of it goes on. Outcome: docs/audit-proof.md.
"""

from __future__ import annotations

import contextlib
import hashlib
import importlib
import os
import random
import shutil
import signal
import stat
import subprocess
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path

from adhesion_stats.audit.integrity import record_of
from adhesion_stats.audit.received import receive
from adhesion_stats.cli import main as main_of_the_command
from adhesion_stats.locate import packaged

__all__ = ["Crowd", "alive", "crowd", "inputs", "killed", "leftovers", "once", "state"]

Crowd = Counter[str]
_SESSIONS: list[int] = []  # of the killed runs; each is the number of its first process
_ENVIRONMENT = {"OMP_NUM_THREADS": "1", "OPENBLAS_NUM_THREADS": "1"}


def inputs(folder: Path) -> list[str]:
    """The arguments of an assessment of a small demo contract, its files copied into ``folder``."""
    demo = packaged("data", "demo", "psi-contract")
    for name in ("readings.csv", "specification.toml"):
        shutil.copy(demo / name, folder)
    return ["assess", str(folder / "readings.csv"), "--specification", str(folder / "specification.toml")]


def _command(arguments: Sequence[str]) -> list[str]:
    return [sys.executable, "-m", "adhesion_stats", *arguments]


def _environment(temporary: Path) -> dict[str, str]:
    return os.environ | _ENVIRONMENT | {"TMPDIR": str(temporary)}


def digest_of(folder: Path) -> str:
    """One hash over names and bytes of all files of a folder."""
    total = hashlib.sha256()
    for path in sorted(folder.iterdir()):
        total.update(path.name.encode() + b"\0" + hashlib.sha256(path.read_bytes()).digest())
    return total.hexdigest()


def state(target: Path, *, audit: bool = False) -> str:
    """What is at the target: "absent", "whole" (every hash of a record right; both files of an audit), or "broken"."""
    if not os.path.lexists(target):
        return "absent"
    if audit:
        files = {path.name: path.read_bytes() for path in target.iterdir()}
        names = {"audit.json", "audit.html"}
        return "whole" if files.keys() == names and files["audit.html"].rstrip().endswith(b"</html>") else "broken"
    return "broken" if record_of(receive(target)).problems else "whole"


def leftovers(*folders: Path) -> Crowd:
    """What lies beside the targets: temporary folders by kind, and those that others may look into."""
    found: Crowd = Counter()
    for folder in folders:
        for path in folder.iterdir():
            mode = path.lstat().st_mode
            if path.name.endswith(".unfinished") or path.name.startswith(("as-", "audit-", "tmp")):
                found["temporary"] += 1
                found["open to others"] += bool(stat.S_IMODE(mode) & 0o077)
    return found


def killed(arguments: Sequence[str], target: Path, *, temporary: Path, after: float, audit: bool = False) -> str:
    """Start a command, kill it after so many seconds unless it ended before, and say what is at the target."""
    child = os.fork()
    if child == 0:  # this process has loaded the libraries already; the child is one run of the command line
        os.setsid()
        silent = os.open(os.devnull, os.O_WRONLY)
        os.dup2(silent, 1)
        os.dup2(silent, 2)
        os.environ.update(_environment(temporary))
        tempfile.tempdir = None
        os._exit(main_of_the_command([*arguments, "--output", str(target)]))
    ended, until = 0, time.monotonic() + after
    while not ended and time.monotonic() < until:
        ended, _ = os.waitpid(child, os.WNOHANG)
        time.sleep(0.002)
    if not ended:
        os.kill(child, signal.SIGKILL)  # this process alone: what it started must end by itself
        os.waitpid(child, 0)
    _SESSIONS.append(child)
    return f"{'ended' if ended else 'killed'}, {state(target, audit=audit)}"


def alive() -> list[int]:
    """Processes that belong to the killed runs and go on."""
    found = []
    for entry in Path("/proc").iterdir():
        if entry.name.isdigit():
            with contextlib.suppress(OSError):
                fields = (entry / "stat").read_text().rpartition(")")[2].split()
                if int(fields[3]) in _SESSIONS and fields[0] != "Z":
                    found.append(int(entry.name))
    return found


def crowd(arguments: Sequence[str], target: Path, *, temporary: Path, runs: int, audit: bool = False) -> Crowd:
    """Start so many runs into one folder at once; how they ended, and what is there."""
    processes = [
        subprocess.Popen(
            _command([*arguments, "--output", str(target)]), stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
            env=_environment(temporary),
        )
        for _ in range(runs)
    ]  # fmt: skip
    found = Counter(f"exit {process.wait()}" for process in processes)
    found[state(target, audit=audit)] += 1
    return found


@contextlib.contextmanager
def _file_system(options: str) -> Iterator[Path]:
    """A small file system in memory."""
    place = Path(tempfile.mkdtemp(prefix="fs-"))
    subprocess.run(["mount", "-t", "tmpfs", "-o", options, "tmpfs", str(place)], check=True)
    try:
        yield place
    finally:
        subprocess.run(["umount", "-l", str(place)], check=True)
        place.rmdir()


def once(arguments: Sequence[str], target: Path, temporary: Path) -> str:
    """Run a command to its end: its exit code, and what is at the target."""
    done = subprocess.run(
        _command([*arguments, "--output", str(target)]), capture_output=True, text=True, env=_environment(temporary),
        check=False,
    )  # fmt: skip
    ours = "fault of adhesion-stats" in done.stderr
    return f"exit {done.returncode}{', our fault' if ours else ''}, {state(target)}"


def _kills(work: Path, number: int, rng: random.Random) -> None:
    arguments = inputs(work)
    temporary = work / "temporary"
    temporary.mkdir()
    old = work / "old"
    started = time.monotonic()
    assert killed(arguments, old, temporary=temporary, after=600) == "ended, whole"
    lasts = time.monotonic() - started
    before = digest_of(old)
    kinds = {
        "assess": (arguments, number, False),
        "assess --revises": ([*arguments, "--revises", str(old), "--reason", "study"], number // 4, False),
        "audit --output": (["audit", str(old)], number // 4, True),
    }
    for kind, (asked, times, audit) in kinds.items():
        outcomes: Crowd = Counter()
        for i in range(times):
            target = work / f"{kind.split()[0]}-{i}-{len(asked)}"
            share = rng.uniform(0.0, 1.1) if i % 2 else rng.uniform(0.65, 1.1)
            outcomes[killed(asked, target, temporary=temporary, after=share * lasts, audit=audit)] += 1
            if target.exists():
                shutil.rmtree(target)
        time.sleep(20)  # a kernel looks once a second whether its parent is still there
        outcomes["processes that go on"] = len(alive())
        outcomes["old one changed"] += digest_of(old) != before
        outcomes.update(leftovers(work, temporary))
        print(f"kill -9, {kind}: {dict(outcomes)}", flush=True)
        for path in [*temporary.iterdir(), *work.glob(".*.unfinished")]:
            shutil.rmtree(path, ignore_errors=True)


def _small_disks(work: Path) -> None:
    arguments = inputs(work)
    outcomes: dict[str, Crowd] = {"record": Counter(), "temporary files": Counter()}
    kilobytes = [0, *(int(2 ** (k / 2)) for k in range(4, 23))]
    numbers = (2, 3, 4, 5, 6, 8, 10, 12, 16, 24)
    sizes = [*(f"size={max(4, k)}k" for k in kilobytes), *(f"nr_inodes={n}" for n in numbers)]
    for options in sizes:
        with _file_system(options) as small:
            outcomes["record"][once(arguments, small / "new", work)] += 1
            outcomes["record"]["left over"] += sum(1 for _ in small.glob(".*.unfinished"))
    for options in sizes[::2]:
        with _file_system(options) as small:
            target = work / "from-small"
            outcomes["temporary files"][once(arguments, target, small)] += 1
            shutil.rmtree(target, ignore_errors=True)
    for kind, found in outcomes.items():
        print(f"full disk, {kind}: {dict(found)}", flush=True)


def _read_only(work: Path) -> None:
    arguments = inputs(work)
    with _file_system("size=64m") as place:
        subprocess.run(["mount", "-o", "remount,ro", str(place)], check=True)
        print(f"read-only folder: {once(arguments, place / 'new', work)}")
        print(f"read-only folder for temporary files: {once(arguments, work / 'new', place)}", flush=True)


def _crowds(work: Path) -> None:
    arguments = inputs(work)
    print(f"20 at once, assess: {dict(crowd(arguments, work / 'new', temporary=work, runs=20))}", flush=True)
    found = crowd(["audit", str(work / "new")], work / "audited", temporary=work, runs=20, audit=True)
    print(f"20 at once, audit: {dict(found)}")
    print(f"left over: {dict(leftovers(work))}", flush=True)


def _load() -> None:
    """Load what a run loads, so that each child has it."""
    for module in ("assessment", "audit.command", "entrance", "reporting.audit_document", "reporting.page"):
        importlib.import_module(f"adhesion_stats.{module}")


def main(kills: int, seed: int, sections: Sequence[str]) -> None:
    """Run the sections (all where none is named) and print counts."""
    signal.signal(signal.SIGTERM, lambda *_: sys.exit(143))
    _load()
    todo: dict[str, Callable[[Path], None]] = {
        "kills": lambda work: _kills(work, kills, random.Random(seed)),  # noqa: S311 - moments, not secrets
        "read-only": _read_only,
        "crowd": _crowds,
        "disks": _small_disks,
    }
    for name, section in todo.items():
        if not sections or name in sections:
            with tempfile.TemporaryDirectory(prefix="faults-") as work:
                section(Path(work))


if __name__ == "__main__":
    given = sys.argv[1:]
    main(int(given[0]) if given else 200, int(given[1]) if len(given) > 1 else 1, given[2:])
