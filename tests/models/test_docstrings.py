"""Docstrings of the models: sections, units of every number, references that exist.

Statistics on numbers of any unit say so: `[any unit]`, and `[unit of NAME]` for what follows.
"""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

MODELS = Path(__file__).resolve().parents[2] / "models"
MODULES = sorted(path for path in MODELS.rglob("*.py") if not path.name.startswith("_"))
KEYS = set(re.findall(r"^\| (\[\w+\]) \|", (MODELS / "references.md").read_text(), re.MULTILINE))
NUMERIC = re.compile(r"\b(float|ArrayLike|FloatArray|Array)\b")
UNIT = re.compile(r"\[[^\]]+\]")
SECTIONS = (
    "Parameters",
    "Returns",
    "Raises",
    "Yields",
    "Notes",
    "References",
    "Attributes",
    "Examples",
)

Function = ast.FunctionDef


def public_functions(path: Path) -> Iterator[tuple[str, Function]]:
    """Public functions of a module, and the public methods of its public classes."""
    for node in ast.parse(path.read_text()).body:
        if isinstance(node, Function) and not node.name.startswith("_"):
            yield node.name, node
        if isinstance(node, ast.ClassDef) and not node.name.startswith("_"):
            for inner in node.body:
                if isinstance(inner, Function) and not inner.name.startswith("_"):
                    yield f"{node.name}.{inner.name}", inner


def sections(docstring: str) -> dict[str, str]:
    """Text of each numpydoc section."""
    parts = re.split(r"^(\w+)\n-{3,}$", docstring, flags=re.MULTILINE)
    return dict(zip(parts[1::2], parts[2::2], strict=True))


def entries(section: str) -> dict[str, str]:
    """Entry of each parameter: `name, other : type` and the lines below it."""
    found: dict[str, str] = {}
    for block in re.split(r"\n(?=\S)", section.strip()):
        head = block.split(":", 1)[0]
        for name in head.split(","):
            found[name.strip().lstrip("*")] = block
    return found


def parameters(function: Function) -> list[ast.arg]:
    args = function.args
    extra = [arg for arg in (args.vararg, args.kwarg) if arg is not None]
    every = [*args.posonlyargs, *args.args, *args.kwonlyargs, *extra]
    return [arg for arg in every if arg.arg not in ("self", "cls")]


EVERY = [
    pytest.param(function, id=f"{path.stem}.{name}")
    for path in MODULES
    for name, function in public_functions(path)
]
# A method may lean on the docstring of its class; a function stands alone.
CASES = [case for case in EVERY if str(case.id).count(".") == 1]


@pytest.mark.parametrize("function", EVERY)
def test_first_line_is_one_sentence(function: Function) -> None:
    docstring = ast.get_docstring(function) or ""
    first = docstring.split("\n\n")[0]
    assert first.endswith((".", "?"))


@pytest.mark.parametrize("function", CASES)
def test_every_parameter_is_described_and_every_number_has_its_unit(
    function: Function,
) -> None:
    found = sections(ast.get_docstring(function) or "")
    described = entries(found.get("Parameters", ""))
    for arg in parameters(function):
        assert arg.arg in described, f"no entry for {arg.arg}"
        annotation = ast.unparse(arg.annotation) if arg.annotation else ""
        if NUMERIC.search(annotation):
            assert UNIT.search(described[arg.arg]), f"no [unit] for {arg.arg}"
    assert set(described) <= {arg.arg for arg in parameters(function)} | {""}


@pytest.mark.parametrize("function", CASES)
def test_what_is_returned_is_described_with_its_unit(function: Function) -> None:
    returned = ast.unparse(function.returns) if function.returns else "None"
    if returned in ("None", "Self"):
        return
    found = sections(ast.get_docstring(function) or "")
    text = found.get("Returns", "") + found.get("Yields", "")
    assert text.strip(), "no Returns section"
    if NUMERIC.search(returned) or returned == "Any":
        assert UNIT.search(text), "no [unit] in Returns"


@pytest.mark.parametrize("path", MODULES, ids=lambda path: path.stem)
def test_sections_are_known_and_cited_references_are_listed(path: Path) -> None:
    for _, function in public_functions(path):
        assert set(sections(ast.get_docstring(function) or "")) <= set(SECTIONS)
    cited = {f"[{key}]" for key in re.findall(r"\[([a-z]+\d{4})[],]", path.read_text())}
    assert cited <= KEYS


def test_every_listed_reference_is_cited_somewhere() -> None:
    tests = Path(__file__).parent
    every = "".join(path.read_text() for room in (MODELS, tests) for path in room.rglob("*.py"))
    assert sorted(key for key in KEYS if key not in every) == []
