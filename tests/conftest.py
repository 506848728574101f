"""Fixtures that several test folders share."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import settings

from warehouse.home import Home, open_home

# How long an example takes says more about the machine than about the code.
settings.register_profile("rangeledger", deadline=None)
settings.load_profile("rangeledger")


@pytest.fixture
def home(tmp_path: Path) -> Home:
    """A new, empty home."""
    return open_home(Home(tmp_path / "home"))


@pytest.fixture(scope="session")
def flow_engine(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    """One Prefect server for all tests that run the flow."""
    from pipelines import engine

    with engine.engine(open_home(Home(tmp_path_factory.mktemp("engine")))):
        engine.wait_for_engine()
        yield
