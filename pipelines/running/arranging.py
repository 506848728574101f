"""Whose a visit was, and what is one visit, as a user decides: sessions moved and merged.

Each decision is a small file of the lake and can be taken back by another one.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from rangeledger.pipelines.loading import load
from rangeledger.pipelines.running import ledger
from rangeledger.pipelines.running.deciding import loaded_export, write
from rangeledger.schemas.errors import UsageError
from rangeledger.schemas.units import counted
from rangeledger.warehouse import database
from rangeledger.warehouse.counting.arranged_visits import MERGE, MOVE
from rangeledger.warehouse.counting.decided_sessions import shots_of_session
from rangeledger.warehouse.counting.player_names import UNKNOWN, fold
from rangeledger.warehouse.home import Home
from rangeledger.warehouse.stores.store import store_of

if TYPE_CHECKING:
    from duckdb import DuckDBPyConnection


class Arranged(NamedTuple):
    """What a decision did: how many shots are now whose, in how many sessions."""

    shots: int
    players: list[str]
    sessions: list[str]
    excluded: bool


def move_session(home: Home, session_id: str, to: str | None) -> Arranged:
    """Let a session be another player's from now on, or take that back.

    Parameters
    ----------
    home : Home
    session_id : str
    to : str or None
        The player; None takes an earlier move back.

    Raises
    ------
    UsageError
        If there is no such session, or it is as wanted already.
    """
    with store_of(home).turn(alone=True):
        load.recover(home)
        with database.open_ledger(home) as connection:
            shots = _shots_of(connection, session_id)
            found = _move(home, connection, shots, f"Session {session_id}", to)
    ledger.fit(home)
    return found


def move_export(home: Home, sought: str, to: str | None) -> Arranged:
    """Let all shots of an export be another player's from now on, or take that back.

    Raises
    ------
    UsageError
        If no export or several are meant, none of its shots counts, or it is as wanted already.
    """
    with store_of(home).turn(alone=True):
        load.recover(home)
        with database.open_ledger(home) as connection:
            export = loaded_export(connection, sought)
            rows = connection.execute(
                "SELECT shot_id FROM ledger.counted_shots WHERE source_file = ? ORDER BY ALL",
                [export.source_file],
            ).fetchall()
            if not rows:
                raise UsageError(f"None of the shots of {export.file_name} counts here.")
            shots = [str(row[0]) for row in rows]
            found = _move(home, connection, shots, export.file_name, to)
    ledger.fit(home)
    return found


def _move(
    home: Home, connection: DuckDBPyConnection, shots: list[str], what: str, to: str | None
) -> Arranged:
    before = _arranged(connection, shots)
    if to is None:
        theirs = connection.execute(
            "SELECT c.shot_id FROM ledger.counted_shots AS c INNER JOIN ledger.arranged_sessions "
            "AS a ON a.player = c.player AND a.session_id = c.session_id "
            "WHERE a.moved AND list_contains($1, c.shot_id)", [shots],
        ).fetchall()  # fmt: skip
        if not theirs:
            raise UsageError(f"{what} was not moved to {_words(before)}; nothing to take back.")
    else:
        to = _player(connection, to)
        if before.players == [to]:
            raise UsageError(f"{what} is {to}'s already.")
    write(home, MOVE, shots=shots, to=to)
    database.catch_up(home, connection)
    after = _arranged(connection, shots)
    return after._replace(players=before.players if to is not None else after.players)


def _player(connection: DuckDBPyConnection, to: str) -> str:
    """A player as the ledger writes the name, or a new one."""
    to = " ".join(to.split())
    if not to or fold(to) == UNKNOWN:
        raise UsageError(f"{to!r} is no name for a player. Give the name in full.")
    rows = connection.execute("SELECT said, player FROM ledger.player_names ORDER BY place")
    known = {fold(name): str(player) for said, player in rows.fetchall() for name in (said, player)}
    return known.get(fold(to), to)


def merge(home: Home, session_id: str, other_id: str) -> Arranged:
    """Let two sessions of a player be one visit from now on.

    What is left out of either stays out, so that then the whole visit is.

    Raises
    ------
    UsageError
        If one is not there, both are one, or they are two players'.
    """
    with store_of(home).turn(alone=True):
        load.recover(home)
        with database.open_ledger(home) as connection:
            if session_id == other_id:
                raise UsageError(f"{session_id} is one session already. Name two.")
            shots = _shots_of(connection, session_id) + _shots_of(connection, other_id)
            players = _arranged(connection, shots).players
            if len(players) > 1:
                raise UsageError(
                    f"These are sessions of {' and '.join(players)}. Move one first: "
                    "rangeledger move SESSION --to PLAYER"
                )
            write(home, MERGE, shots=sorted(shots), merged=True)
            database.catch_up(home, connection)
            found = _arranged(connection, shots)
    ledger.fit(home)
    return found


def part(home: Home, session_id: str) -> Arranged:
    """Let the visits that were merged to a session be several again.

    Raises
    ------
    UsageError
        If there is no such session, or it was not merged.
    """
    with store_of(home).turn(alone=True):
        load.recover(home)
        with database.open_ledger(home) as connection:
            shots = _shots_of(connection, session_id)
            rows = connection.execute(
                "SELECT 1 FROM sessions WHERE session_id = ? AND merged > 1", [session_id]
            ).fetchall()
            if not rows:
                raise UsageError(f"Session {session_id} was not merged; nothing to take back.")
            write(home, MERGE, shots=shots, merged=False)
            database.catch_up(home, connection)
            found = _arranged(connection, shots)
    ledger.fit(home)
    return found


def _shots_of(connection: DuckDBPyConnection, session_id: str) -> list[str]:
    shots = shots_of_session(connection, session_id)
    if not shots:
        raise UsageError(
            f"There is no session {session_id}. The view sessions lists them with player and start."
        )
    return shots


def _arranged(connection: DuckDBPyConnection, shots: list[str]) -> Arranged:
    """Whose some shots are now, in which sessions."""
    row = connection.execute(
        "SELECT count(*), list(DISTINCT c.player ORDER BY c.player), "
        "list(DISTINCT c.session_id ORDER BY c.session_id), "
        "coalesce(bool_or(d.excluded), false) "
        "FROM ledger.counted_shots AS c "
        "LEFT JOIN ledger.current_decisions AS d ON d.session_id = c.session_id "
        "WHERE list_contains($1, c.shot_id)", [shots],
    ).fetchall()[0]  # fmt: skip
    return Arranged(int(row[0]), list(row[1] or []), list(row[2] or []), bool(row[3]))


def _words(found: Arranged) -> str:
    return " and ".join(found.players)


def told(found: Arranged) -> str:
    """How many shots and sessions that is, in words."""
    return f"{counted(found.shots, 'shot')} in {counted(len(found.sessions), 'session')}"
