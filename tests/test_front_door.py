"""The names of `import rangeledger`, and the examples in their docstrings."""

from __future__ import annotations

import doctest
import inspect
import subprocess
import sys
from pathlib import Path

import pytest
import rangeledger as rl

NAMES = """ExportError Home RangeledgerError ask expected_strokes fit_player fly load_exports
next_shots open_home read_export still_air""".split()
EXPLAINED = [name for name in NAMES if inspect.isfunction(getattr(rl, name))]
HEAVY = ("numpy", "polars", "duckdb", "prefect", "great_expectations", "numba", "typer", "pyarrow")


def test_the_names_are_the_promised_ones() -> None:
    assert sorted(rl.__all__) == NAMES
    assert set(NAMES) <= set(dir(rl))
    with pytest.raises(AttributeError, match="no attribute 'nothing'"):
        rl.nothing  # noqa: B018


def test_importing_the_package_imports_nothing_heavy() -> None:
    script = "import sys, rangeledger; print([n for n in sys.argv[1:] if n in sys.modules])"
    told = subprocess.run(
        [sys.executable, "-c", script, *HEAVY], capture_output=True, text=True, check=True
    )
    assert told.stdout.strip() == "[]"


def test_reading_and_asking_take_no_flow_engine() -> None:
    script = (
        "import sys, rangeledger as rl\n"
        "[getattr(rl, name) for name in rl.__all__]\n"
        "print([n for n in ('prefect', 'typer') if n in sys.modules])"
    )
    told = subprocess.run(
        [sys.executable, "-c", script], capture_output=True, text=True, check=True
    )
    assert told.stdout.strip() == "[]"


@pytest.mark.parametrize("name", EXPLAINED)
def test_the_example_of_each_function_is_true(name: str, tmp_path: Path) -> None:
    function = getattr(rl, name)
    (example,) = doctest.DocTestFinder(recurse=False).find(
        function, name, globs={"folder": tmp_path / "home"}
    )
    assert example.examples, f"{name} has no example"
    output: list[str] = []
    failed = doctest.DocTestRunner(optionflags=doctest.NORMALIZE_WHITESPACE).run(
        example, out=output.append
    )
    assert not failed.failed, "".join(output)


def test_a_fit_is_of_one_player() -> None:
    from rangeledger.sample_exports import sample_folder

    shots = rl.read_export(sample_folder() / "clinic-2026-04-18.csv").shots
    with pytest.raises(rl.RangeledgerError, match=r"of \d players. Give those of one"):
        rl.fit_player(shots)


def test_a_refused_export_says_why() -> None:
    from rangeledger.sample_exports import refused_files

    with pytest.raises(rl.ExportError, match="averages"):
        rl.read_export(next(f for f in refused_files() if "season" in f.name))
