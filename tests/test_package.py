"""What is installed is complete and easy to take in: declared as a whole, in short files."""

from __future__ import annotations

import fnmatch
import tomllib
from pathlib import Path

ROOT = Path(__file__).parent.parent
SETTINGS = tomllib.loads((ROOT / "pyproject.toml").read_text())["tool"]["setuptools"]
ROOMS = ("schemas", "models", "warehouse", "pipelines", "sample_exports")
CODE = (".py", ".pyc")
MOST_LINES = 400  # our own rule


def test_every_folder_of_code_is_a_package() -> None:
    bare = {
        str(path.parent.relative_to(ROOT))
        for room in ROOMS
        for path in (ROOT / room).rglob("*.py")
        if not (path.parent / "__init__.py").exists()
    }
    assert bare == set()


def test_every_data_file_is_declared() -> None:
    left = [str(file) for file in _data_files() if not _declared(file)]
    assert left == []


def test_no_file_of_code_is_long() -> None:
    lengths = {
        str(path.relative_to(ROOT)): len(path.read_text(encoding="utf-8").splitlines())
        for room in ROOMS
        for path in (ROOT / room).rglob("*.py")
    }
    assert len(lengths) > len(ROOMS)
    assert {file: lines for file, lines in lengths.items() if lines > MOST_LINES} == {}


def _data_files() -> list[Path]:
    return [
        file.relative_to(ROOT)
        for room in ROOMS
        for file in (ROOT / room).rglob("*")
        if file.is_file() and file.suffix not in CODE and not file.name.startswith(".")
        and "__pycache__" not in file.parts
    ]  # fmt: skip


def _declared(file: Path) -> bool:
    folder = next(f for f in file.parents if (ROOT / f / "__init__.py").exists())
    package = ".".join(("rangeledger", *folder.parts))
    inside = str(file.relative_to(folder))
    patterns = [*SETTINGS["package-data"]["*"], *SETTINGS["package-data"].get(package, [])]
    return any(
        fnmatch.fnmatch(inside, pattern) and inside.count("/") == pattern.count("/")
        for pattern in patterns
    )
