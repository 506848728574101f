"""Fixtures that several test folders share."""

from __future__ import annotations

import json
import os
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import settings
from rangeledger.warehouse.home import Home
from rangeledger.warehouse.opening import open_home

from tests.services.fixtures import dask_cluster, object_store, postgres  # noqa: F401

# Processes that tests start run this checkout, whatever is installed.
_ROOT = Path(__file__).parent.parent
os.environ["PYTHONPATH"] = os.pathsep.join((str(_ROOT / ".src"), str(_ROOT)))

# How long an example takes says more about the machine than about the code.
settings.register_profile("rangeledger", deadline=None)
settings.load_profile("rangeledger")


@pytest.fixture
def home(tmp_path: Path) -> Home:
    """A new, empty home."""
    return open_home(Home(tmp_path / "home"))


@pytest.fixture(scope="session")
def flow_engine(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """Address of the one Prefect server of all tests that run the flow."""
    from rangeledger.pipelines.running import engine

    with engine.engine(open_home(Home(tmp_path_factory.mktemp("engine")))):
        engine.wait_for_engine()
        yield os.environ["PREFECT_API_URL"]


@pytest.fixture
def flow_home(home: Home, flow_engine: str) -> Home:
    """A new home whose commands use the tests' one Prefect server."""
    from rangeledger.pipelines.running.engine import address_file

    address_file(home).write_text(json.dumps({"address": flow_engine}))
    return home


@pytest.fixture(scope="session")
def demo_home(tmp_path_factory: pytest.TempPathFactory, flow_engine: str) -> Home:
    """The demo's home with all sample exports loaded; tests only read it."""
    from rangeledger.pipelines.main import app
    from rangeledger.pipelines.running.engine import address_file
    from typer.testing import CliRunner

    home = open_home(Home(tmp_path_factory.mktemp("demo") / "home"))
    address_file(home).write_text(json.dumps({"address": flow_engine}))
    answer = CliRunner().invoke(app, ["--home", str(home.root), "demo"])
    assert answer.exit_code == 0, answer.output
    return home


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Leave out the tests that look at pages where the machine has no browser."""
    from tests.browser import BROWSER

    if BROWSER is not None:
        return
    left_out = [item for item in items if item.get_closest_marker("browser")]
    if left_out:
        config.hook.pytest_deselected(items=left_out)
        items[:] = [item for item in items if item not in left_out]
