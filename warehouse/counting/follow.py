"""From the rows of the lake to what counts: names, same shots, versions, sessions, decisions.

Everything here is a function of the lake, the decisions in it and the settings, and does not depend
on the order of loading; what a change does not touch is not worked out again.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from rangeledger.schemas.arrow import COMPANION_SCHEMAS
from rangeledger.schemas.columns import NUMBERS
from rangeledger.warehouse.counting.arranged_visits import arranged_players, move_targets
from rangeledger.warehouse.counting.decided_sessions import insert_decisions, note_decided
from rangeledger.warehouse.counting.player_names import other_names, resolved_names
from rangeledger.warehouse.counting.replaced_shots import note_replaced
from rangeledger.warehouse.counting.same_shots import note_same_shots
from rangeledger.warehouse.counting.versions import note_versions
from rangeledger.warehouse.counting.visits import place_shots

if TYPE_CHECKING:
    from duckdb import DuckDBPyConnection

_REPORTED_PLAYERS = "SELECT player FROM ledger.shots GROUP BY player ORDER BY min(batch), player"
# Exports that a later load of the same bytes reads again: the later reading counts.
_DROP_REREAD = """
    CREATE OR REPLACE TEMP TABLE read_again AS
    SELECT source_file, max(batch) AS batch FROM ledger.offers
    WHERE starts_with(state, 'loaded')
    GROUP BY source_file HAVING count(DISTINCT batch) > 1 AND max(list_contains($1, batch))"""
_EARLIER = "source_file IN (SELECT source_file FROM read_again) AND batch < (" \
    "SELECT a.batch FROM read_again AS a WHERE a.source_file = {table}.source_file)"  # fmt: skip


def follow(
    connection: DuckDBPyConnection,
    batches: Sequence[int],
    decisions: Sequence[Mapping[str, Any]],
    in_settings: Mapping[str, Sequence[str]],
) -> None:
    """Bring what counts up to the rows and decisions of the lake, inside a transaction.

    Parameters
    ----------
    connection : duckdb.DuckDBPyConnection
        The writer's database.
    batches : sequence of int
        Loads whose rows were just inserted.
    decisions : sequence of mapping
        All decisions of the lake, oldest first.
    in_settings : mapping of str to sequence of str
        Other names by player, as the settings state them.
    """
    known = connection.execute("SELECT count(*) FROM ledger.decisions").fetchall()[0][0]
    insert_decisions(connection, decisions, known)
    removed = _remove_earlier_readings(connection, batches)
    renamed = _note_names(connection, other_names(in_settings, decisions), move_targets(decisions))
    exports = _exports_of(connection, batches)
    arranged = arranged_players(connection, known)
    others = renamed | removed | arranged
    met = note_same_shots(connection, exports, sorted(renamed | arranged))
    ranked_anew = note_versions(connection, decisions, batches, known)
    changed = others | _players_of(connection, exports)
    if met or ranked_anew or others:
        changed |= note_replaced(connection, None if ranked_anew or others else exports)
    if changed:
        changed |= place_shots(connection, changed)
    _note_what_counts(connection, changed | note_decided(connection))


def names_differ(connection: DuckDBPyConnection, others: Mapping[str, str]) -> bool:
    """Whether other names stand for players than those by which the database was made."""
    rows = connection.execute("SELECT said, player FROM ledger.player_names ORDER BY place")
    known = {str(reported): str(player) for reported, player in rows.fetchall()}
    return resolved_names(list(known), others) != known


def _remove_earlier_readings(connection: DuckDBPyConnection, batches: Sequence[int]) -> set[str]:
    """Remove the rows of exports that were read again since; the players whose they were."""
    connection.execute(_DROP_REREAD, [list(batches)])
    if not connection.execute("SELECT count(*) FROM read_again").fetchall()[0][0]:
        return set()
    earlier = _EARLIER.format(table="shots")
    players = connection.execute(f"SELECT DISTINCT player FROM ledger.shots WHERE {earlier}")
    names = [str(row[0]) for row in players.fetchall()]
    placed = []
    if names:
        placed = connection.execute(
            "DELETE FROM ledger.placed_shots WHERE shot_id IN "
            f"(SELECT shot_id FROM ledger.shots WHERE {earlier}) RETURNING player"
        ).fetchall()
        connection.execute(f"DELETE FROM ledger.shots WHERE {earlier}")
    for table in COMPANION_SCHEMAS:
        connection.execute(f"DELETE FROM ledger.{table} WHERE {_EARLIER.format(table=table)}")
    rows = connection.execute(
        "SELECT player FROM ledger.player_names WHERE list_contains($1, said)", [names]
    ).fetchall()
    return {str(row[0]) for row in [*rows, *placed]}


def _note_names(
    connection: DuckDBPyConnection, others: Mapping[str, str], targets: Sequence[str]
) -> set[str]:
    """Note the player of every name that was said; the players whom that changes.

    Names to whom sessions were moved come last, since no export may say them.
    """
    import polars as pl

    rows = connection.execute("SELECT said, player FROM ledger.player_names").fetchall()
    before = {str(reported): str(player) for reported, player in rows}
    reported = [str(row[0]) for row in connection.execute(_REPORTED_PLAYERS).fetchall()]
    now = resolved_names(list(dict.fromkeys([*reported, *targets])), others)
    if now == before:
        return set()
    connection.execute("DELETE FROM ledger.player_names")
    names = pl.DataFrame(
        [(place, *pair) for place, pair in enumerate(now.items())],
        schema={"place": pl.Int32, "said": pl.String, "player": pl.String}, orient="row",
    )  # fmt: skip
    connection.execute("INSERT INTO ledger.player_names SELECT said, player, place FROM names")
    del names
    both = ((before[name], now[name]) for name in before if name in now)
    return {player for pair in both if pair[0] != pair[1] for player in pair}


def _exports_of(connection: DuckDBPyConnection, batches: Sequence[int]) -> list[str]:
    rows = connection.execute(
        "SELECT DISTINCT source_file FROM ledger.shots WHERE list_contains($1, batch) ORDER BY ALL",
        [list(batches)],
    ).fetchall()
    return [str(row[0]) for row in rows]


def _players_of(connection: DuckDBPyConnection, exports: Sequence[str]) -> set[str]:
    rows = connection.execute(
        "SELECT DISTINCT n.player FROM ledger.shots AS s "
        "INNER JOIN ledger.player_names AS n ON n.said = s.player "
        "WHERE list_contains($1, s.source_file) "
        "UNION SELECT p.player FROM ledger.shots AS s "
        "INNER JOIN ledger.placed_shots AS p ON p.shot_id = s.shot_id "
        "WHERE list_contains($1, s.source_file)",
        [list(exports)],
    ).fetchall()
    return {str(row[0]) for row in rows}


# What the fits of a player are made from, in one number: equal shots and decisions, equal fits.
# A hash of several values joins theirs by exclusive or, so that what is the same in an even number
# of rows, such as being left out, would cancel out over the rows; hashed once more it does not.
_FINGERPRINT = f"""
    INSERT INTO ledger.counted_players
    SELECT c.player, max(c.batch), count(*),
           bit_xor(hash(hash(
               c.shot_id, c.session_id, c.shot_number, c.struck_at, c.club, c.swing, c.ball,
               c.surface, c.flight_basis, c.monitor, c.wind_height,
               {", ".join(f"c.{n}" for n in NUMBERS)},
               coalesce(d.excluded, false), CASE WHEN c.club = 'putter' THEN c.extras END
           )))
    FROM ledger.counted_shots AS c
    LEFT JOIN ledger.current_decisions AS d ON d.session_id = c.session_id
    WHERE list_contains($1, c.player) GROUP BY c.player"""


def _note_what_counts(connection: DuckDBPyConnection, players: set[str]) -> None:
    """Note for some players what their fits are to be made from."""
    chosen = [sorted(players)]
    connection.execute("DELETE FROM ledger.counted_players WHERE list_contains($1, player)", chosen)
    connection.execute(_FINGERPRINT, chosen)
