"""A new folder is there whole or not at all."""

import os
import shutil
import signal
import stat
import subprocess
import sys
import threading
import time
from collections.abc import Callable
from pathlib import Path

import pytest

from adhesion_stats.errors import UnwritableFolder, WrongUsage
from adhesion_stats.record import folder as room
from adhesion_stats.record import new_folder, put, unfinished

posix = pytest.mark.skipif(os.name != "posix", reason="signals and rights as POSIX has them")


def _nothing() -> None:
    """Happen meanwhile in the plain case."""


def _make(target: Path, files: int = 3, meanwhile: Callable[[], None] = _nothing) -> None:
    with new_folder(target) as inside:
        for i in range(files):
            put(inside, f"{i}.txt", b"x" * i)
        meanwhile()


def _names(folder: Path) -> list[str]:
    return sorted(p.name for p in folder.iterdir())


def test_success_leaves_the_folder_and_nothing_else(tmp_path: Path) -> None:
    """All files are in the target; beside it there is nothing."""
    _make(tmp_path / "report")
    assert _names(tmp_path) == ["report"]
    assert _names(tmp_path / "report") == ["0.txt", "1.txt", "2.txt"]


def test_nothing_is_seen_before_the_end(tmp_path: Path) -> None:
    """While files are written the target does not exist, and what exists is marked as unfinished."""
    target = tmp_path / "report"
    with new_folder(target) as inside:
        put(inside, "a.txt", b"a")
        assert not target.exists()
        assert unfinished(target) == [inside.parent]
        assert _names(tmp_path)[0].startswith(".report.")
        assert _names(tmp_path)[0].endswith(".unfinished")
    assert unfinished(target) == []


@posix
def test_others_can_not_look_into_the_unfinished_folder(tmp_path: Path) -> None:
    """The temporary folder is its owner's alone; the finished one has the usual rights."""
    plain = tmp_path / "plain"
    plain.mkdir()
    with new_folder(tmp_path / "report") as inside:
        put(inside, "a.txt", b"a")
        assert stat.S_IMODE(inside.parent.stat().st_mode) == 0o700
    assert (tmp_path / "report").stat().st_mode == plain.stat().st_mode


@pytest.mark.parametrize("there", ["folder", "empty folder", "file", "link", "broken link"])
def test_an_existing_target_is_refused_and_kept(tmp_path: Path, there: str) -> None:
    """Whatever is at the target stays as it is, and the error says what to do."""
    target = tmp_path / "report"
    filled = tmp_path / "filled"
    filled.mkdir()
    (filled / "old.txt").write_text("old")
    make: dict[str, Callable[[], object]] = {
        "folder": lambda: shutil.copytree(filled, target),
        "empty folder": target.mkdir,
        "file": lambda: target.write_text("old"),
        "link": lambda: target.symlink_to(tmp_path),
        "broken link": lambda: target.symlink_to(tmp_path / "nowhere"),
    }
    make[there]()
    before = _names(tmp_path)
    with pytest.raises(UnwritableFolder, match=r"is there already\. A finished report is never changed"):
        _make(target)
    assert _names(tmp_path) == before


@pytest.mark.parametrize("there", ["folder", "empty folder", "file", "link"])
def test_a_target_that_appears_meanwhile_is_kept(tmp_path: Path, there: str) -> None:
    """Somebody makes the target while this run writes: theirs stays, ours goes, and the error says so."""
    target = tmp_path / "report"

    def appear() -> None:
        if there == "file":
            target.write_text("theirs")
        elif there == "link":
            target.symlink_to(tmp_path)
        else:
            target.mkdir()
            if there == "folder":
                (target / "theirs.txt").write_text("theirs")

    with pytest.raises(UnwritableFolder, match="made by somebody else"):
        _make(target, meanwhile=appear)
    assert _names(tmp_path) == ["report"]
    assert target.is_symlink() or target.is_file() or "0.txt" not in _names(target)


def test_a_target_that_appears_in_the_last_instant_is_kept(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Also when it appears after the last look, the rename itself does not replace a folder with something in it."""
    target = tmp_path / "report"
    genuine = os.path.lexists
    looks = 0

    def late(path: object) -> bool:
        nonlocal looks
        found = genuine(str(path))
        looks += str(path) == str(target)
        if looks == 2 and not target.exists():
            target.mkdir()
            (target / "theirs.txt").write_text("theirs")
        return found

    monkeypatch.setattr(os.path, "lexists", late)
    with pytest.raises(UnwritableFolder, match="made by somebody else"):
        _make(target)
    monkeypatch.undo()
    assert _names(target) == ["theirs.txt"]
    assert _names(tmp_path) == ["report"]


@pytest.mark.parametrize("error", [RuntimeError("x"), KeyboardInterrupt(), SystemExit(3), OSError(28, "No space left")])
@pytest.mark.parametrize("after", [0, 1, 2])
def test_an_interruption_leaves_nothing(tmp_path: Path, error: BaseException, after: int) -> None:
    """An error at any moment goes on to the caller, and neither target nor temporary folder remain."""

    def interrupt() -> None:
        raise error

    with pytest.raises(type(error)):
        _make(tmp_path / "report", after, meanwhile=interrupt)
    assert _names(tmp_path) == []


@pytest.mark.parametrize("step", ["_prepare", "_sync", "_sync_entries"])
def test_an_interruption_inside_our_own_steps_leaves_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, step: str
) -> None:
    """Ctrl-C while the folder is made or brought to the disk leaves neither target nor temporary folder."""
    genuine = getattr(room, step)

    def interrupted(*arguments: object) -> None:
        genuine(*arguments)
        raise KeyboardInterrupt

    monkeypatch.setattr(room, step, interrupted)
    with pytest.raises(KeyboardInterrupt):
        _make(tmp_path / "report")
    assert _names(tmp_path) == []


@pytest.mark.parametrize("call", ["mkdir", "rename"])
def test_a_full_disk_is_said_and_leaves_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, call: str) -> None:
    """A failing system call becomes our error with the system's reason."""

    def full(*_: object, **__: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(Path, call, full)
    with pytest.raises(UnwritableFolder, match=r"can't be made \(No space left on device\)"):
        _make(tmp_path / "report")
    monkeypatch.undo()
    assert _names(tmp_path) == []


def test_a_parent_that_is_a_file_is_said(tmp_path: Path) -> None:
    """The usual way to have no right to write, also for root: the parent is not a folder."""
    (tmp_path / "parent").write_text("")
    with pytest.raises(UnwritableFolder, match="can't be made"):
        _make(tmp_path / "parent" / "report")
    assert _names(tmp_path) == ["parent"]


@posix
def test_a_read_only_parent_is_said(tmp_path: Path) -> None:
    """No right to write into the parent: our error, nothing made. Root has every right, so a child gives its own up."""
    tmp_path.chmod(0o755)
    parent = tmp_path / "parent"
    parent.mkdir(mode=0o555)
    child = os.fork()
    if child == 0:  # pragma: no cover - another process
        code = 1
        try:
            if os.geteuid() == 0:
                os.seteuid(65534)
            _make(parent / "report")
        except UnwritableFolder as error:
            code = 0 if "can't be made (Permission denied)" in str(error) else 2
        finally:
            os._exit(code)
    assert os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) == 0
    assert _names(parent) == []


def test_missing_parents_are_made_and_go_again_after_an_error(tmp_path: Path) -> None:
    """Parents are made for the target; without a target they are removed again, others' folders are not."""
    (tmp_path / "mine").mkdir()
    with pytest.raises(RuntimeError, match="x"), new_folder(tmp_path / "mine" / "a" / "b" / "report"):
        raise RuntimeError("x")
    assert _names(tmp_path) == ["mine"]
    assert _names(tmp_path / "mine") == []
    _make(tmp_path / "mine" / "a" / "b" / "report")
    assert len(_names(tmp_path / "mine" / "a" / "b" / "report")) == 3


def test_an_empty_folder_is_no_record(tmp_path: Path) -> None:
    """A block that writes nothing is a fault of the program."""
    with pytest.raises(ValueError, match="nothing was written"), new_folder(tmp_path / "report"):
        pass
    assert _names(tmp_path) == []


@pytest.mark.parametrize("name", ["re port", "br{a}ce", "Brücke", "n" * 240, "-x", "$HOME", "a;b"])
def test_odd_names(tmp_path: Path, name: str) -> None:
    """Blanks, braces, letters of any language and very long names are just names."""
    _make(tmp_path / name)
    assert _names(tmp_path) == [name]


def test_the_refusal_is_a_usage_error() -> None:
    """Callers that catch wrong usage catch this too."""
    assert issubclass(UnwritableFolder, WrongUsage)


@pytest.mark.parametrize("name", ["", ".", "..", "a/b", "../x", "a\\b", "/etc/x", "a\0b"])
def test_put_takes_plain_names_only(tmp_path: Path, name: str) -> None:
    """A name can't lead out of the folder."""
    with pytest.raises(ValueError, match="is no plain file name"):
        put(tmp_path, name, b"")


def test_put_never_overwrites(tmp_path: Path) -> None:
    """A second file of the same name is refused."""
    put(tmp_path, "a", b"1")
    with pytest.raises(FileExistsError):
        put(tmp_path, "a", b"2")
    assert (tmp_path / "a").read_bytes() == b"1"


def _race(i: int, target: Path, start: threading.Barrier, won: list[int], lost: list[UnwritableFolder]) -> None:
    try:
        with new_folder(target) as inside:
            put(inside, "who", str(i).encode())
            start.wait()
    except UnwritableFolder as error:
        lost.append(error)
    else:
        won.append(i)


def test_of_two_at_once_exactly_one_wins(tmp_path: Path) -> None:
    """Eight threads race for one target, thirty times: one succeeds, the others say so, nothing is left over."""
    for round_ in range(30):
        target = tmp_path / f"{round_}"
        start = threading.Barrier(8)
        won: list[int] = []
        lost: list[UnwritableFolder] = []

        threads = [threading.Thread(target=_race, args=(i, target, start, won, lost)) for i in range(8)]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        assert len(won) == 1
        assert len(lost) == 7
        assert all("somebody else" in str(error) for error in lost)
        assert (target / "who").read_bytes() == str(won[0]).encode()
        assert unfinished(target) == []


_WRITER = """
import sys, time
from pathlib import Path
from adhesion_stats.record import new_folder, put
with new_folder(Path(sys.argv[1])) as inside:
    for i in range(5):
        put(inside, f"{i}.txt", b"x" * 1000)
        print(i, flush=True)
        time.sleep(0.02)
print("left", flush=True)
"""


def _writer(target: Path) -> subprocess.Popen[str]:
    environment = os.environ | {"PYTHONPATH": os.pathsep.join(filter(None, sys.path))}
    return subprocess.Popen(
        [sys.executable, "-c", _WRITER, str(target)], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
        env=environment,
    )  # fmt: skip


@posix
@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGINT, getattr(signal, "SIGHUP", signal.SIGTERM)])
def test_a_termination_signal_leaves_nothing(tmp_path: Path, number: signal.Signals) -> None:
    """A process that is asked to end while it writes removes what it began."""
    process = _writer(tmp_path / "report")
    assert process.stdout is not None
    process.stdout.readline()
    process.send_signal(number)
    _, errors = process.communicate(timeout=20)
    assert process.returncode != 0, errors
    assert _names(tmp_path) == []


@posix
def test_a_kill_leaves_no_target_or_a_whole_one(tmp_path: Path) -> None:
    """After kill -9 at twenty moments: the target is whole or absent, and what remains is marked as unfinished."""
    whole = absent = 0
    for i in range(20):
        target = tmp_path / f"report-{i}"
        process = _writer(target)
        assert process.stdout is not None
        for _ in range(i % 7):
            process.stdout.readline()
        time.sleep(0.002 * (i % 5))
        process.kill()
        process.communicate(timeout=20)
        if target.exists():
            whole += 1
            assert len(_names(target)) == 5
        else:
            absent += 1
        for remains in unfinished(target):
            assert remains.name.startswith(".")
            assert not (remains / "manifest.json").exists()
    assert absent >= 10
    assert whole >= 1
