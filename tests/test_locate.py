"""Files that travel with the package are found, in a clone and in a wheel."""

from __future__ import annotations

from pathlib import Path

import pytest

from adhesion_stats import locate


def test_clone_finds_the_folder_of_the_repository() -> None:
    """In a clone the notebooks are the ones that people edit, not a copy."""
    assert locate.packaged("notebooks") == Path(__file__).resolve().parents[1] / "notebooks"


def test_wheel_finds_the_packaged_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Inside an installed package the copy in the package is found."""
    wanted = tmp_path / "adhesion_stats" / "_packaged" / "data" / "demo"
    wanted.mkdir(parents=True)
    monkeypatch.setattr(locate, "_PACKAGE", tmp_path / "adhesion_stats")
    assert locate.packaged("data", "demo") == wanted


def test_missing_file_names_every_place(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """What is missing is named together with where it was looked for."""
    (tmp_path / "pyproject.toml").touch()
    monkeypatch.setattr(locate, "_PACKAGE", tmp_path / "adhesion_stats")
    with pytest.raises(FileNotFoundError) as caught:
        locate.packaged("notebooks", "nothing.ipynb")
    assert str(tmp_path / "notebooks" / "nothing.ipynb") in str(caught.value)
    assert str(tmp_path / "adhesion_stats" / "_packaged" / "notebooks" / "nothing.ipynb") in str(caught.value)


def test_folder_of_other_software_is_not_searched(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A folder "notebooks" beside an installed package belongs to somebody else."""
    (tmp_path / "notebooks").mkdir()
    monkeypatch.setattr(locate, "_PACKAGE", tmp_path / "adhesion_stats")
    with pytest.raises(FileNotFoundError):
        locate.packaged("notebooks")


@pytest.mark.parametrize("parts", [(), ("..",), ("notebooks", ".."), ("notebooks/assessment.ipynb",), ("",), ("/etc",)])
def test_parts_are_plain_names(parts: tuple[str, ...]) -> None:
    """Nothing leads out of the root, and a path is given name by name."""
    with pytest.raises(ValueError, match=r"plain names|none came"):
        locate.packaged(*parts)
