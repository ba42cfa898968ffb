"""Where the files that travel with the package lie: notebooks, demo data, published rules and methods.

Rules and methods lie in the package itself (``terms/published``, ``terms/methods``). The others are inside an installed
wheel under ``_packaged/``; in a clone they are the folders of the repository, so that nobody edits a copy. This module
finds them and must import nothing of the package.
"""

from __future__ import annotations

from pathlib import Path

__all__ = ["packaged"]

_PACKAGE = Path(__file__).resolve().parent
_OWN_ROOMS = ("terms",)  # rooms of the package that hold data files beside their modules


def packaged(*parts: str) -> Path:
    """Find a file or folder that travels with the package.

    Parameters
    ----------
    parts
        Names below the root, one by one: ``packaged("notebooks", "assessment.ipynb")``.

    Returns
    -------
    pathlib.Path
        Absolute path of the file or folder, which exists.

    Raises
    ------
    FileNotFoundError
        When it is neither in the installed package nor in the clone; the text names both places.
    ValueError
        When no part is given, or a part would lead out of the root.
    """
    if not parts:
        raise ValueError("packaged() expects the names of a file or folder, e.g. packaged('notebooks'); none came.")
    for part in parts:
        if part in {"", ".", ".."} or Path(part).name != part:
            raise ValueError(f"packaged() expects plain names, one for each folder; {part!r} is not one.")
    # A wheel first. Only the folder beside this file counts: an editable install also leaves a copy among the
    # installed packages, which is as old as the installation and is never looked at.
    roots = [_PACKAGE / "_packaged"] if parts[0] not in _OWN_ROOMS else [_PACKAGE]
    if parts[0] not in _OWN_ROOMS and (_PACKAGE.parent / "pyproject.toml").is_file():
        roots.append(_PACKAGE.parent)
    candidates = [root.joinpath(*parts) for root in roots]
    for candidate in candidates:
        if candidate.exists():
            return candidate
    places = " nor ".join(str(candidate) for candidate in candidates)
    raise FileNotFoundError(
        f"{'/'.join(parts)} belongs to adhesion-stats but is missing: not at {places}. Install the package again."
    )
