"""Reading kept originals again, under today's mappings, notes and settings.

The new reading is a load like any other: with its marker in the lake it counts, in one step, and
what the same bytes gave before no longer does. Killed anywhere, the next start completes it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from itertools import chain
from typing import TYPE_CHECKING

from rangeledger.pipelines.loading import inbox, load
from rangeledger.pipelines.loading.kept_originals import (
    REASON,
    KeptOriginal,
    loaded_names,
    loaded_originals,
    read_otherwise,
    refused_originals,
)
from rangeledger.pipelines.loading.offered import stamp_of
from rangeledger.pipelines.loading.outcome import Outcome, Refused, Unread
from rangeledger.pipelines.loading.readers import Readers
from rangeledger.pipelines.running import ledger
from rangeledger.pipelines.running.batches import MOST_BYTES, MOST_FILES
from rangeledger.pipelines.running.deciding import loaded_exports
from rangeledger.pipelines.spreading.cluster import cluster_of
from rangeledger.schemas.errors import UsageError
from rangeledger.warehouse import database
from rangeledger.warehouse.home import Home
from rangeledger.warehouse.settings import read_settings
from rangeledger.warehouse.stores.store import store_of
from rangeledger.warehouse.system.durable_files import write_atomically

if TYPE_CHECKING:
    from duckdb import DuckDBPyConnection


@dataclass(frozen=True, slots=True)
class ReloadRequest:
    """Which kept originals are read again.

    Attributes
    ----------
    names : sequence of str
        Names of exports, or the beginnings of their hashes; none means what would be read
        otherwise today, and whatever is in quarantine.
    everything : bool
        Whether all are meant.
    """

    names: Sequence[str] = ()
    everything: bool = False


def reload(
    home: Home, request: ReloadRequest, *, on_done: Callable[[str], None] | None = None
) -> list[Outcome]:
    """Read kept originals again, replace their shots, refit and publish.

    An export that can't be read any more keeps the shots that it has.

    Parameters
    ----------
    home : Home
    request : ReloadRequest
    on_done : callable, optional
        Called with the name of an export that was read.

    Returns
    -------
    list of Outcome
        What became of each; a refusal changes nothing but the reason in quarantine.

    Raises
    ------
    UsageError
        If a name is of no export that is kept.
    """
    outcomes: list[Outcome] = []
    with store_of(home).turn(alone=True):
        load.recover(home)
        with database.open_ledger(home) as connection:
            kept = _requested(home, connection, request)
            with Readers(home, cluster=cluster_of(read_settings(home).spread)) as readers:
                for batch in inbox.chunks(kept, MOST_FILES, MOST_BYTES):
                    outcomes += _reread(home, connection, batch, readers, on_done)
    ledger.complete(home)
    return outcomes


def _requested(
    home: Home, connection: DuckDBPyConnection, request: ReloadRequest
) -> list[KeptOriginal]:
    if request.names:
        each = [_by_name(home, connection, name) for name in request.names]
        return list(dict.fromkeys(chain.from_iterable(each)))
    if request.everything:
        names = loaded_names(connection)
    else:
        names = read_otherwise(home, connection, read_settings(home).reading)
    return [*loaded_originals(home, names), *refused_originals(home)]


def _by_name(home: Home, connection: DuckDBPyConnection, name: str) -> list[KeptOriginal]:
    refused = [one for one in refused_originals(home) if name in (one.file_name, str(one.path))]
    found = loaded_exports(connection, name)
    kept = list(loaded_originals(home, {one.source_file: one.file_name for one in found}))
    if not refused and not kept:
        raise UsageError(
            f"No export {name!r} is kept: neither in the archive nor in quarantine. The view "
            "ingest_log lists what was offered."
        )
    return [*kept, *refused]


def _reread(
    home: Home,
    connection: DuckDBPyConnection,
    batch: Sequence[KeptOriginal],
    readers: Readers,
    on_done: Callable[[str], None] | None,
) -> list[Outcome]:
    """Read one batch, and let what can be read count from now on."""
    settings = read_settings(home)
    outcomes: list[Outcome] = [
        Unread(offered=one, source_file=one.source_file, stamp=stamp)
        for one in batch
        if (stamp := stamp_of(one.path)) is not None
    ]
    readers.expect(settings.reading, batch)
    outcomes = load.prepare(home, settings, outcomes, on_done, readers)
    outcomes = load.screen(home, settings, outcomes)
    stored, read = load.store(home, connection, [o for o in outcomes if not isinstance(o, Refused)])
    load.settle(home, stored, read)
    _renew_reasons(home, [o for o in outcomes if isinstance(o, Refused)])
    outcomes_read = iter(read)
    return [o if isinstance(o, Refused) else next(outcomes_read).released() for o in outcomes]


def _renew_reasons(home: Home, refused: Iterable[Refused]) -> None:
    """Say of what is still refused why that is so today."""
    for outcome in refused:
        path = outcome.offered.path
        if path.parent == home.quarantine:
            reason = inbox.reason_text(home, outcome.reason, path.name, outcome.proposed_mapping)
            write_atomically(path.with_name(path.name + REASON), reason)
