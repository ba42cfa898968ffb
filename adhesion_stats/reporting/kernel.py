"""The kernel that executes a notebook: private, ours, and the same on every machine.

papermill drives it through an engine of its own, because the usual one takes too much from its surroundings: a kernel
named ``python3`` that a user installed, start-up files of IPython, settings of Jupyter and matplotlib, sockets in the
current folder. Here the command is this very Python, every settings folder is an empty private one, and the transport
is a socket file in a private folder where the system has such (POSIX), TCP elsewhere.

Nothing here knows what the notebook is about. papermill and Jupyter are imported on first use.
"""

from __future__ import annotations

import asyncio
import contextlib
import functools
import logging
import os
import shutil
import sys
import tempfile
from collections.abc import Callable, Iterator, Mapping
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from pathlib import Path
from typing import IO, TYPE_CHECKING, Literal, TypeVar

if TYPE_CHECKING:
    from jupyter_client.manager import AsyncKernelManager
    from nbformat import NotebookNode

__all__ = [
    "ENGINE",
    "KERNEL_NAME",
    "Kernel",
    "Transport",
    "default_transport",
    "in_own_thread",
    "kernel_environment",
    "private_folder",
    "register_engine",
]

ENGINE = "adhesion_stats"
KERNEL_NAME = "python3"
Transport = Literal["ipc", "tcp"]
Result = TypeVar("Result")

COMMAND = ("-m", "ipykernel_launcher", "-f", "{connection_file}")  # after this very Python

START_TIMEOUT_S = 120
CELL_TIMEOUT_S = 1800  # for one cell: a contract of many thousand pulls takes seconds, a hang must end one day

# A socket file's path may have 104 bytes on macOS and BSD, 108 on Linux, with the zero at its end.
_LONGEST_SOCKET_PATH = 100

# What the kernel gets from the environment of this process: how to find programs, libraries and folders, and settings
# that choose between code paths of numpy and its libraries, so that both compute the same bits. Nothing else.
_PASSED_ON = frozenset({
    "APPDATA", "COMSPEC", "CONDA_PREFIX", "DYLD_LIBRARY_PATH", "HOME", "LD_LIBRARY_PATH", "LOCALAPPDATA",
    "NUMBER_OF_PROCESSORS", "PATH", "PATHEXT", "PROCESSOR_ARCHITECTURE", "PROGRAMDATA", "PYTHONDONTWRITEBYTECODE",
    "PYTHONHOME", "PYTHONNOUSERSITE", "PYTHONPATH", "PYTHONPYCACHEPREFIX", "PYTHONUSERBASE", "SYSTEMDRIVE",
    "SYSTEMROOT", "TEMP", "TMP", "TMPDIR", "USERPROFILE", "VIRTUAL_ENV", "WINDIR",
})  # fmt: skip
_PASSED_ON_BY_START = ("MKL_", "NPY_", "OMP_", "OPENBLAS_")


@dataclass
class Kernel:
    """One kernel to be started: its private folder, its transport, and what became of it.

    Attributes
    ----------
    private
        Folder with settings, connection file and sockets; nobody else may read it.
    working
        Folder in which the kernel runs.
    transport
        "ipc" or "tcp".
    before_cell
        Called before each code cell with the tags of the cell; may wait.
    started
        Whether the kernel answered; set by the engine.
    """

    private: Path
    working: Path
    transport: Transport
    before_cell: Callable[[list[str]], None]
    started: bool = field(default=False)
    _manager: AsyncKernelManager | None = field(default=None, init=False, repr=False)

    def adopt(self, manager: AsyncKernelManager) -> None:
        """Note who holds the process, so that it can be ended from another thread."""
        self._manager = manager

    def kill(self) -> None:
        """End the kernel's process at once, from any thread; nothing where there is none."""
        provisioner = self._manager.provisioner if self._manager is not None else None
        process = getattr(provisioner, "process", None)
        if process is not None:
            process.kill()

    @property
    def log(self) -> Path:
        """File that takes what the kernel's process itself prints (never a cell's output)."""
        return self.private / "kernel.log"


def default_transport() -> Transport:
    """Return "ipc" where the system has socket files that zmq can use, else "tcp"."""
    return "ipc" if os.name == "posix" else "tcp"


@contextlib.contextmanager
def private_folder(transport: Transport) -> Iterator[Path]:
    """Give a temporary folder that only its owner can read, with a path short enough for sockets; remove it after."""
    places: list[str | None] = [None]
    if transport == "ipc" and len(os.fsencode(tempfile.gettempdir())) + 40 > _LONGEST_SOCKET_PATH:
        places.insert(0, "/tmp")  # noqa: S108 - mkdtemp makes an unguessable folder there, for its owner alone
    for place in places:
        if place is not None and not os.access(place, os.W_OK):
            continue
        with tempfile.TemporaryDirectory(prefix="as-", dir=place, ignore_cleanup_errors=True) as folder:
            yield Path(folder).resolve()
        return


def kernel_environment(private: Path, surroundings: Mapping[str, str]) -> dict[str, str]:
    """Return the environment of the kernel: a few entries of ``surroundings``, the rest fixed or below ``private``."""
    kept = {
        name: text
        for name, text in surroundings.items()
        if name.upper() in _PASSED_ON or name.upper().startswith(_PASSED_ON_BY_START)
    }
    # In a clone the package may be importable only because this process has the clone on its path.
    root = Path(__file__).resolve().parents[2]
    if (root / "pyproject.toml").is_file():
        kept["PYTHONPATH"] = os.pathsep.join(filter(None, [str(root), kept.get("PYTHONPATH", "")]))
    folders = ("IPYTHONDIR", "JUPYTER_CONFIG_DIR", "JUPYTER_DATA_DIR", "JUPYTER_RUNTIME_DIR", "MPLCONFIGDIR")
    fixed = {name: str(private / name.lower()) for name in folders}
    return kept | fixed | {
        "JUPYTER_PLATFORM_DIRS": "1",
        "LC_ALL": "C",
        "PYTHONHASHSEED": "0",
        "PYTHONSAFEPATH": "1",  # a readings file named pandas.py must not be imported
        "PYTHONUTF8": "1",
        "TZ": "UTC",
    }  # fmt: skip


def _warm_font_list(target: Path) -> None:
    """Copy matplotlib's list of fonts, so that the kernel need not search the system for them once more.

    Only that list: settings and styles of the user stay out. Figures name the font that comes with matplotlib, so the
    list changes no figure. The places are those that matplotlib documents; importing it costs more than it wins.
    """
    own = os.environ.get("MPLCONFIGDIR")
    cache = os.environ.get("XDG_CACHE_HOME")
    home = Path.home()
    places = [Path(own)] if own else [Path(cache) / "matplotlib" if cache else home / ".cache" / "matplotlib"]
    places.append(home / ".matplotlib")
    for found in (path for place in reversed(places) for path in sorted(place.glob("fontlist-*.json"))):
        with contextlib.suppress(OSError):  # it is being written just now: the kernel makes its own
            shutil.copyfile(found, target / found.name)


def _manager(kernel: Kernel, log: logging.Logger) -> AsyncKernelManager:
    from jupyter_client.kernelspec import KernelSpec, KernelSpecManager
    from jupyter_client.manager import AsyncKernelManager

    spec = KernelSpec(
        argv=[sys.executable, *COMMAND],
        display_name="Python 3",
        language="python",
        metadata={"supported_encryption": ["curve"]},
    )

    class OwnSpec(KernelSpecManager):
        """Knows one kernel, ours; the kernels that a user installed are not looked at."""

        def get_kernel_spec(self, kernel_name: str) -> KernelSpec:  # noqa: ARG002 - there is one, by any name
            return spec

    manager = AsyncKernelManager(
        kernel_name=KERNEL_NAME,
        kernel_spec_manager=OwnSpec(),
        connection_file=str(kernel.private / "connection.json"),
        log=log,
    )
    if kernel.transport == "ipc":
        manager.transport = "ipc"
        manager.ip = str(kernel.private / "k")
    manager.transport_encryption = "auto"  # others on this machine may listen to TCP
    return manager


def _quiet_log() -> logging.Logger:
    """Return a logger that prints nothing: every failure reaches the caller as an error."""
    log = logging.getLogger("adhesion_stats.notebook")
    if not log.handlers:
        log.addHandler(logging.NullHandler())
    log.propagate = False
    return log


@functools.cache
def register_engine() -> None:
    """Make the engine known to papermill under the name ``ENGINE``; a second call does nothing."""
    from papermill.clientwrap import PapermillNotebookClient
    from papermill.engines import Engine, papermill_engines

    class OwnEngine(Engine):  # type: ignore[misc]  # papermill has no types
        """papermill's engine with the kernel of this module; takes it as the argument ``kernel``."""

        @classmethod
        def execute_managed_notebook(
            cls,
            nb_man: object,
            kernel_name: str,
            *,
            kernel: Kernel,
            start_timeout: int,
            execution_timeout: int,
            **_unused: object,
        ) -> None:
            log = _quiet_log()

            def ready(notebook: NotebookNode) -> None:  # noqa: ARG001 - the hook is called by this name
                kernel.started = True

            def before(cell: NotebookNode, cell_index: int) -> None:  # noqa: ARG001 - likewise
                kernel.before_cell(cell.metadata.get("tags", []))

            environment = kernel_environment(kernel.private, os.environ)
            for name in ("IPYTHONDIR", "MPLCONFIGDIR"):
                Path(environment[name]).mkdir(exist_ok=True)
            _warm_font_list(Path(environment["MPLCONFIGDIR"]))
            manager = _manager(kernel, log)
            kernel.adopt(manager)
            client = PapermillNotebookClient(
                nb_man,
                km=manager,
                kernel_name=kernel_name,
                startup_timeout=start_timeout,
                timeout=execution_timeout,
                shutdown_kernel="immediate",  # nothing runs at its exit
                on_notebook_start=ready,
                on_cell_execute=before,
                log=log,
            )
            with kernel.log.open("wb") as output:
                _execute(client, environment, kernel.working, output)

    papermill_engines.register(ENGINE, OwnEngine)


def in_own_thread(work: Callable[[], Result]) -> Result:
    """Do ``work`` in a thread of its own, with an event loop of its own, and close that loop afterwards.

    The caller may be a plain script, a thread, or a notebook whose own event loop is running: none of them is touched.
    """
    from jupyter_core.utils import ensure_event_loop

    def alone() -> Result:
        loop = ensure_event_loop()  # the one that Jupyter's libraries will use in this thread
        try:
            return work()
        finally:
            left = asyncio.all_tasks(loop)
            for task in left:
                task.cancel()
            loop.run_until_complete(asyncio.gather(*left, return_exceptions=True))
            loop.run_until_complete(loop.shutdown_asyncgens())
            loop.close()

    with ThreadPoolExecutor(max_workers=1, thread_name_prefix="notebook") as pool:
        return pool.submit(alone).result()


def _execute(client: object, environment: dict[str, str], working: Path, output: IO[bytes]) -> None:
    from papermill.clientwrap import PapermillNotebookClient

    assert isinstance(client, PapermillNotebookClient)
    client.execute(
        env=environment,
        cwd=str(working),
        stdout=output,
        stderr=output,
        cleanup_kc=True,  # the manager is ours, yet its client stops the kernel at the end
    )
