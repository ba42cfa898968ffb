"""The notebook of a report: executed by papermill from the files of the report, and returned as bytes.

``execute_assessment_notebook`` may run in a thread beside other work: it neither changes the working folder of the
process nor touches its signals, and prints nothing. The notebook itself lies in ``notebooks/`` and holds no logic.
"""

from __future__ import annotations

import contextlib
import json
import keyword
import re
import shutil
import sysconfig
import threading
from collections.abc import Callable, Iterator, Mapping
from concurrent.futures import Future, ThreadPoolExecutor
from pathlib import Path
from typing import TYPE_CHECKING

from adhesion_stats.errors import NotebookFailed, WrongUsage
from adhesion_stats.locate import packaged
from adhesion_stats.reporting.kernel import (
    CELL_TIMEOUT_S,
    ENGINE,
    KERNEL_NAME,
    START_TIMEOUT_S,
    Kernel,
    Transport,
    default_transport,
    in_own_thread,
    private_folder,
    register_engine,
)
from adhesion_stats.reporting.normalise import INJECTED_ID, normalised_bytes
from adhesion_stats.reporting.words import word

if TYPE_CHECKING:
    from nbformat import NotebookNode

__all__ = [
    "assessment_notebook_ahead",
    "check_parameters",
    "execute_assessment_notebook",
    "execute_notebook",
    "parameter_names",
    "unexecuted_assessment_notebook",
]

# A code cell with one of these tags is executed while the files may still be missing.
_NEEDS_NO_FILES = frozenset({"parameters", "injected-parameters", "imports"})

_BEFORE_REVISION = "c06-decision"  # cell after which a revision is shown

_PARAMETER = re.compile(r'(?P<name>[A-Za-z_][A-Za-z0-9_]*) = "(?P<text>[^"\\=]*)"')
_ANSI = re.compile(r"\x1b\[[0-9;?]*[A-Za-z]")


def execute_assessment_notebook(
    *,
    folder: Path,
    readings: str,
    specification: str,
    results: str,
    layout: str = "",
    revision: str = "",
    transport: Transport | None = None,
) -> bytes:
    """Execute the notebook of an assessment on the files of its report.

    Parameters
    ----------
    folder
        Folder of the report, in which the files lie; it is read only.
    readings, specification, results
        Names of the files in ``folder``; ``results`` is compared with what the notebook computes itself ("" for not).
    layout
        Name of the layout file in ``folder``, "" where there is none.
    revision
        Name of the file in ``folder`` that says what the record takes the place of, which the notebook then shows; ""
        for a record that is no revision.
    transport
        How to talk to the kernel; None takes what suits the system.

    Returns
    -------
    bytes
        The executed notebook; the same bytes for the same files, versions and kind of machine.

    Raises
    ------
    WrongUsage
        When a name is not a plain file name, or that file is not in ``folder``.
    NotebookFailed
        When a cell fails (the comparison with ``results`` included) or the kernel can't be had.
    """
    parameters = {"readings": readings, "specification": specification, "layout": layout, "results": results}
    files = [_source(folder, name) for name in _names(parameters, revision=revision)]

    def notebook() -> NotebookNode:
        return _with_revision(_assessment_notebook(), revision)

    return _Run(notebook, parameters, lambda: files, transport or default_transport())()


def _names(parameters: Mapping[str, str], *, revision: str) -> list[str]:
    """Names of the files that the notebook reads."""
    return [*(name for name in parameters.values() if name), *([revision] if revision else [])]


@contextlib.contextmanager
def assessment_notebook_ahead(
    *, readings: str, specification: str, results: str, layout: str = "", revision: str = ""
) -> Iterator[Callable[[Path], Future[bytes]]]:
    """Start the notebook of an assessment in a thread while its files are still being made.

    The kernel starts and loads its libraries at once; it waits for the files before the first cell that reads them.

    Parameters
    ----------
    readings, specification, results, layout, revision
        As for :func:`execute_assessment_notebook`.

    Yields
    ------
    Callable
        To be called once, with the folder that by now holds the files; gives the future of the executed notebook. When
        the block is left without that, or by an error, the kernel is ended.

    Examples
    --------
    ::

        with assessment_notebook_ahead(readings="r.csv", specification="s.toml", results="results.json") as go_on:
            ...                             # assess, write the three files into folder
            notebook = go_on(folder)
            ...                             # render the page
            content = notebook.result()
    """
    parameters = {"readings": readings, "specification": specification, "layout": layout, "results": results}
    for name in parameters.values():
        _check_name(name)
    given: Future[Path] = Future()
    run = _Run(
        lambda: _with_revision(_assessment_notebook(), revision),
        parameters,
        lambda: [_source(given.result(), name) for name in _names(parameters, revision=revision)],
        default_transport(),
    )
    with ThreadPoolExecutor(max_workers=1, thread_name_prefix="report") as pool:
        job = pool.submit(run)

        def go_on(folder: Path) -> Future[bytes]:
            given.set_result(folder)
            return job

        try:
            yield go_on
        except BaseException:
            run.stop()
            raise
        finally:
            if given.cancel():
                run.stop()


def unexecuted_assessment_notebook(
    *, readings: str, specification: str, results: str, layout: str = "", revision: str = ""
) -> dict[str, object]:
    """Return the notebook of an assessment with its parameters set, as :func:`execute_assessment_notebook` runs it."""
    from nbformat.v4 import new_code_cell

    parameters = {"readings": readings, "specification": specification, "layout": layout, "results": results}
    notebook = _with_revision(_assessment_notebook(), revision)
    at = next(i for i, cell in enumerate(notebook.cells) if "parameters" in cell.metadata.get("tags", []))
    injected = new_code_cell(_plain_parameters(parameters), id=INJECTED_ID, metadata={"tags": ["injected-parameters"]})
    notebook.cells.insert(at + 1, injected)
    found = json.loads(normalised_bytes(notebook))
    assert isinstance(found, dict)
    return found


def _assessment_notebook() -> NotebookNode:
    import nbformat

    text = packaged("notebooks", "assessment.ipynb").read_text(encoding="utf-8")
    notebook: NotebookNode = nbformat.reads(text, as_version=4)
    return notebook


def _with_revision(notebook: NotebookNode, revision: str) -> NotebookNode:
    """The notebook; where ``revision`` names a file, with two cells more that show what that file says."""
    from nbformat.v4 import new_code_cell, new_markdown_cell

    if revision:
        at = next(i for i, cell in enumerate(notebook.cells) if cell.id == _BEFORE_REVISION)
        title = new_markdown_cell(f"## {word('h_revision')}", id="c06-revision")
        shown = new_code_cell(
            f"from adhesion_stats.reporting.cells import show_revision\n\nshow_revision({json.dumps(revision)})",
            id="c06-revision-shown",
        )
        notebook.cells[at + 1 : at + 1] = [title, shown]
    return notebook


def _check_name(name: str) -> None:
    if name in {".", ".."} or any(s in name for s in ("/", "\\", "\0")):
        raise WrongUsage(f"The notebook expects the name of a file in the folder of the report; {name!r} is none.")


def _source(folder: Path, name: str) -> Path:
    _check_name(name)
    source = folder / name
    if not source.is_file():
        raise WrongUsage(f"The notebook needs the file {name!r}, which is not in {folder}.")
    return source


def parameter_names(notebook: NotebookNode) -> tuple[str, ...]:
    """Return the names that the notebook's parameter cell sets, in its order.

    Raises
    ------
    NotebookFailed
        When there is not exactly one cell tagged ``parameters``, or a line of it is not plainly ``name = "text"``.
    """
    cells = [cell for cell in notebook.cells if "parameters" in cell.metadata.get("tags", [])]
    if len(cells) != 1:
        raise NotebookFailed(f"A notebook to execute needs one cell tagged 'parameters'; this one has {len(cells)}.")
    names: list[str] = []
    for line in cells[0].source.splitlines():
        found = _PARAMETER.fullmatch(line)
        if found is None:
            raise NotebookFailed(f'In the parameter cell every line is to be name = "text"; found: {line!r}.')
        names.append(found["name"])
    return tuple(names)


def check_parameters(parameters: Mapping[str, str], known: tuple[str, ...]) -> None:
    """Refuse parameters that the notebook does not have, that are not plain names, or whose values are not text.

    papermill would run on with a misspelt name, guess types and write any key into the notebook as code.

    Raises
    ------
    WrongUsage
        Naming every parameter at fault, and the ones that the notebook knows.
    """
    faults: list[str] = []
    for name, text in parameters.items():
        if not name.isidentifier() or keyword.iskeyword(name):
            faults.append(f"{name!r} is not a plain name")
        elif name not in known:
            faults.append(f"{name!r} is not known to the notebook")
        elif not isinstance(text, str):
            faults.append(f"{name!r} must be text, not {text!r} ({type(text).__name__})")
    if faults:
        raise WrongUsage(f"Parameters of a notebook: {'; '.join(faults)}. Known are: {', '.join(known)}.")


def execute_notebook(
    notebook: NotebookNode,
    *,
    parameters: Mapping[str, str],
    files: list[Path],
    transport: Transport | None = None,
) -> bytes:
    """Execute ``notebook`` in a private temporary folder that holds copies of ``files``.

    Parameters
    ----------
    notebook
        The notebook, with one cell tagged ``parameters``; it is not changed.
    parameters
        Texts by name, each one a name of the parameter cell.
    files
        Files that the notebook reads, by their plain names.
    transport
        As for :func:`execute_assessment_notebook`.

    Returns
    -------
    bytes
        The executed notebook, normalised.

    Raises
    ------
    WrongUsage
        For parameters that the notebook does not have.
    NotebookFailed
        When a cell fails or the kernel can't be had, also not at a second try.
    """
    return _Run(lambda: notebook, parameters, lambda: files, transport or default_transport())()


class _NotStarted(Exception):
    """The kernel did not come up."""


class _Run:
    """One execution of a notebook, which another thread may stop."""

    def __init__(
        self,
        notebook: Callable[[], NotebookNode],
        parameters: Mapping[str, str],
        files: Callable[[], list[Path]],
        transport: Transport,
    ) -> None:
        # The notebook is read in the thread that executes it: the library for that takes a while to load.
        self.notebook, self.parameters, self.files, self.transport = notebook, parameters, files, transport
        self._stopped = threading.Event()
        self._kernel: Kernel | None = None

    def __call__(self) -> bytes:
        """Execute; a kernel that does not come up is tried once more (a port may have been taken meanwhile)."""
        notebook = self.notebook()
        check_parameters(self.parameters, parameter_names(notebook))
        try:
            return in_own_thread(lambda: self._attempt(notebook))
        except _NotStarted:
            try:
                return in_own_thread(lambda: self._attempt(notebook))
            except _NotStarted as error:
                raise NotebookFailed(str(error)) from error

    def stop(self) -> None:
        """End the execution soon, from any thread."""
        self._stopped.set()
        if self._kernel is not None:
            self._kernel.kill()

    def _attempt(self, notebook: NotebookNode) -> bytes:
        register_engine()
        with private_folder(self.transport) as private:
            working = private / "work"
            working.mkdir()
            waiting = True

            def before_cell(tags: list[str]) -> None:
                nonlocal waiting
                if self._stopped.is_set():
                    raise NotebookFailed("The execution of the notebook was stopped.")
                if waiting and not _NEEDS_NO_FILES.intersection(tags):
                    for file in self.files():
                        shutil.copyfile(file, working / file.name)
                    waiting = False

            self._kernel = Kernel(private, working, self.transport, before_cell)
            executed = self._executed(notebook, self._kernel)
            _check_executed(executed)
            return normalised_bytes(
                _with_plain_parameters(executed, self.parameters), folders=_folders_of_this_machine(private)
            )

    def _executed(self, notebook: NotebookNode, kernel: Kernel) -> NotebookNode:
        import papermill
        from nbclient.exceptions import CellTimeoutError, DeadKernelError
        from papermill.exceptions import PapermillExecutionError

        try:
            executed: NotebookNode = papermill.execute_notebook(
                notebook,
                None,  # nothing is written; a path would also be taken for a format text with braces
                dict(self.parameters),
                engine_name=ENGINE,
                kernel_name=KERNEL_NAME,
                language="python",
                progress_bar=False,
                start_timeout=START_TIMEOUT_S,
                execution_timeout=CELL_TIMEOUT_S,
                kernel=kernel,
            )
        except PapermillExecutionError as error:
            raise NotebookFailed(_failure(notebook, error)) from None
        except CellTimeoutError as error:
            raise NotebookFailed(f"A cell of the notebook took longer than {CELL_TIMEOUT_S} s.") from error
        except NotebookFailed:
            raise
        except (DeadKernelError, RuntimeError) as error:
            text = f"The kernel of the notebook ended or did not start: {error}{_said(kernel)}"
            if kernel.started or self._stopped.is_set():
                raise NotebookFailed(text) from error
            raise _NotStarted(text) from error
        return executed


def _folders_of_this_machine(private: Path) -> tuple[str, ...]:
    """Folders that a warning in an output may name, longest first: they say where, not what."""
    installed = sysconfig.get_paths()
    root = Path(__file__).resolve().parents[2]
    return tuple(sorted({str(private), str(root), installed["purelib"], installed["stdlib"]}, key=len, reverse=True))


def _said(kernel: Kernel) -> str:
    """What the kernel's process printed before it ended, for the error."""
    text = kernel.log.read_text(encoding="utf-8", errors="replace").strip() if kernel.log.is_file() else ""
    return f"\nIt printed:\n{_printable(text[-2000:])}" if text else ""


def _printable(text: str) -> str:
    return "".join(c if c.isprintable() or c == "\n" else " " for c in _ANSI.sub("", text))


def _failure(notebook: NotebookNode, error: Exception) -> str:
    """Name the cell that failed, with its traceback as plain text."""
    source = getattr(error, "source", "")
    cell = next((cell.id for cell in notebook.cells if cell.source == source), INJECTED_ID)
    traceback = _printable("\n".join(getattr(error, "traceback", []) or []))
    name, value = getattr(error, "ename", ""), _printable(str(getattr(error, "evalue", "")))
    return f"Cell {cell} of the notebook failed: {name}: {value}\n{traceback}".rstrip()


def _check_executed(executed: NotebookNode) -> None:
    """Refuse a notebook that ended before its end: papermill takes a plain exit for success."""
    for cell in executed.cells:
        if cell.cell_type != "code":
            continue
        names = [output.ename for output in cell.outputs if output.output_type == "error"]
        if names or (cell.source.strip() and cell.execution_count is None):
            raise NotebookFailed(f"Cell {cell.id} of the notebook failed: {', '.join(names) or 'it was not executed'}.")


def _with_plain_parameters(executed: NotebookNode, parameters: Mapping[str, str]) -> NotebookNode:
    """Write the injected cell our way: papermill's text changes where the formatter ``black`` happens to be installed.

    A JSON text is a Python text as well, so the cell still says what was executed.
    """
    for cell in executed.cells:
        if "injected-parameters" in cell.metadata.get("tags", []):
            cell.source = _plain_parameters(parameters)
    return executed


def _plain_parameters(parameters: Mapping[str, str]) -> str:
    lines = [f"{name} = {json.dumps(text, ensure_ascii=False)}" for name, text in parameters.items()]
    return "\n".join(["# Set by the command that made this report:", *lines])
