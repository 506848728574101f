"""Servers that tests need beside them: started when the first test asks, ended with the session."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from tests.services.dask_cluster import DaskCluster, running_cluster
from tests.services.object_store import ObjectStore, running_object_store
from tests.services.postgres import Postgres, running_postgres
from tests.services.shared_place import EmptyStore, SharedPlace, make_empty_store


@pytest.fixture(scope="session")
def postgres() -> Iterator[Postgres]:
    """A PostgreSQL server; tests make databases of their own in it."""
    with running_postgres() as server:
        yield server


@pytest.fixture(scope="session")
def object_store(tmp_path_factory: pytest.TempPathFactory) -> Iterator[ObjectStore]:
    """A server of S3's protocol; tests make buckets of their own in it."""
    with running_object_store(tmp_path_factory.mktemp("object-store")) as server:
        yield server


@pytest.fixture(scope="session")
def dask_cluster(tmp_path_factory: pytest.TempPathFactory) -> Iterator[DaskCluster]:
    """A Dask scheduler with two workers, which all tests share: none may end them."""
    with running_cluster(tmp_path_factory.mktemp("dask")) as cluster:
        yield cluster


@pytest.fixture(scope="session")
def empty_store(
    postgres: Postgres, object_store: ObjectStore, tmp_path_factory: pytest.TempPathFactory
) -> EmptyStore:
    """A store in which nothing is, of which all tests take copies."""
    return make_empty_store(postgres, object_store, tmp_path_factory.mktemp("empty-store"))


@pytest.fixture
def shared_place(
    postgres: Postgres, object_store: ObjectStore, empty_store: EmptyStore
) -> Iterator[SharedPlace]:
    """A new database and a new bucket for shared stores; the first academy has its store."""
    place = SharedPlace(postgres, object_store, empty_store)
    with place.closing:
        yield place
