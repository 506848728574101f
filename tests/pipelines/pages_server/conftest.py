"""A home of invented players and its pages, asked without a network."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from rangeledger.warehouse.home import Home
from starlette.testclient import TestClient

from tests.pipelines.pages_server.browsing import client_of, come_in


@pytest.fixture(scope="session")
def made_home(made_home: Home, tmp_path_factory: pytest.TempPathFactory) -> Home:
    """A home with two invented players, one of them called after a piece of markup.

    The pages keep their logins and links in it, so they have a copy of their own.
    """
    return Home(shutil.copytree(made_home.root, tmp_path_factory.mktemp("pages") / "home"))


@pytest.fixture
def inside(made_home: Home) -> Iterator[TestClient]:
    """A browser that was let in to the made home; it must not change it."""
    with come_in(client_of(made_home)) as client:
        yield client


@pytest.fixture
def empty_inside(tmp_path: Path) -> Iterator[TestClient]:
    """A browser that was let in to an empty home."""
    from rangeledger.warehouse.opening import open_home

    with come_in(client_of(open_home(Home(tmp_path / "home")))) as client:
        yield client
