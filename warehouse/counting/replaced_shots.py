"""Accepted shots that don't count: a newer export gives them again, or theirs was taken out.

Each shot counts once, as in the newest export that holds it and was not taken out again.

The lake keeps every accepted row. What the newest export leaves unsaid, who struck the shot and
when, it takes from an older one that says it.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Final

from rangeledger.warehouse.counting.player_names import UNKNOWN

if TYPE_CHECKING:
    from duckdb import DuckDBPyConnection

_PAIRS: Final = """
    SELECT p.one AS shot_id, p.other AS by_shot, r.rank AS by_rank, v.rank AS rank
    FROM ledger.same_shots AS p
    INNER JOIN ledger.versions AS v ON v.source_file = p.one_file
    INNER JOIN ledger.versions AS r ON r.source_file = p.other_file
    UNION ALL
    SELECT p.other, p.one, v.rank, r.rank
    FROM ledger.same_shots AS p
    INNER JOIN ledger.versions AS v ON v.source_file = p.one_file
    INNER JOIN ledger.versions AS r ON r.source_file = p.other_file"""
# Shots that one of some exports gives, and all that any chain of pairs leads to from there: what
# counts of the others does not change by these exports.
_TOUCH = """
    CREATE OR REPLACE TEMP TABLE touched AS
    SELECT DISTINCT unnest([one, other]) AS shot_id FROM ledger.same_shots
    WHERE list_contains($1, one_file) OR list_contains($1, other_file)"""
_TOUCH_FURTHER = """
    INSERT INTO touched
    SELECT DISTINCT shot_id FROM (
        SELECT unnest([one, other]) AS shot_id FROM ledger.same_shots
        WHERE one IN (FROM touched) OR other IN (FROM touched)
    ) WHERE shot_id NOT IN (FROM touched)"""
_TOUCHED_SHOTS = """
    CREATE OR REPLACE TEMP TABLE touched_shots AS
    SELECT shot_id, player, batch, source_file FROM ledger.shots WHERE source_file IN (
        SELECT unnest([one_file, other_file]) FROM ledger.same_shots WHERE one IN (FROM touched))"""
# Where the rows stand, and which of them it is about.
_ALL: Final = {"shots": "ledger.shots", "these": "true"}
_TOUCHED: Final = {"shots": "touched_shots", "these": "shot_id IN (FROM touched)"}
_NEWER = f"""
    CREATE OR REPLACE TEMP TABLE newer AS
    SELECT shot_id, arg_max(by_shot, by_rank) AS by_shot
    FROM ({_PAIRS}) WHERE by_rank > rank AND {{these}} GROUP BY shot_id"""
# The shot that replaces one may be replaced itself, by one that agrees with the second alone.
_ON_TO_THE_LAST = """
    UPDATE newer SET by_shot = further.by_shot
    FROM newer AS further WHERE further.shot_id = newer.by_shot"""
_REPLACED = """
    CREATE OR REPLACE TEMP TABLE replaced AS
    SELECT newer.shot_id, n.player, later.batch, later.source_file AS replaced_by, newer.by_shot
    FROM newer
    INNER JOIN {shots} AS former ON former.shot_id = newer.shot_id
    INNER JOIN ledger.player_names AS n ON n.said = former.player
    INNER JOIN {shots} AS later ON later.shot_id = newer.by_shot
    UNION ALL
    SELECT s.shot_id, n.player, s.batch, NULL, NULL
    FROM {shots} AS s
    INNER JOIN ledger.player_names AS n ON n.said = s.player
    ANTI JOIN ledger.versions AS v ON v.source_file = s.source_file
    WHERE {these}"""
_CHANGED = f"""
    WITH former AS (SELECT * FROM ledger.replaced_shots WHERE {{these}}),
    changed AS (
        (FROM replaced EXCEPT FROM former) UNION ALL (FROM former EXCEPT FROM replaced)
    )
    SELECT player FROM changed
    UNION SELECT n.player FROM changed
        INNER JOIN {{shots}} AS s ON s.shot_id = changed.by_shot
        INNER JOIN ledger.player_names AS n ON n.said = s.player
    UNION SELECT player FROM ledger.placed_shots WHERE shot_id IN (
        SELECT shot_id FROM changed UNION ALL SELECT by_shot FROM changed)
    UNION SELECT n.player FROM changed
        INNER JOIN ({_PAIRS}) AS pairs ON pairs.shot_id = changed.by_shot
        INNER JOIN {{shots}} AS s ON s.shot_id = pairs.by_shot
        INNER JOIN ledger.player_names AS n ON n.said = s.player"""
_FORGET = "DELETE FROM ledger.replaced_shots WHERE {these}"


def note_replaced(connection: DuckDBPyConnection, exports: Sequence[str] | None = None) -> set[str]:
    """Note which shots don't count, from the pairs and the exports' ranks.

    Parameters
    ----------
    connection : duckdb.DuckDBPyConnection
        The writer's database, inside a transaction.
    exports : sequence of str, optional
        Content hashes of exports that are new, where nothing else has changed: no pair of others,
        no order among them, no name. Without them all is looked at.

    Returns
    -------
    set of str
        Players whose shots are told of by other exports than before.
    """
    where = _ALL
    if exports is not None:
        where = _TOUCHED
        connection.execute(_TOUCH, [list(exports)])
        while connection.execute(_TOUCH_FURTHER).fetchall()[0][0]:
            pass
        connection.execute(_TOUCHED_SHOTS)
    connection.execute(_NEWER.format(**where))
    while connection.execute(_ON_TO_THE_LAST).fetchall()[0][0]:
        pass
    connection.execute(_REPLACED.format(**where))
    players = {str(row[0]) for row in connection.execute(_CHANGED.format(**where)).fetchall()}
    if players:
        connection.execute(_FORGET.format(**where))
        connection.execute("INSERT INTO ledger.replaced_shots FROM replaced ORDER BY shot_id")
    return players


# What an older export says of shots whose newest one names no player, or no time.
REPORTED_BEFORE: Final = f"""
    SELECT pairs.by_shot AS shot_id,
           arg_max(n.player, pairs.rank) FILTER (n.player <> '{UNKNOWN}') AS player,
           arg_max(s.struck_at, pairs.rank) FILTER (s.struck_at IS NOT NULL) AS struck_at
    FROM ({_PAIRS}) AS pairs
    INNER JOIN ledger.shots AS s ON s.shot_id = pairs.shot_id
    INNER JOIN ledger.player_names AS n ON n.said = s.player
    WHERE pairs.by_rank > pairs.rank
    GROUP BY pairs.by_shot"""
