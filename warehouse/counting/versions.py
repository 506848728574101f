"""Which of several exports of the same shots is the newer: by what can be known of each.

An export's own time stamp tells best, then the time at which its file was last changed, then the
name: `visit corrected.csv` comes after `visit.csv`, `visit (2).csv` after both. What the user
prefers stands just above what it was preferred to; what the user took out again has no rank.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import PurePath
from typing import TYPE_CHECKING, Any, Final

if TYPE_CHECKING:
    from duckdb import DuckDBPyConnection

PREFER: Final = "prefer"
TAKEN_OUT: Final = "export"


@dataclass(frozen=True, slots=True)
class Version:
    """An export that was loaded, and what is known of its age.

    Attributes
    ----------
    source_file : str
        Content hash.
    file_name : str
    known_at : datetime
        Its own time stamp, else when its file was last changed, else when it was loaded [UTC].
    load : int
        Place among all exports offered, in order of loading.
    """

    source_file: str
    file_name: str
    known_at: datetime
    load: int


def ranked(
    versions: Iterable[Version], decisions: Iterable[Mapping[str, Any]] = ()
) -> dict[str, int]:
    """Rank of each export: of two that hold a shot, the one with the higher rank counts.

    Parameters
    ----------
    versions : iterable of Version
    decisions : iterable of mapping
        The lake's decisions, oldest first; those of kind `prefer` hold `source_file` and, as
        `over`, the exports that it was preferred to; those of kind `export`, `source_file` and
        whether it is `excluded`.

    Returns
    -------
    dict of str to int
        Content hash -> rank from 1; without exports that were taken out again.
    """
    decisions = list(decisions)
    out = taken_out(decisions)
    keys = {
        v.source_file: (v.known_at, 0, _name_key(v.file_name), v.load, v.source_file)
        for v in versions
        if v.source_file not in out
    }
    for number, decision in enumerate(decisions, start=1):
        if decision.get("kind") != PREFER or decision["source_file"] not in keys:
            continue
        chosen = decision["source_file"]
        highest = max((keys[o] for o in decision["over"] if o in keys), default=keys[chosen])
        if highest > keys[chosen]:
            keys[chosen] = (highest[0], number, *keys[chosen][2:])
    return {source: rank for rank, source in enumerate(sorted(keys, key=keys.__getitem__), 1)}


def taken_out(decisions: Iterable[Mapping[str, Any]]) -> set[str]:
    """Exports of which nothing counts, by the last decision about each.

    Parameters
    ----------
    decisions : iterable of mapping
        The lake's decisions, oldest first.

    Returns
    -------
    set of str
        Content hashes.
    """
    last = {d["source_file"]: d["excluded"] for d in decisions if d.get("kind") == TAKEN_OUT}
    return {source for source, excluded in last.items() if excluded}


def _name_key(file_name: str) -> tuple[tuple[bool, int, str], ...]:
    """A key that puts numbers in their order and a longer name after its beginning."""
    stem = PurePath(file_name).stem.casefold()
    parts = re.findall(r"[0-9]+|[^0-9]+", stem)
    return tuple((not p.isdigit(), int(p) if p.isdigit() else 0, p) for p in parts)


_LOADED = """
    WITH loads AS (
        SELECT o.*, o.batch * 1000000::BIGINT + o.place AS load, b.loaded_at
        FROM ledger.offers AS o INNER JOIN ledger.batches AS b ON b.batch = o.batch
        WHERE starts_with(o.state, 'loaded')
    )
    SELECT source_file, arg_max(file_name, load),
           arg_max(coalesce(exported_at, modified_at, loaded_at), load), max(load)
    FROM loads GROUP BY source_file"""


# Exports of some loads, and the newest time and highest rank of all others.
_ADDED = f"""
    WITH versions AS ({_LOADED})
    SELECT * FROM versions WHERE source_file IN (
        SELECT source_file FROM ledger.offers
        WHERE list_contains($1, batch) AND starts_with(state, 'loaded'))"""
_KNOWN = """
    SELECT max(coalesce(o.exported_at, o.modified_at, b.loaded_at))
    FROM ledger.offers AS o INNER JOIN ledger.batches AS b ON b.batch = o.batch
    WHERE starts_with(o.state, 'loaded') AND NOT list_contains($1, o.batch)"""


def note_versions(
    connection: DuckDBPyConnection,
    decisions: Sequence[Mapping[str, Any]],
    batches: Sequence[int],
    known: int,
) -> bool:
    """Note in `ledger.versions` the rank of every export that was loaded and not taken out.

    Parameters
    ----------
    connection : duckdb.DuckDBPyConnection
        The writer's database, inside a transaction.
    decisions : sequence of mapping
        The lake's decisions, oldest first.
    batches : sequence of int
        Loads whose rows were just inserted.
    known : int
        How many of the decisions were followed before.

    Returns
    -------
    bool
        Whether exports that were there before may stand in another order now, or be taken out.
    """
    is_anew = known < len(decisions) or bool(taken_out(decisions))
    if not is_anew and _newest_alone(connection, decisions, batches):
        return False
    ranks = ranked([Version(*row) for row in connection.execute(_LOADED).fetchall()], decisions)
    before = dict(connection.execute("SELECT source_file, rank FROM ledger.versions").fetchall())
    connection.execute("DELETE FROM ledger.versions")
    _insert(connection, ranks)
    kept = [source for source in sorted(ranks, key=ranks.__getitem__) if source in before]
    return is_anew or kept != sorted(before, key=before.__getitem__)


def _newest_alone(
    connection: DuckDBPyConnection, decisions: Iterable[Mapping[str, Any]], batches: Sequence[int]
) -> bool:
    """Rank exports that are all newer than those that have a rank; False if they are not."""
    chosen = [list(batches)]
    added = [Version(*row) for row in connection.execute(_ADDED, chosen).fetchall()]
    newest = connection.execute(_KNOWN, chosen).fetchall()[0][0]
    sources = [one.source_file for one in added]
    there, highest = connection.execute(
        "SELECT count(*) FILTER (list_contains($1, source_file)), coalesce(max(rank), 0) "
        "FROM ledger.versions",
        [sources],
    ).fetchall()[0]
    chosen_ones = {decision.get("source_file") for decision in decisions}
    if there or chosen_ones & set(sources):
        return False
    if newest is not None and any(one.known_at <= newest for one in added):
        return False
    _insert(connection, {s: highest + rank for s, rank in ranked(added).items()})
    return True


def _insert(connection: DuckDBPyConnection, ranks: Mapping[str, int]) -> None:
    import polars as pl

    if ranks:
        noted = pl.DataFrame(list(ranks.items()), schema=["source_file", "rank"], orient="row")
        connection.execute("INSERT INTO ledger.versions SELECT source_file, rank FROM noted")
        del noted
