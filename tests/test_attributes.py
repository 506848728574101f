"""What an object holds is known from its beginning: no method gives it a new attribute."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).parent.parent
ROOMS = ("schemas", "models", "warehouse", "pipelines", "sample_exports")
# An export on its way through the reader gains what each step finds.
GROWING = {"ExportJob", "TableReader"}


def _stores(tree: ast.AST) -> Iterator[str]:
    """Attributes of `self` that some code sets."""
    for node in ast.walk(tree):
        if (
            isinstance(node, ast.Attribute)
            and isinstance(node.ctx, ast.Store)
            and isinstance(node.value, ast.Name)
            and node.value.id == "self"
        ):
            yield node.attr


def born_late(source: str) -> set[tuple[str, str]]:
    """Classes and attributes that another method than `__init__` sets first.

    What a scikit-learn estimator learns in `fit` ends in an underscore (its developer's guide).
    """
    found = set()
    for node in ast.walk(ast.parse(source)):
        if not isinstance(node, ast.ClassDef):
            continue
        born: set[str] = set()
        others: set[str] = set()
        for part in node.body:
            if isinstance(part, ast.AnnAssign) and isinstance(part.target, ast.Name):
                born.add(part.target.id)
            elif isinstance(part, ast.FunctionDef | ast.AsyncFunctionDef):
                (born if part.name == "__init__" else others).update(_stores(part))
        found |= {(node.name, name) for name in others - born if not name.endswith("_")}
    return found


def test_the_search_finds_one() -> None:
    late = "class A:\n  def __init__(self): self.a = 1\n  def f(self): self.a, self.b = 2, 3\n"
    assert born_late(late) == {("A", "b")}


def test_no_attribute_is_born_outside_the_beginning() -> None:
    found = {
        (str(path.relative_to(ROOT)), *late)
        for room in ROOMS
        for path in (ROOT / room).rglob("*.py")
        for late in born_late(path.read_text(encoding="utf-8"))
        if late[0] not in GROWING
    }
    assert found == set()
