from __future__ import annotations

import importlib
import subprocess
import sys
import threading
from collections.abc import Iterator
from pathlib import Path

import pytest
from rangeledger.warehouse.system.importing import hidden, put_off

_PACKAGE = "from heavy_package import counted\ncounted.times += 1\nVALUE = 42\n"


@pytest.fixture
def heavy(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    """A package with a counter, and a part of it that is put off."""
    part = tmp_path / "heavy_package" / "part"
    part.mkdir(parents=True)
    (part.parent / "__init__.py").write_text("")
    (part.parent / "counted.py").write_text("times = 0\n")
    (part / "__init__.py").write_text(_PACKAGE)
    (part / "below.py").write_text("from . import VALUE\nTWICE = 2 * VALUE\n")
    monkeypatch.syspath_prepend(tmp_path)
    monkeypatch.setattr(sys, "meta_path", list(sys.meta_path))
    put_off("heavy_package.part")
    yield part
    for name in [name for name in sys.modules if name.startswith("heavy_package")]:
        del sys.modules[name]


@pytest.mark.usefixtures("heavy")
def test_a_module_that_is_put_off_is_executed_when_it_is_used() -> None:
    import heavy_package.part  # type: ignore[import-not-found]
    import heavy_package.part as part  # no use of it yet
    from heavy_package import counted

    assert counted.times == 0
    assert part.VALUE == 42
    assert (counted.times, type(part).__name__, heavy_package.part) == (1, "module", part)
    with pytest.raises(AttributeError, match="has no attribute 'other'"):
        _ = part.other


@pytest.mark.usefixtures("heavy")
def test_what_is_below_a_module_that_is_put_off_is_found() -> None:
    from heavy_package.part.below import TWICE  # type: ignore[import-not-found]

    assert TWICE == 84


@pytest.mark.usefixtures("heavy")
def test_threads_that_use_it_at_once_find_the_whole_of_it() -> None:
    from heavy_package import counted, part

    found: list[int] = []
    threads = [threading.Thread(target=lambda: found.append(part.VALUE)) for _ in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert (found, counted.times) == ([42] * 8, 1)


def test_one_that_can_not_be_executed_says_so_each_time(heavy: Path) -> None:
    (heavy / "__init__.py").write_text("VALUE = 1 / 0\n")
    from heavy_package import part

    for _ in range(2):
        with pytest.raises(ZeroDivisionError):
            _ = part.VALUE


def test_what_a_load_imports_uses_nothing_that_is_put_off() -> None:
    """Each takes longer to import than a load may wait; a release of what imports it may differ."""
    code = (
        "import sys\n"
        "from rangeledger.pipelines.main import begin\n"
        "begin()\n"
        "from rangeledger.pipelines.loading import validation\n"
        "from rangeledger.pipelines.reader.prepare import prepare_export\n"
        "from rangeledger.models.players.player_fit import PlayerFacts, fit_player\n"
        "from rangeledger.sample_exports import sample_files\n"
        "shots = prepare_export(next(f for f in sample_files() if f.suffix == '.csv')).shots\n"
        "assert validation.judge(shots).passed\n"
        "fit_player(shots.with_columns(excluded=False), PlayerFacts())\n"
        "print([name for name in ('sqlalchemy', 'boto3', 'botocore') if name in sys.modules])\n"
        "print([type(sys.modules[name]).__name__ for name in ('scipy.stats', 'altair')])\n"
    )
    ran = subprocess.run([sys.executable, "-c", code], check=True, capture_output=True, text=True)
    assert ran.stdout.splitlines() == ["[]", "['_PutOff', '_PutOff']"]


def test_what_is_hidden_is_not_installed_for_one_thread_and_for_a_while(heavy: Path) -> None:
    found = []

    def look() -> None:
        found.append(importlib.import_module("heavy_package").__name__)

    with hidden("heavy_package"):
        with pytest.raises(ModuleNotFoundError, match="heavy_package"):
            look()
        other = threading.Thread(target=look)
        other.start()
        other.join()
    assert found == [heavy.parent.name]
    del sys.modules["heavy_package"]
    look()
    assert found == 2 * [heavy.parent.name]
