"""Servers that tests need beside them: started when the first test of any process asks.

They end when no process of the test run holds them any more.
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path

import pytest
from rangeledger.warehouse.home import Home
from rangeledger.warehouse.opening import open_home

from tests.once import held_by_all
from tests.services.dask_cluster import SharedDaskCluster, start_shared_cluster
from tests.services.flow_engine import SharedEngine, start_shared_engine
from tests.services.object_store import ObjectStore, start_shared_object_store
from tests.services.postgres import Postgres, start_shared_postgres
from tests.services.shared_place import EmptyStore, SharedPlace, make_empty_store


@pytest.fixture(scope="session")
def shared_engine(tmp_path_factory: pytest.TempPathFactory) -> Iterator[SharedEngine]:
    """The one Prefect server of all tests that run the flow."""
    with held_by_all(tmp_path_factory, "flow-engine", start_shared_engine) as shared:
        yield shared


@pytest.fixture(scope="session")
def flow_engine(
    shared_engine: SharedEngine, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[str]:
    """Its address; this process has joined it."""
    from rangeledger.pipelines.running import engine

    home = open_home(Home(tmp_path_factory.mktemp("engine")))
    engine.address_file(home).write_text(shared_engine.word)
    with engine.engine(home):
        engine.wait_for_engine()
        yield os.environ["PREFECT_API_URL"]


@pytest.fixture
def flow_home(home: Home, flow_engine: str) -> Home:
    """A new home whose commands use the tests' one Prefect server."""
    from rangeledger.pipelines.running.engine import leave_word

    leave_word(home, flow_engine)
    return home


@pytest.fixture(scope="session")
def postgres(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Postgres]:
    """A PostgreSQL server; tests make databases of their own in it."""
    with held_by_all(tmp_path_factory, "postgres", start_shared_postgres) as server:
        yield server


@pytest.fixture(scope="session")
def object_store(tmp_path_factory: pytest.TempPathFactory) -> Iterator[ObjectStore]:
    """A server of S3's protocol; tests make buckets of their own in it."""
    with held_by_all(tmp_path_factory, "objects", start_shared_object_store) as server:
        yield server


@pytest.fixture(scope="session")
def dask_cluster(tmp_path_factory: pytest.TempPathFactory) -> Iterator[SharedDaskCluster]:
    """A Dask scheduler with two workers, which all tests share: none may end them."""
    with held_by_all(tmp_path_factory, "dask", start_shared_cluster) as cluster:
        yield cluster


@pytest.fixture(scope="session")
def empty_store(
    postgres: Postgres, object_store: ObjectStore, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[EmptyStore]:
    """A store in which nothing is, of which all tests take copies."""

    def make(folder: Path, _: int) -> EmptyStore:
        return make_empty_store(postgres, object_store, folder)

    with held_by_all(tmp_path_factory, "empty-store", make) as store:
        yield store


@pytest.fixture
def shared_place(
    postgres: Postgres, object_store: ObjectStore, empty_store: EmptyStore
) -> Iterator[SharedPlace]:
    """A new database and a new bucket for shared stores; the first academy has its store."""
    place = SharedPlace(postgres, object_store, empty_store)
    with place.closing:
        yield place
