"""Which of several exports of the same shots is the newer: by what can be known of each.

An export's own time stamp tells best, then the time at which its file was last changed, then the
name: `visit corrected.csv` comes after `visit.csv`, `visit (2).csv` after both. What the user
prefers stands just above what it was preferred to; what the user took out again has no rank.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
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


def note_versions(connection: DuckDBPyConnection, decisions: Iterable[Mapping[str, Any]]) -> None:
    """Note in `ledger.versions` the rank of every export that was loaded and not taken out."""
    import polars as pl

    rows = connection.execute(_LOADED).fetchall()
    ranks = ranked([Version(*row) for row in rows], decisions)
    connection.execute("DELETE FROM ledger.versions")
    if ranks:
        known = pl.DataFrame(list(ranks.items()), schema=["source_file", "rank"], orient="row")
        connection.execute("INSERT INTO ledger.versions SELECT source_file, rank FROM known")
        del known
