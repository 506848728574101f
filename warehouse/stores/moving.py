"""Moving a home into a shared store, and out of it again, counted and compared."""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Sequence
from dataclasses import asdict, replace
from typing import TYPE_CHECKING

import polars as pl
from rangeledger.schemas.errors import HomeError, StorageError, UsageError
from rangeledger.warehouse import lake, ledger_file
from rangeledger.warehouse.home import Home
from rangeledger.warehouse.stores import rows
from rangeledger.warehouse.stores.following import begin_following, stop_following
from rangeledger.warehouse.stores.removal import rows_of
from rangeledger.warehouse.stores.steward import steward_of
from rangeledger.warehouse.stores.store import follows_a_store
from rangeledger.warehouse.system.durable_files import write_atomically

if TYPE_CHECKING:
    from duckdb import DuckDBPyConnection

_LOADED = "loaded"


def join(home: Home) -> dict[str, int]:
    """Move a home's loads, decisions and originals into the store that its settings name.

    What the store has already counts there as it is, and is a duplicate here. All goes in one
    transaction; killed anywhere, it is done by running it again. The home's published database
    stays until the next one takes its place.

    Returns
    -------
    dict of str to int
        How many loads, exports, shots and decisions were moved, as counted in the store.

    Raises
    ------
    UsageError
        If the home follows a store already, or its settings name none.
    StorageError
        If the store holds other counts than the home afterwards; nothing was moved then.
    """
    if follows_a_store(home):
        raise UsageError(f"{home.root} follows a shared store already.")
    with steward_of(home) as store, store.entered():
        own = [lake.read_batch(home, number) for number in lake.batch_numbers(home)]
        mark = _mark(own)
        if own and not _is_there(store.lake, mark):
            for path in sorted(home.archive.rglob("*")):
                if path.is_file():
                    store.bucket.put_file(path.relative_to(home.root).as_posix(), path)
            _insert_all(store.lake, home, own, mark)
        _remove_own_lake(home)
        begin_following(home, store.store_id())
        store.pull()
        return _counts(store.lake, mark)


def _mark(own: Sequence[lake.Batch]) -> str:
    """What tells the loads of this home in the store: begun anew, it goes on by that."""
    offers_json = json.dumps([asdict(offer) for batch in own[:1] for offer in batch.offers])
    return "joined-" + hashlib.sha256(offers_json.encode()).hexdigest()[:16]


def _is_there(connection: DuckDBPyConnection, mark: str) -> bool:
    return bool(_counts(connection, mark)["exports"])


def _counts(connection: DuckDBPyConnection, mark: str) -> dict[str, int]:
    found = connection.execute(
        "SELECT count(DISTINCT batch), count(*), coalesce(sum(shots), 0) FROM loads.offers "
        "WHERE contains(details, $1)", [mark],
    ).fetchall()[0]  # fmt: skip
    return dict(zip(("loads", "exports", "shots"), map(int, found), strict=True))


def _insert_all(
    connection: DuckDBPyConnection, home: Home, own: Sequence[lake.Batch], mark: str
) -> None:
    known = rows.read_head(connection)
    there = dict(connection.execute(
        "SELECT source_file, any_value(file_name) FROM loads.offers "
        "WHERE starts_with(state, 'loaded') GROUP BY ALL"
    ).fetchall())  # fmt: skip
    decisions = [path for _, path in lake.decision_files(home)]
    becomes = replace(known, batch=known.batch + len(own), decision=known.decision + len(decisions))
    with rows.adding(connection, known, becomes):
        for number, batch in enumerate(own, start=known.batch + 1):
            offers = tuple(_signed(offer, there, mark) for offer in batch.offers)
            gone = pl.col("source_file").is_in(list(there))
            kept = {
                kind: frame.filter(~gone) for kind, frame in rows_of(home, batch.number).items()
            }
            rows.insert_batch(connection, replace(batch, number=number, offers=offers), kept)
        for number, path in enumerate(decisions, start=known.decision + 1):
            rows.insert_decision(connection, number, json.loads(path.read_text(encoding="utf-8")))
        _compare(connection, known.batch)


def _signed(offer: lake.Offer, there: dict[str, str], mark: str) -> lake.Offer:
    signed = replace(offer, details=offer.details | {"home": mark})
    if not offer.state.startswith(_LOADED) or offer.source_file not in there:
        return signed
    reason = f"The same bytes were loaded before as {there[offer.source_file]}."
    return replace(
        signed, state="duplicate", reason=reason, shots=0, rejected=0, other_lines=None,
        remarks=None,
    )  # fmt: skip


def _compare(connection: DuckDBPyConnection, after: int) -> None:
    """Compare what the offers state with the rows that are there, before it counts."""
    stated = connection.execute(
        "SELECT coalesce(sum(shots), 0), coalesce(sum(rejected), 0) FROM loads.offers "
        "WHERE batch > $1", [after],
    ).fetchall()[0]  # fmt: skip
    found = connection.execute(
        "SELECT (SELECT count(*) FROM loads.shots WHERE batch > $1), "
        "(SELECT count(*) FROM loads.rejected_rows WHERE batch > $1)", [after],
    ).fetchall()[0]  # fmt: skip
    if tuple(map(int, stated)) != tuple(map(int, found)):
        raise StorageError(
            f"The home states {stated[0]} shots and {stated[1]} rejected rows, but {found[0]} and "
            f"{found[1]} would be in the store. Nothing was moved; run 'rangeledger checkup'."
        )


def _remove_own_lake(home: Home) -> None:
    """Remove a home's own lake, which the store has now, and the database that was made from it."""
    for number in reversed(lake.batch_numbers(home)):  # by the first it is known when begun anew
        lake.remove_batch(home, number)
    for _, path in lake.decision_files(home):
        path.unlink()
    ledger_file.remove(home.ledger)


def leave(home: Home) -> dict[str, int]:
    """Let a home keep its loads itself again, with all that the shared store has.

    The store is left as it is. Its lines in the settings become remarks.

    Returns
    -------
    dict of str to int
        Loads and shots that the home has, and originals that were fetched.

    Raises
    ------
    UsageError
        If the home follows no store.
    HomeError
        If the home would hold other counts than the store.
    """
    if not follows_a_store(home):
        raise UsageError(f"{home.root} follows no shared store.")
    with steward_of(home) as store, store.turn(alone=True):
        fetched = 0
        for name in store.bucket.names("archive/"):
            if not (home.root / name).exists():
                store.bucket.fetch(name, home.root / name)
                fetched += 1
        own = [lake.read_batch(home, number) for number in lake.batch_numbers(home)]
        shots = sum(offer.shots for batch in own for offer in batch.offers)
        found = store.lake.execute("SELECT count(*) FROM loads.shots").fetchall()[0][0]
        if shots != found:
            raise HomeError(
                f"The home has {shots} shots, the store {found}; it stays in the store. Run "
                "'rangeledger checkup'."
            )
        store.unregister()
        _remove_from_settings(home)
        stop_following(home)
    return {"loads": len(own), "shots": shots, "originals fetched": fetched}


def _remove_from_settings(home: Home) -> None:
    inside, lines = False, []
    for line in home.settings_file.read_text(encoding="utf-8").splitlines(keepends=True):
        if re.match(r"\s*\[", line):
            inside = bool(re.match(r"\s*\[store\]", line))
        lines.append(f"# {line}" if inside and line.strip() else line)
    write_atomically(home.settings_file, "".join(lines))
