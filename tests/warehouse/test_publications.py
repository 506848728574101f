"""Readers of one process see each publication as soon as it is there, and none is cut off."""

from __future__ import annotations

import shutil
from pathlib import Path

import duckdb
import pytest
from rangeledger.schemas.errors import HomeError, NothingPublishedError
from rangeledger.warehouse.home import Home
from rangeledger.warehouse.opening import open_home
from rangeledger.warehouse.publications import Publications
from rangeledger.warehouse.published import published

_SETTINGS = "SELECT count(*) FROM added"


@pytest.fixture
def home(made_home: Home, tmp_path: Path) -> Home:
    home = open_home(Home(tmp_path / "home"))
    shutil.copyfile(made_home.database, home.database)
    return home


def publish_more(home: Home, version: int | None = None) -> None:
    """Publish a copy that has one more table, as publishing does: by rename."""
    fresh = home.root / "fresh.duckdb"
    shutil.copyfile(home.database, fresh)
    with duckdb.connect(str(fresh)) as connection:
        connection.execute("CREATE TABLE added AS SELECT 1")
        if version is not None:
            connection.execute("UPDATE ledger.meta SET database_version = ?", [version])
    fresh.replace(home.database)


def test_a_publication_is_seen_while_another_reader_still_reads_the_old_one(home: Home) -> None:
    publications = Publications(home)
    with publications.opened() as old:
        before = publications.edition()
        publish_more(home)
        assert publications.edition() != before
        with publications.opened() as new:
            assert new.execute(_SETTINGS).fetchone() == (1,)
        with pytest.raises(duckdb.CatalogException):
            old.execute(_SETTINGS)
        assert old.execute("SELECT count(*) > 0 FROM shots").fetchone() == (True,)
    publications.close()


def test_opening_for_one_question_sees_it_too(home: Home) -> None:
    with published(home):
        publish_more(home)
        with published(home) as new:
            assert new.execute(_SETTINGS).fetchone() == (1,)


def test_nothing_can_be_written_through_it(home: Home) -> None:
    with Publications(home).opened() as connection, pytest.raises(duckdb.InvalidInputException):
        connection.execute("CREATE TABLE here AS SELECT 1")


def test_without_a_publication_and_with_one_of_another_version(home: Home, tmp_path: Path) -> None:
    empty = Publications(open_home(Home(tmp_path / "empty")))
    assert empty.edition() == ""
    with pytest.raises(NothingPublishedError), empty.opened():
        pass
    publish_more(home, version=1)
    with pytest.raises(HomeError, match="rangeledger fit"), Publications(home).opened():
        pass
