"""No module and no folder may import, by way of others, what imports it."""

from __future__ import annotations

import ast
from collections.abc import Iterator, Mapping
from graphlib import CycleError, TopologicalSorter
from pathlib import Path

import pytest

PACKAGE = "rangeledger"
ROOT = Path(__file__).parent.parent
ROOMS = ("schemas", "models", "warehouse", "pipelines", "sample_exports")
FEWEST_MODULES = 250  # there are more; fewer would mean that the search found nothing
MOST_IN_A_FOLDER = 25  # common practice, no source: what can be looked over

Graph = Mapping[str, set[str]]


def name_of(path: Path) -> str:
    parts = path.relative_to(ROOT).with_suffix("").parts
    return ".".join((PACKAGE, *parts)).removesuffix(".__init__")


MODULES = {name_of(path): path for room in ROOMS for path in (ROOT / room).rglob("*.py")}


def imported_names(path: Path) -> Iterator[str]:
    """All that a file imports, also inside functions and for type checkers alone."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and node.module:
            for alias in node.names:
                whole = f"{node.module}.{alias.name}"
                yield whole if whole in MODULES else node.module


def folder_of(module: str) -> str:
    is_package = MODULES[module].name == "__init__.py"
    return module if is_package else module.rpartition(".")[0]


@pytest.fixture(scope="module")
def between_files() -> Graph:
    return {
        module: {name for name in imported_names(path) if name in MODULES and name != module}
        for module, path in MODULES.items()
    }


def circle_in(graph: Graph) -> list[str]:
    try:
        TopologicalSorter(graph).prepare()
    except CycleError as found:
        return list(found.args[1])
    return []


def test_the_search_finds_a_circle() -> None:
    assert len(MODULES) > FEWEST_MODULES
    assert sorted(set(circle_in({"a": {"b"}, "b": {"c"}, "c": {"a"}, "d": {"a"}}))) == list("abc")


def test_no_circle_between_files(between_files: Graph) -> None:
    assert circle_in(between_files) == []


def test_no_circle_between_folders(between_files: Graph) -> None:
    folders: dict[str, set[str]] = {}
    for module, imported in between_files.items():
        here = folder_of(module)
        folders.setdefault(here, set()).update({folder_of(name) for name in imported} - {here})
    assert circle_in(folders) == []


def test_no_folder_holds_more_than_a_newcomer_can_look_over() -> None:
    count: dict[str, int] = {}
    for module, path in MODULES.items():
        if path.name != "__init__.py":
            count[folder_of(module)] = count.get(folder_of(module), 0) + 1
    assert {f for f, n in count.items() if n > MOST_IN_A_FOLDER} == set()
