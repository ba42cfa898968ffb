"""``manifest.json``: what lies in the folder, what it was made from and with.

Every file with its size and SHA-256, the digest of the canonical results, the parameters of the run as plain texts,
the versions of everything that computes or writes, and the kind of machine. A time stands in it only when one is given.
Its seal is the SHA-256 of all the rest: a slip of the hand shows; whoever makes it anew can make the seal anew too.
"""

from __future__ import annotations

import contextlib
import datetime as dt
import hashlib
import importlib
import importlib.metadata
import platform
import sys
from collections.abc import Mapping
from pathlib import Path

from adhesion_stats.errors import WrongUsage
from adhesion_stats.record.canonical import canonical_bytes

__all__ = [
    "DISTRIBUTIONS",
    "FORMAT",
    "FORMAT_VERSION",
    "MANIFEST",
    "machine",
    "manifest_bytes",
    "manifest_seal",
    "time_from_environment",
    "vector_level",
    "versions",
]

FORMAT = "adhesion_stats record"
FORMAT_VERSION = 1
MANIFEST = "manifest.json"

# What can change a number or a byte of an output: the direct dependencies, and those behind them that write files.
DISTRIBUTIONS = (
    "contourpy", "cryptography", "ipykernel", "ipython", "jinja2", "jupyter_client", "kiwisolver", "matplotlib",
    "nbclient", "nbformat", "numpy", "openpyxl", "pandas", "papermill", "pillow", "pint", "pyarrow", "python-calamine",
    "scipy", "xlsxwriter",
)  # fmt: skip


def versions() -> dict[str, str | None]:
    """Return the version of Python, of this package and of ``DISTRIBUTIONS``; None for what is not installed."""
    found: dict[str, str | None] = {"python": platform.python_version()}
    for name in ("adhesion_stats", *DISTRIBUTIONS):
        try:
            found[name] = importlib.metadata.version(name)
        except importlib.metadata.PackageNotFoundError:
            found[name] = None
    return found


def vector_level() -> str | None:
    """Return the highest level of vector instructions that numpy uses here ("X86_V4"), None where it names none.

    The last bits of exponentials and logarithms change with it, so the same bytes are promised on one level only.
    """
    core = importlib.import_module("numpy._core._multiarray_umath")  # where numpy.show_runtime looks as well
    features: Mapping[str, bool] = getattr(core, "__cpu_features__", {})
    levels = ("X86_V4", "AVX512_SKX", "X86_V3", "AVX2", "X86_V2", "SVE", "ASIMD", "VSX4", "VXE2")
    return next((level for level in levels if features.get(level)), None)


def machine() -> dict[str, str | None]:
    """Return the kind of machine, as far as it can change the bytes of an output."""
    return {
        "system": platform.system(),
        "machine": platform.machine(),
        "byte_order": sys.byteorder,
        "python": platform.python_implementation(),
        "vectors": vector_level(),
    }


def time_from_environment(environment: Mapping[str, str]) -> dt.datetime | None:
    """Return the time that ``SOURCE_DATE_EPOCH`` names (seconds since 1970, UTC), None where it is not set.

    Source: the SOURCE_DATE_EPOCH specification of the Reproducible Builds project, version 1.1.

    Raises
    ------
    WrongUsage
        When it is set to something else than a whole number of seconds that a calendar can show.
    """
    text = environment.get("SOURCE_DATE_EPOCH")
    if text is None:
        return None
    # int() takes more than the specification: blanks, underscores, signs, digits of other scripts.
    if text.isascii() and text.isdigit():
        with contextlib.suppress(ValueError, OverflowError, OSError):  # a year that no calendar has: said below
            return dt.datetime.fromtimestamp(int(text), tz=dt.UTC)
    raise WrongUsage(
        f"SOURCE_DATE_EPOCH is {text!r}; expected are whole seconds since 1970, such as 1767225600. "
        "Correct or unset that environment variable."
    )


def _files(folder: Path) -> dict[str, dict[str, object]]:
    found: dict[str, dict[str, object]] = {}
    for path in sorted(folder.rglob("*")):
        if path.is_symlink():
            raise ValueError(f"{path} is a link; a record holds files only")
        if path.is_file() and path != folder / MANIFEST:
            with path.open("rb") as file:
                digest = hashlib.file_digest(file, "sha256").hexdigest()
            found[path.relative_to(folder).as_posix()] = {"bytes": path.stat().st_size, "sha256": digest}
    return found


def manifest_seal(manifest: Mapping[str, object]) -> str:
    """Return the SHA-256 (hex) of the canonical bytes of a manifest without its seal."""
    return hashlib.sha256(canonical_bytes({k: v for k, v in manifest.items() if k != "seal"})).hexdigest()


def manifest_bytes(
    *,
    folder: Path,
    results_digest: str,
    parameters: Mapping[str, str],
    created: dt.datetime | None,
) -> bytes:
    """Return the bytes of the manifest of ``folder``; every other file must already be in it.

    Parameters
    ----------
    folder
        The finished folder, without its manifest.
    results_digest
        SHA-256 (hex) of the canonical results, from :func:`adhesion_stats.record.results_digest`.
    parameters
        Parameters of the run by name, plain texts.
    created
        Time of the run, with a time zone; None leaves it out, so that two runs give the same bytes.

    Returns
    -------
    bytes
        Canonical JSON.

    Raises
    ------
    ValueError
        For a time without zone, a parameter that is not text, or a link among the files.
    """
    for name, text in parameters.items():
        if not isinstance(text, str):
            raise ValueError(f"parameter {name!r} must be text, not {text!r}")  # noqa: TRY004 - documented as ValueError
    manifest: dict[str, object] = {
        "format": FORMAT,
        "format_version": FORMAT_VERSION,
        "files": _files(folder),
        "results_sha256": results_digest,
        "parameters": dict(parameters),
        "versions": versions(),
        "machine": machine(),
    }
    if created is not None:
        if created.tzinfo is None:
            raise ValueError(f"the time of the run needs a time zone: {created!r}")
        manifest["created"] = created.astimezone(dt.UTC).isoformat(timespec="seconds").replace("+00:00", "Z")
    return canonical_bytes({**manifest, "seal": manifest_seal(manifest)})
