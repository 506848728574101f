"""Fixtures that several test folders share."""

from __future__ import annotations

import os
import shutil
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from hypothesis import settings
from rangeledger.warehouse.home import Home
from rangeledger.warehouse.opening import open_home

from tests.new_ledgers import copied_ledgers
from tests.once import made_once
from tests.services.fixtures import (  # noqa: F401
    dask_cluster,
    empty_store,
    flow_engine,
    flow_home,
    object_store,
    postgres,
    shared_engine,
    shared_place,
)

# Processes that tests start run this checkout, whatever is installed.
_ROOT = Path(__file__).parent.parent
os.environ["PYTHONPATH"] = os.pathsep.join((str(_ROOT / ".src"), str(_ROOT)))
# Tests start hundreds of processes; each would compile every module anew.
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
sys.dont_write_bytecode = False
# No test waits for the flow engine to be told of its loads; those that look at that tell it.
os.environ["RANGELEDGER_ENGINE"] = "later"
# Tables are as wide as their tests ask, however wide the terminal is that the tests run in.
os.environ.pop("COLUMNS", None)

# How long an example takes says more about the machine than about the code. The option
# --hypothesis-profile takes the other profile.
settings.register_profile("rangeledger", deadline=None, max_examples=50)
settings.register_profile("thorough", deadline=None, max_examples=1000)
settings.load_profile("rangeledger")


@pytest.fixture
def home(tmp_path: Path) -> Home:
    """A new, empty home."""
    return open_home(Home(tmp_path / "home"))


@pytest.fixture(scope="session", autouse=True)
def _copied_ledgers(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    with copied_ledgers(tmp_path_factory):
        yield


@pytest.fixture(scope="session")
def demo_home(tmp_path_factory: pytest.TempPathFactory, request: pytest.FixtureRequest) -> Home:
    """The demo's home with all sample exports loaded, for all processes; tests only read it.

    RANGELEDGER_TESTS_DEMO names one that `rangeledger demo` has made of this state of the code.
    """

    def fill(root: Path) -> None:
        if made := os.environ.get("RANGELEDGER_TESTS_DEMO"):
            shutil.copytree(made, root)
        else:
            _run_demo(open_home(Home(root)), request.getfixturevalue("flow_engine"))

    return Home(made_once(tmp_path_factory, "demo", fill))


def _run_demo(home: Home, address: str) -> None:
    from rangeledger.pipelines.main import app
    from rangeledger.pipelines.running.engine import address_file, leave_word
    from typer.testing import CliRunner

    leave_word(home, address)
    answer = CliRunner().invoke(app, ["--home", str(home.root), "demo"])
    assert answer.exit_code == 0, answer.output
    address_file(home).unlink()  # the server ends with this process, before others do


@pytest.fixture(scope="session")
def made_home(tmp_path_factory: pytest.TempPathFactory) -> Home:
    """A home with two invented players, for all processes; tests only read it."""
    from tests.made_home import make_home

    return Home(made_once(tmp_path_factory, "made", make_home))


@pytest.fixture
def own_made_home(made_home: Home, tmp_path: Path) -> Home:
    """A copy of the made home that a test may change."""
    return Home(shutil.copytree(made_home.root, tmp_path / "made"))


@pytest.fixture(scope="session")
def _published_once(tmp_path_factory: pytest.TempPathFactory) -> Home:
    from tests.warehouse.serving.clients import publish

    return Home(
        made_once(tmp_path_factory, "two-shots", lambda root: publish(open_home(Home(root)), 1))
    )


@pytest.fixture
def published_home(_published_once: Home, tmp_path: Path) -> Home:
    """A home of its own that loaded one export with two shots and published them."""
    return Home(shutil.copytree(_published_once.root, tmp_path / "published"))


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_make_scheduler(config: pytest.Config, log: Any) -> Any:
    """Give each process whole files in their order, so that what a file makes is made once."""
    from xdist.scheduler import LoadFileScheduling

    config.option.loadscopereorder = False  # by number of tests, which says little
    return LoadFileScheduling(config, log)


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Leave out long tests unless asked for, and those of pages where there is no browser."""
    from tests.browser import BROWSER

    kinds = {"browser"} if BROWSER is None else set()
    if "long" not in config.option.markexpr:
        kinds.add("long")
    left_out = [item for item in items if any(map(item.get_closest_marker, kinds))]
    if left_out:
        config.hook.pytest_deselected(items=left_out)
        items[:] = [item for item in items if item not in left_out]
    if "PYTEST_XDIST_WORKER" in os.environ:
        _longest_first(items)


def _longest_first(items: list[pytest.Item]) -> None:
    """Put the files first that take longest, so that no process has one left when others are done.

    How long a test takes is told roughly by its marks [s]; most take a tenth of a second.
    """
    long_ones = {"slow": 8.0, "prefect": 3.0, "fleet": 3.0, "browser": 3.0}
    takes: dict[Path, float] = {}
    for item in items:
        marks = {mark.name for mark in item.iter_markers()}
        longest = max((long_ones[name] for name in marks & long_ones.keys()), default=0.1)
        takes[item.path] = takes.get(item.path, 0.0) + longest
    items.sort(key=lambda item: -takes[item.path])


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_auto_num_workers() -> int:
    """One process more than processors, as tests of services wait for one another.

    Each takes up to 0.9 GiB, and what it starts some more.
    """
    memory_gib = os.sysconf("SC_PAGE_SIZE") * os.sysconf("SC_PHYS_PAGES") / 2**30
    return max(1, min((os.cpu_count() or 1) + 1, int(memory_gib / 1.25)))
