"""What a user decides about what is loaded: sessions and exports left out, exports preferred,
players renamed.

Each decision is a small file of the lake, so that it holds after a rebuild, and can be taken back
by another one.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any, NamedTuple

from rangeledger.pipelines.loading import load
from rangeledger.pipelines.running import ledger
from rangeledger.schemas.errors import UsageError
from rangeledger.warehouse import database, lake
from rangeledger.warehouse.counting.changes import Replacement, replacements
from rangeledger.warehouse.counting.decided_sessions import SESSION, shots_of_session
from rangeledger.warehouse.counting.player_names import RENAME, UNKNOWN, fold, other_names
from rangeledger.warehouse.counting.versions import PREFER, TAKEN_OUT, taken_out
from rangeledger.warehouse.home import Home
from rangeledger.warehouse.settings import read_other_names
from rangeledger.warehouse.stores.store import store_of

if TYPE_CHECKING:
    from duckdb import DuckDBPyConnection

_MOST_LISTED = 5


class LoadedExport(NamedTuple):
    """An export that was loaded: what identifies it and what it is called."""

    source_file: str
    file_name: str
    offered_at: datetime
    shots: int


def write(home: Home, kind: str, **fields: Any) -> None:
    """Add a decision of a kind to the lake, with its time."""
    decided_at = datetime.now(UTC).replace(tzinfo=None).isoformat(timespec="milliseconds")
    store_of(home).write_decision({"kind": kind, **fields, "decided_at": decided_at})


def decide(home: Home, session_id: str, *, excluded: bool, why: str = "") -> list[str]:
    """Leave a session out of the fits, or take it back; its shots stay as they are.

    The decision holds the session's shots, so that it follows them into a corrected export, under
    another name, into a session that other exports lengthen.

    Raises
    ------
    UsageError
        If there is no such session.
    """
    with store_of(home).turn(alone=True):
        load.recover(home)
        with database.open_ledger(home) as connection:
            shots = shots_of_session(connection, session_id)
        if not shots:
            raise UsageError(
                f"There is no session {session_id}. "
                "The view sessions lists them with player and start."
            )
        write(home, SESSION, session_id=session_id, shots=shots, excluded=excluded, why=why)
    return ledger.fit(home)


def prefer(home: Home, sought: str) -> tuple[LoadedExport, list[Replacement]]:
    """Let one of several exports of the same shots count, whichever is newer.

    Parameters
    ----------
    home : Home
    sought : str
        Name of the export, or the beginning of its content hash.

    Returns
    -------
    export : LoadedExport
    again : list of Replacement
        The shots that count as in it from now on, and how it tells of them.

    Raises
    ------
    UsageError
        If no export or several are meant, or no other holds its shots.
    """
    with store_of(home).turn(alone=True):
        load.recover(home)
        with database.open_ledger(home) as connection:
            export = loaded_export(connection, sought)
            over = _sharing(connection, export.source_file)
            if not over:
                raise UsageError(
                    f"No other export holds shots of {export.file_name}: they count as they are."
                )
            write(home, PREFER, source_file=export.source_file, over=over)
            database.catch_up(home, connection)
            replaced = replacements(connection, [export.source_file])
    ledger.fit(home)
    return export, [one for one in replaced if one.later_file == export.source_file]


def take_out(home: Home, sought: str, *, excluded: bool, why: str = "") -> tuple[LoadedExport, int]:
    """Take a loaded export out again, so that nothing of it counts, or take that back.

    Its original and its rows stay. Shots that it gave again count as in the older export then;
    decisions about sessions hold when it is taken back.

    Parameters
    ----------
    home : Home
    sought : str
        Name of the export, or the beginning of its content hash.
    excluded : bool
        Whether nothing of it counts from now on.
    why : str
        The user's reason, kept with the decision.

    Returns
    -------
    export : LoadedExport
    shots : int
        How many fewer shots count now than before, or more.

    Raises
    ------
    UsageError
        If no export or several are meant, or it is as wanted already.
    """
    with store_of(home).turn(alone=True):
        load.recover(home)
        with database.open_ledger(home) as connection:
            export = loaded_export(connection, sought)
            if (export.source_file in taken_out(lake.read_decisions(home))) == excluded:
                state = "is taken out already" if excluded else "counts already"
                raise UsageError(f"{export.file_name} {state}.")
            before = _counted(connection)
            write(home, TAKEN_OUT, source_file=export.source_file, excluded=excluded, why=why)
            database.catch_up(home, connection)
            shots = abs(_counted(connection) - before)
    ledger.fit(home)
    return export, shots


def _counted(connection: DuckDBPyConnection) -> int:
    return int(connection.execute("SELECT count(*) FROM ledger.counted_shots").fetchall()[0][0])


def _sharing(connection: DuckDBPyConnection, source_file: str) -> list[str]:
    rows = connection.execute(
        "SELECT other_file FROM ledger.same_shots WHERE one_file = $1 "
        "UNION SELECT one_file FROM ledger.same_shots WHERE other_file = $1 ORDER BY ALL",
        [source_file],
    ).fetchall()
    return [str(row[0]) for row in rows]


def loaded_export(connection: DuckDBPyConnection, sought: str) -> LoadedExport:
    """The one export that was loaded under a name, or whose content hash begins so.

    Raises
    ------
    UsageError
        If none or several are meant.
    """
    found = loaded_exports(connection, sought)
    if len(found) == 1:
        return found[0]
    if not found:
        raise UsageError(
            f"No export {sought!r} was loaded. The view ingest_log lists them by file_name."
        )
    listed = "; ".join(
        f"{one.source_file[:12]} of {one.offered_at:%Y-%m-%d %H:%M}" for one in found[:_MOST_LISTED]
    )
    more = f" and {len(found) - _MOST_LISTED} more" if len(found) > _MOST_LISTED else ""
    raise UsageError(
        f"Several exports were loaded as {sought!r}: {listed}{more}. "
        "Name one by the beginning of its hash."
    )


def loaded_exports(connection: DuckDBPyConnection, sought: str) -> list[LoadedExport]:
    """Exports that were loaded under a name, or whose content hash begins so, oldest first."""
    rows = connection.execute(
        """
        SELECT o.source_file, arg_max(o.file_name, o.batch), max(b.loaded_at),
               arg_max(o.shots, o.batch)
        FROM ledger.offers AS o INNER JOIN ledger.batches AS b ON b.batch = o.batch
        WHERE starts_with(o.state, 'loaded')
            AND (o.file_name = $1 OR length($1) >= 6 AND starts_with(o.source_file, lower($1)))
        GROUP BY o.source_file ORDER BY 3, 1""",
        [sought],
    ).fetchall()
    return [LoadedExport(*row) for row in rows]


class Renamed(NamedTuple):
    """What a renaming did."""

    player: str
    to: str | None
    shots: int


def rename(home: Home, player: str, to: str | None) -> Renamed:
    """Let a name stand for a player from now on, or take that back.

    Parameters
    ----------
    home : Home
    player : str
        A name as exports or notes write it, whatever its letter case and blanks.
    to : str or None
        The player; None takes an earlier renaming back.

    Raises
    ------
    UsageError
        If no shot is of that name, or the renaming would change nothing.
    """
    with store_of(home).turn(alone=True):
        load.recover(home)
        with database.open_ledger(home) as connection:
            rows = connection.execute("SELECT said, player FROM ledger.player_names ORDER BY place")
            names = {str(name): str(player) for name, player in rows.fetchall()}
            reported = _reported_name(names, player)
            others = other_names(read_other_names(home), lake.read_decisions(home))
            if to is None:
                _refuse_to_undo_nothing(home, reported, others)
            else:
                to = _refuse_no_change(reported, " ".join(to.split()), names)
                if fold(others.get(fold(to), "")) == fold(reported):
                    write(home, RENAME, player=to, to=None)  # the other way round from now on
            write(home, RENAME, player=reported, to=to)
            database.catch_up(home, connection)
            alike = [name for name in names if fold(name) == fold(reported)]
            rows = connection.execute(
                "SELECT count(*) FROM ledger.counted_shots AS c "
                "INNER JOIN ledger.shots AS s ON s.shot_id = c.shot_id "
                "WHERE list_contains($1, s.player)",
                [alike],
            )
            shots = int(rows.fetchall()[0][0])
    ledger.fit(home)
    return Renamed(reported, to, shots)


def _reported_name(names: dict[str, str], player: str) -> str:
    """The name as it is written in the ledger."""
    sought = fold(player)
    found = [reported for reported in names if fold(reported) == sought]
    found = found or [name for name in names.values() if fold(name) == sought]
    if not found or sought == UNKNOWN:
        known = ", ".join(sorted(set(names.values()) - {UNKNOWN})[:_MOST_LISTED])
        raise UsageError(f"No shot is of a player {player!r}. There are: {known or 'none yet'}.")
    return found[0]


def _refuse_to_undo_nothing(home: Home, reported: str, others: dict[str, str]) -> None:
    if fold(reported) not in others:
        raise UsageError(f"{reported!r} stands for no other player; there is nothing to take back.")
    stated: dict[str, Sequence[str]] = dict(read_other_names(home))
    if any(fold(reported) == fold(name) for names in stated.values() for name in names):
        raise UsageError(
            f"{home.settings_file} says under [players] whom {reported!r} stands for. "
            "Take the name out there."
        )


def _refuse_no_change(reported: str, to: str, names: dict[str, str]) -> str:
    if not to or fold(to) == UNKNOWN:
        raise UsageError(f"{to!r} is no name for a player. Give the name in full.")
    if names.get(reported) == to:
        raise UsageError(f"{reported!r} is {to!r} already.")
    return to
