"""Sessions as they follow from the whole lake: one visit is one session, in however many files.

A player's shots in the order of their times are one session until a gap of three hours or a new
date, but for those that the user moved to another player or merged (`arranged_visits.py`). Only
what differs from the export's own numbering is kept, in `ledger.placed_shots`.
"""

from __future__ import annotations

from collections.abc import Collection
from typing import TYPE_CHECKING, Final

from rangeledger.warehouse.counting.arranged_visits import (
    linked_players,
    merge_visits,
    move_visits,
    note_arranged,
)
from rangeledger.warehouse.counting.replaced_shots import REPORTED_BEFORE

if TYPE_CHECKING:
    from duckdb import DuckDBPyConnection

# The contract's gap; the reader parts an export by the same.
SESSION_GAP_H: Final = 3

# Names under which rows of some players may stand, so that the rows of others are hardly read.
_SAID = """
    SELECT said FROM ledger.player_names WHERE player = 'unknown' OR list_contains($1, player)"""
_LACK_SOMETHING = f"""
    SELECT count(*) FROM ledger.shots AS s
    INNER JOIN ledger.player_names AS n ON n.said = s.player
    WHERE s.player IN ({_SAID}) AND (s.struck_at IS NULL OR n.player = 'unknown')"""
_NOTHING_BEFORE = """
    SELECT '' AS shot_id, '' AS player, NULL::TIMESTAMP AS struck_at WHERE false"""
_BASE = f"""
    CREATE OR REPLACE TEMP TABLE base AS
    WITH before AS ({{before}}),
    loads AS (
        SELECT source_file, arg_max(zone, batch) AS zone
        FROM ledger.offers WHERE starts_with(state, 'loaded') GROUP BY source_file
    )
    SELECT s.shot_id, s.source_file, s.session_id AS own, s.shot_number AS own_number,
           s.player AS said, s.struck_at AS said_at, o.zone,
           CASE WHEN n.player = 'unknown' THEN coalesce(b.player, 'unknown') ELSE n.player END
               AS player,
           coalesce(s.struck_at, b.struck_at) AS struck_at,
           false AS moved, false AS parted
    FROM ledger.shots AS s
    ANTI JOIN ledger.replaced_shots AS r ON r.shot_id = s.shot_id
    INNER JOIN ledger.player_names AS n ON n.said = s.player
    LEFT JOIN before AS b ON b.shot_id = s.shot_id
    LEFT JOIN loads AS o ON o.source_file = s.source_file
    WHERE s.player IN ({_SAID})
        AND list_contains($1, CASE WHEN n.player = 'unknown' THEN coalesce(b.player, 'unknown')
                                   ELSE n.player END)"""
# A shot without a time goes with the shot before it in its export, the first ones with the next.
_FILLED = """
    SELECT *,
           coalesce(
               last_value(struck_at IGNORE NULLS) OVER (own_order ROWS UNBOUNDED PRECEDING),
               first_value(struck_at IGNORE NULLS) OVER
                   (own_order ROWS BETWEEN CURRENT ROW AND UNBOUNDED FOLLOWING)
           ) AS moment
    FROM base
    WINDOW own_order AS (PARTITION BY player, source_file, own ORDER BY own_number)"""
# The date is the one where the export was made. Loads of earlier versions do not say where that
# was; between two shots of theirs the export's own sessions stand.
_BEGINS = f"""
    CREATE OR REPLACE TEMP TABLE ordered AS
    SELECT *,
           coalesce(
               moment - lag(moment) OVER player_order >= INTERVAL {SESSION_GAP_H} HOUR
               OR CASE WHEN zone IS NOT NULL AND lag(zone) OVER player_order IS NOT NULL
                       THEN local_date <> lag(local_date) OVER player_order
                       ELSE source_file = lag(source_file) OVER player_order
                           AND own <> lag(own) OVER player_order END,
               true
           ) AS begins
    FROM (
        SELECT *, CASE WHEN coalesce(zone, 'UTC') = 'UTC' THEN moment
                       ELSE timezone(zone, timezone('UTC', moment)) END::DATE AS local_date
        FROM ({_FILLED}) WHERE moment IS NOT NULL
    )
    WINDOW player_order AS (PARTITION BY player ORDER BY moment, source_file, own_number)"""
# A shot without any time has no visit by time: its export's own session stands.
_NUMBERED = """
    CREATE OR REPLACE TEMP TABLE numbered AS
    SELECT *, sum(begins::INTEGER) OVER
        (PARTITION BY player ORDER BY moment, source_file, own_number) AS visit
    FROM ordered
    UNION ALL BY NAME
    SELECT *, NULL AS moment, NULL AS visit FROM base
    WHERE shot_id NOT IN (SELECT shot_id FROM ordered)"""
_PLACED = """
    CREATE OR REPLACE TEMP TABLE placed AS
    WITH visits AS (
        SELECT player, visit, min(struck_at) AS started_at, min(own) AS own,
               count(DISTINCT own) = 1 AND NOT bool_or(parted) AS of_one
        FROM numbered WHERE visit IS NOT NULL GROUP BY player, visit
    ),
    named AS (
        SELECT *,
               CASE WHEN of_one AND row_number() OVER
                        (PARTITION BY player, of_one, own ORDER BY visit) = 1
                    THEN own
                    ELSE coalesce(substr(sha256(player || chr(31)
                        || strftime(started_at, '%Y-%m-%dT%H:%M:%S')
                        || CASE WHEN started_at = date_trunc('second', started_at) THEN ''
                                ELSE strftime(started_at, '.%f') END
                        || '+00:00'), 1, 20), own) END AS session_id
        FROM visits
    )
    SELECT n.shot_id, n.player, n.struck_at, v.session_id,
           row_number() OVER (
               PARTITION BY n.player, n.visit ORDER BY n.moment, n.source_file, n.own_number
           )::INTEGER AS shot_number,
           n.said, n.said_at, n.own, n.own_number, n.moved
    FROM numbered AS n
    INNER JOIN named AS v ON v.player = n.player AND v.visit = n.visit
    UNION ALL
    SELECT shot_id, player, struck_at, own,
           row_number() OVER (PARTITION BY player, source_file, own ORDER BY own_number)::INTEGER,
           said, said_at, own, own_number, moved
    FROM numbered WHERE visit IS NULL"""
_PREVIOUS_NUMBERS = """
    INSERT INTO ledger.placed_shots
    SELECT shot_id, player, struck_at, session_id, shot_number FROM placed
    WHERE player <> said OR session_id <> own OR shot_number <> own_number
        OR struck_at IS DISTINCT FROM said_at
    ORDER BY shot_id"""


def place_shots(connection: DuckDBPyConnection, changed: Collection[str]) -> set[str]:
    """Part all shots of some players that count into sessions, and number them.

    Parameters
    ----------
    connection : duckdb.DuckDBPyConnection
        The writer's database, inside a transaction.
    changed : collection of str

    Returns
    -------
    set of str
        These players, and those to whom or from whom sessions of theirs were moved.

    Notes
    -----
    A session of one export keeps the id that the export's own reading gave it. One that several
    exports give is named by the player and the time of its first shot, as the reader names them.
    """
    players = linked_players(connection, changed)
    lacking = connection.execute(_LACK_SOMETHING, [sorted(players)]).fetchall()[0][0]
    before = REPORTED_BEFORE if lacking else _NOTHING_BEFORE
    connection.execute(_BASE.format(before=before), [sorted(players)])
    _number(connection)
    if move_visits(connection):
        _number(connection)
    merge_visits(connection)
    connection.execute(_PLACED)
    connection.execute(
        "DELETE FROM ledger.placed_shots WHERE list_contains($1, player) "
        "OR shot_id IN (SELECT shot_id FROM base) "
        "OR shot_id IN (SELECT shot_id FROM ledger.replaced_shots)",
        [sorted(players)],
    )
    connection.execute(_PREVIOUS_NUMBERS)
    note_arranged(connection, players)
    return players


def _number(connection: DuckDBPyConnection) -> None:
    """Number each player's visits."""
    connection.execute(_BEGINS)
    connection.execute(_NUMBERED)
