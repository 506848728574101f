"""What is done to a shared store itself, apart from loading: tidying, rights, upgrades."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from rangeledger.schemas.errors import UsageError
from rangeledger.warehouse.home import Home
from rangeledger.warehouse.settings import read_settings
from rangeledger.warehouse.store_settings import StoreSettings, read_secrets
from rangeledger.warehouse.stores.bucket import Bucket
from rangeledger.warehouse.stores.catalog import TIDYING, grant_reading, locked
from rangeledger.warehouse.stores.layout import prepare_lake, renew_views, store_id
from rangeledger.warehouse.stores.shared_store import PUBLISHED, SharedStore, lake_errors
from rangeledger.warehouse.stores.tidying import Tidied, drop_former_publications, tidy_lake
from rangeledger.warehouse.writer_lock import writer_lock


def settings_of(home: Home) -> StoreSettings:
    """The shared store that a home's settings name.

    Raises
    ------
    UsageError
        If they name none.
    """
    settings = read_settings(home).store
    if settings is None:
        raise UsageError(f"{home.settings_file} names no shared store. Write [store] into it.")
    return settings


@contextmanager
def steward_of(home: Home) -> Iterator[Steward]:
    """The steward of the store that a home's settings name; gives up its connections at the end."""
    steward = Steward(home, settings_of(home))
    try:
        yield steward
    finally:
        steward.close()


class Steward(SharedStore):
    """A home's share in a store, and what is done to the store itself."""

    @contextmanager
    def entered(self) -> Iterator[None]:
        """Be alone in the home and in the store, and bring nothing yet."""
        with writer_lock(self._home), self._connected(), self._holding(), lake_errors():
            prepare_lake(self.lake)
            yield

    def store_id(self) -> str:
        """What tells this store from any other."""
        return store_id(self.lake)

    def pull(self) -> None:
        """Bring what the home's lake lacks."""
        self._pull()

    def tidy(self, keep_hours: float) -> Tidied:
        """Merge small files of the lake, and remove what nobody needs any more."""
        with (
            self._connected(),
            locked(self._catalog, self.settings.academy, TIDYING),
            lake_errors(),
        ):
            with locked(self._catalog, self.settings.academy):
                prepare_lake(self.lake)
                drop_former_publications(self.lake)
            return tidy_lake(self.lake, keep_hours)

    def upgrade(self) -> None:
        """Make the views, and what follows from the loads, anew for this version."""
        with self._connected(), locked(self._catalog, self.settings.academy), lake_errors():
            renew_views(self.lake)

    def grant_reading(self, role: str) -> None:
        """Let a role of the catalog's database read this academy, and nothing else."""
        with self._connected():
            grant_reading(self._catalog, self.settings.academy, role)

    def homes(self) -> list[tuple[str, bool]]:
        """Homes that follow the store, and whether each has removed all that was forgotten."""
        with self._connected(), lake_errors():
            found = self.lake.execute(
                "SELECT h.name, h.removal >= n.removal FROM loads.homes AS h, loads.head AS n "
                "ORDER BY ALL"
            ).fetchall()
        return [(str(name), bool(done)) for name, done in found]

    def unregister(self) -> None:
        """Let the store know that this home follows it no longer."""
        home = self._following().home
        self.lake.execute("DELETE FROM loads.homes WHERE home = ?", [home])


def fetch_published(home: Home) -> None:
    """Copy the database that is published in the bucket into a home that only reads."""
    settings = settings_of(home)
    secrets = read_secrets(home.root, settings, ("key_id", "secret"))
    Bucket(settings, secrets).fetch(PUBLISHED, home.database)
