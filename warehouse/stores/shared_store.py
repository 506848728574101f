"""The store that several homes share, as one home uses it.

The store's loads are the truth. Each home that follows it brings them into its own lake, from which
its database, fits and views are made as in any home; so all homes answer alike. What a home loads
counts from the moment when its transaction in the shared lake is committed.
"""

from __future__ import annotations

import hashlib
import socket
from collections.abc import Callable, Iterator, Sequence
from contextlib import AbstractContextManager, contextmanager, nullcontext, suppress
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from rangeledger.schemas.arrow import COMPANION_SCHEMAS
from rangeledger.schemas.errors import BusyError, HomeError
from rangeledger.warehouse import lake, publishing
from rangeledger.warehouse.home import Home
from rangeledger.warehouse.removing.forgetting import Plan
from rangeledger.warehouse.settings import read_settings
from rangeledger.warehouse.store_settings import Secrets, StoreSettings, read_secrets
from rangeledger.warehouse.stores import removal as removals
from rangeledger.warehouse.stores import rows, shown
from rangeledger.warehouse.stores.adopted_fits import put_fits, unfitted_counts
from rangeledger.warehouse.stores.bucket import Bucket
from rangeledger.warehouse.stores.catalog import (
    COPYING,
    answers,
    attach_lake,
    connect_catalog,
    locked,
    newest_snapshot,
    unreachable,
)
from rangeledger.warehouse.stores.copy_pace import CopyPace
from rangeledger.warehouse.stores.following import (
    Following,
    begin_following,
    caught_up,
    other_numbers,
    read_following,
    write_following,
)
from rangeledger.warehouse.stores.layout import prepare_lake, store_id
from rangeledger.warehouse.stores.originals import archived
from rangeledger.warehouse.stores.tidying import purge_lake
from rangeledger.warehouse.writer_lock import writer_lock

if TYPE_CHECKING:
    import polars as pl
    from duckdb import DuckDBPyConnection

PUBLISHED = "rangeledger.duckdb"
_HOME = "home"
_COPY_WAIT_S = 10


class SharedStore:
    """A home's share in a store of several homes; its calls are those of `warehouse.store.Store`.

    Parameters
    ----------
    home : Home
    settings : StoreSettings
    """

    def __init__(self, home: Home, settings: StoreSettings) -> None:
        self._home, self.settings = home, settings
        self._catalog: Any = None
        self._lake: DuckDBPyConnection | None = None
        self._bucket: Bucket | None = None
        self._copies = CopyPace()
        self._alone = False

    @contextmanager
    def turn(
        self, *, alone: bool = False, on_wait: Callable[[str], None] | None = None
    ) -> Iterator[None]:
        """Hold the home's writer lock, with all in the home's lake that the store has."""
        with writer_lock(self._home, on_wait=on_wait), self._connected():
            if alone:
                with self.alone():
                    yield
            else:
                self._pull()
                yield

    @contextmanager
    def alone(self) -> Iterator[bool]:
        """Hold the store's lock too, with all in the home's lake that was added until then."""
        if self._alone:
            yield False
            return
        with self._holding():
            yield self._pull()

    @contextmanager
    def _holding(self) -> Iterator[None]:
        """Hold the store's lock."""
        with locked(self._catalog, self.settings.academy):
            self._alone = True
            try:
                yield
            finally:
                self._alone = False

    def keep_original(self, path: Path, source_file: str) -> bool:
        """Put an export into the bucket, under its content hash."""
        content = path.read_bytes()
        if hashlib.sha256(content).hexdigest() != source_file:
            return False
        self.bucket.put(_place(source_file, f"{source_file}{path.suffix.lower()}"), content)
        return True

    def original(self, source_file: str) -> Path | None:
        """The original in the archive, which is fetched from the bucket where it is missing."""
        found = archived(self._home, source_file)
        if found is None:
            fetch_originals(self.bucket, self._home, source_file)
            found = archived(self._home, source_file)
        return found

    def write_batch(
        self,
        batch: lake.Batch,
        shots: pl.DataFrame,
        rejected: pl.DataFrame,
        other_lines: pl.DataFrame,
        remarks: pl.DataFrame,
    ) -> None:
        """Add a load to the shared lake in one transaction, then to the home's."""
        known = self._head()
        if batch.number <= known.batch:  # the lock went with its connection, and others wrote
            raise BusyError(rows.ADDED_MEANWHILE)
        if batch.number > known.batch + 1:
            raise HomeError(other_numbers(self._home))
        home = self._following().home
        signed = (replace(o, details=o.details | {_HOME: home}) for o in batch.offers)
        batch = replace(batch, offers=tuple(signed))
        companions = dict(zip(COMPANION_SCHEMAS, (rejected, other_lines, remarks), strict=True))
        with rows.adding(self.lake, known, replace(known, batch=batch.number)):
            rows.insert_batch(self.lake, batch, {"shots": shots, **companions})
        lake.write_batch(self._home, batch, shots, rejected, other_lines, remarks)
        self._note_caught_up(known.removal)

    def write_decision(self, decision: dict[str, Any]) -> None:
        """Add a decision to the shared lake, then to the home's."""
        known = self._head()
        number = known.decision + 1
        with rows.adding(self.lake, known, replace(known, decision=number)):
            rows.insert_decision(self.lake, number, decision)
        lake.write_decision(self._home, decision, number)
        self._note_caught_up(known.removal)

    def settles(self, batch: lake.Batch) -> bool:
        """Whether this home loaded it."""
        home = self._following().home
        return any(offer.details.get(_HOME) == home for offer in batch.offers)

    def adopt_fits(self, connection: DuckDBPyConnection, model_version: str) -> None:
        """Take over the fits that other homes made of the same shots."""
        unfitted = unfitted_counts(connection, model_version)
        if unfitted.height:
            with lake_errors():
                found = shown.fits_of_other_homes(self.lake, unfitted, model_version)
            put_fits(connection, *found)

    def is_current(self) -> bool:
        """Whether readers of the store see all that the home has, as far as that is due."""
        following = self._following()
        return following.shown and not (following.owes and self._copies.is_due(self._size()))

    def publish(self) -> None:
        """Publish to the readers of the lake, then in the home and in the bucket.

        The lake comes first, as the copies of a whole database take the longer the larger it is.
        Where others added something meanwhile, they publish it with this.
        """
        try:
            self._show()
        finally:
            publishing.publish(self._home)
        self.keep_notes()
        if self._following().owes and self._copies.is_due(self._size()):
            self._copy_into_the_bucket()

    def _show(self) -> None:
        """Let readers of the lake see what the writer's database says."""
        with self.alone() as others_added:
            if others_added:
                return
            head = self._head()
            with lake_errors():
                # Noted before it is so: who is killed in between copies it all the same.
                owes = shown.newest_publication(self.lake) + 1
                write_following(self._home, replace(self._following(), owes=owes))
                shown.show(self.lake, self._home.ledger, head.batch, head.decision)
            self._note_caught_up(head.removal, shown_too=True)

    def _copy_into_the_bucket(self) -> None:
        """Copy the published database into the bucket, unless another home has shown more.

        Loads go on meanwhile. While another home copies, it is left for a later publication.
        """
        owes = self._following().owes
        with (
            suppress(BusyError),
            locked(self._catalog, self.settings.academy, COPYING, _COPY_WAIT_S),
        ):
            with lake_errors():
                is_newest = shown.newest_publication(self.lake) == owes
            if is_newest:
                with self._copies.timed():
                    self.bucket.put_file(PUBLISHED, self._home.database)
            write_following(self._home, replace(self._following(), owes=0))

    def _size(self) -> int:
        return self._home.database.stat().st_size if self._home.database.exists() else 0

    def keep_notes(self) -> None:
        """Put notes that came with this home's exports into the bucket, beside the originals."""
        there = set(self.bucket.names("archive/")) if self._notes() else set()
        for path in self._notes():
            name = f"archive/{path.parent.name}/{path.name}"
            if name not in there:
                self.bucket.put(name, path.read_bytes())

    def _notes(self) -> list[Path]:
        return sorted(self._home.archive.glob("*/*.note.toml"))

    @property
    def bucket(self) -> Bucket:
        """The academy's folder of the bucket."""
        if self._bucket is None:
            self._bucket = Bucket(self.settings, self._secrets())
        return self._bucket

    @property
    def lake(self) -> DuckDBPyConnection:
        """The shared lake, attached for the rest of the turn."""
        if self._lake is None:
            self._lake = attach_lake(self.settings, self._secrets())
        return self._lake

    def _secrets(self) -> Secrets:
        return read_secrets(self._home.root, self.settings)

    @contextmanager
    def _connected(self) -> Iterator[None]:
        """Have connections that answer; they serve the next turn too, unless one fails."""
        if self._catalog is not None and not answers(self._catalog):
            self.close()
        if self._catalog is None:
            self._catalog = connect_catalog(self.settings, self._secrets())
        try:
            yield
        except BaseException:
            self.close()
            raise

    def close(self) -> None:
        """Give up the connections; the next turn makes them anew."""
        if self._catalog is not None:
            self._catalog.close()
        if self._lake is not None:
            self._lake.close()
        self._catalog = self._lake = None

    def _head(self) -> rows.Head:
        with lake_errors():
            return rows.read_head(self.lake)

    def _following(self) -> Following:
        found = read_following(self._home)
        if found is None:
            raise HomeError(f"{self._home.root} follows no shared store yet; load something first.")
        return found

    def _pull(self) -> bool:
        """Bring what the store has more than the home's lake; whether there was anything."""
        snapshot = newest_snapshot(self._catalog, self.settings.academy)
        following = read_following(self._home)
        if following is not None and snapshot == following.snapshot:
            return False
        if snapshot is None or following is None:
            self._begin()
            snapshot = newest_snapshot(self._catalog, self.settings.academy)
        with lake_errors():
            return self._pull_all(snapshot)

    def _begin(self) -> None:
        """Make the store where there is none, and let the home follow it."""
        with self._locked(), lake_errors():
            prepare_lake(self.lake)
            begin_following(self._home, store_id(self.lake))

    def _locked(self) -> AbstractContextManager[None]:
        return nullcontext() if self._alone else locked(self._catalog, self.settings.academy)

    def _pull_all(self, snapshot: int | None) -> bool:
        """Bring all that the store has, which is at least what it had at a snapshot."""
        begin_following(self._home, store_id(self.lake))
        lake.sweep(self._home, mirrors=True)
        head = rows.read_head(self.lake)
        self._apply_removal(head.removal)
        there = lake.batch_numbers(self._home)
        if there and there[-1] > head.batch:
            raise HomeError(other_numbers(self._home))
        pulled = rows.pull_batches(self.lake, self._home)
        pulled += rows.pull_decisions(self.lake, self._home)
        self._register(head.removal)
        seen = shown.shown_up_to(self.lake) == (head.batch, head.decision)
        # Without the lock others may have added something since: the next pull brings it.
        self._note_caught_up(head.removal, shown_too=seen, snapshot=snapshot)
        return pulled > 0

    def _apply_removal(self, removal: int) -> None:
        following = self._following()
        plans = removals.plans_after(self.lake, following.removal)
        if plans:
            removals.remove_here(self._home, plans)
            self._copies = CopyPace()  # what was forgotten leaves the bucket with the next copy
        if following.removal < removal:
            write_following(self._home, replace(following, removal=removal, snapshot=-1))

    def _register(self, removal: int) -> None:
        """Let the store know that this home follows it, and how far it is with removals."""
        home = self._following().home
        known = self.lake.execute(
            "SELECT removal FROM loads.homes WHERE home = ?", [home]
        ).fetchall()
        if known == [(removal,)]:
            return
        with self._locked():
            if removals.note_removals(self.lake, home, self._name(), removal):
                purge_lake(self.lake)

    def _name(self) -> str:
        """What people call this home: its site, else its machine."""
        return read_settings(self._home).reading.site or socket.gethostname()

    def remove(self, plan: Plan) -> None:
        """Remove from the shared lake and the bucket what was removed from the home."""
        with self.alone():
            known = self._head()
            with lake_errors():
                touched = removals.touched_loads(self.lake, plan)
                number = known.removal + 1
                with rows.adding(self.lake, known, replace(known, removal=number)):
                    removals.replace_loads(self.lake, self._home, touched, number, plan)
                removals.remove_originals(self.bucket, self._home, plan)
                write_following(self._home, replace(self._following(), removal=number, snapshot=-1))
                self._register(number)
                purge_lake(self.lake)
            self._copies = CopyPace()

    def restore(self, numbers: Sequence[int]) -> bool:
        """Bring some loads of the home's lake anew, whose files are damaged."""
        for number in numbers:
            lake.remove_batch(self._home, number)
        with lake_errors():
            rows.pull_batches(self.lake, self._home)
        return True

    def _note_caught_up(
        self, removal: int, *, shown_too: bool = False, snapshot: int | None = None
    ) -> None:
        """Note up to which snapshot the home has everything: the newest while it has the lock."""
        if snapshot is None:
            snapshot = newest_snapshot(self._catalog, self.settings.academy)
        assert snapshot is not None
        following = self._following()
        write_following(self._home, caught_up(following, snapshot, removal, shown=shown_too))


def _place(source_file: str, name: str) -> str:
    return f"archive/{source_file[:2]}/{name}"


def fetch_originals(bucket: Bucket, home: Home, source_file: str) -> None:
    """Fetch an original and its notes from the bucket into the archive."""
    for name in bucket.names(_place(source_file, source_file)):
        target = home.root / name
        if not target.exists():
            bucket.fetch(name, target)


@contextmanager
def lake_errors() -> Iterator[None]:
    """Turn what the lake refuses into a sentence."""
    import duckdb

    try:
        yield
    except duckdb.Error as error:
        raise unreachable(error) from error
