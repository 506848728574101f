"""The published database for many readers of one process at a time.

Opening costs some tens of milliseconds, asking one; so readers share an instance as long as the
file is the one that it was opened from, and the next reader after a publication opens the new one.
"""

from __future__ import annotations

import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import TYPE_CHECKING

from rangeledger.schemas.errors import NothingPublishedError, OtherVersionError
from rangeledger.warehouse.home import Home, refuse_file
from rangeledger.warehouse.published import OTHER_VERSION, is_of_this_version, opened

if TYPE_CHECKING:
    from duckdb import DuckDBPyConnection

# A page asks for one player, by whose name each table is filtered as it is read. The bounds of
# shot ids that a join would hand on besides leave nothing out, and cost three times the reading.
_FOR_PAGES = "SET GLOBAL disabled_optimizers = 'join_filter_pushdown'"


@dataclass(slots=True)
class _Instance:
    """An opened publication and how many readers it has."""

    edition: str
    connection: DuckDBPyConnection
    readers: int = 0
    left: bool = False


class Publications:
    """Opens a home's published database for threads, always the newest.

    Parameters
    ----------
    home : Home
    """

    def __init__(self, home: Home) -> None:
        self._home = home
        self._lock = threading.Lock()
        self._newest: _Instance | None = None

    def edition(self) -> str:
        """What tells one publication from another; empty where nothing is published."""
        try:
            found = self._home.database.stat()
        except FileNotFoundError:
            return ""
        return f"{found.st_ino:x}-{found.st_mtime_ns:x}-{found.st_size:x}"

    @contextmanager
    def opened(self) -> Iterator[DuckDBPyConnection]:
        """A connection of the reader's own to the newest publication.

        Raises
        ------
        NothingPublishedError
            If nothing has been published yet.
        StorageError
            If the file can't be opened or is damaged.
        OtherVersionError
            If another version of the program made it.
        """
        instance = self._entered()
        try:
            with instance.connection.cursor() as cursor:
                cursor.execute("USE rangeledger")
                yield cursor
        finally:
            self._leave(instance)

    def close(self) -> None:
        """Close what nobody reads any more."""
        with self._lock:
            self._retire()

    def _entered(self) -> _Instance:
        with self._lock:
            edition = self.edition()
            if not edition:
                refuse_file(self._home)
                raise NothingPublishedError("Nothing has been loaded into this home yet.")
            if self._newest is None or self._newest.edition != edition:
                fresh = _Instance(edition, opened(self._home.database))
                fresh.connection.execute(_FOR_PAGES)
                self._retire()
                self._newest = fresh
                self._check(fresh)
            self._newest.readers += 1
            return self._newest

    def _check(self, fresh: _Instance) -> None:
        if not is_of_this_version(fresh.connection):
            self._retire()
            raise OtherVersionError(f"{OTHER_VERSION}.")

    def _leave(self, instance: _Instance) -> None:
        with self._lock:
            instance.readers -= 1
            if instance.left and not instance.readers:
                instance.connection.close()

    def _retire(self) -> None:
        """Let go of the newest; its last reader closes it."""
        former, self._newest = self._newest, None
        if former is None:
            return
        former.left = True
        if not former.readers:
            former.connection.close()
