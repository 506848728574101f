"""Sessions that the user left out or took back, whatever has become of their shots since.

A decision holds the shots that the session had, not its name alone: so it follows them into a
corrected export, under another name of the player, another time zone, and into a longer session.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any, Final

if TYPE_CHECKING:
    from duckdb import DuckDBPyConnection

SESSION: Final = "session"

# A decision of an earlier version names the session alone, as the exports' own reading did.
_OF_NAME = """
    INSERT INTO ledger.decided_shots
    SELECT d.decision, s.shot_id FROM ledger.decisions AS d
    INNER JOIN ledger.shots AS s ON s.session_id = d.session_id
    WHERE list_contains($1, d.decision)"""
_CURRENT = """
    CREATE OR REPLACE TEMP TABLE decided AS
    WITH touched AS (
        SELECT c.session_id, max(t.decision) AS decision
        FROM ledger.decisions AS said
        INNER JOIN ledger.decided_shots AS t ON t.decision = said.decision
        LEFT JOIN ledger.replaced_shots AS r ON r.shot_id = t.shot_id
        INNER JOIN ledger.counted_shots AS c ON c.shot_id = coalesce(r.by_shot, t.shot_id)
        WHERE said.kind = 'session'
        GROUP BY c.session_id
    )
    SELECT t.session_id, d.excluded, d.why, d.decided_at
    FROM touched AS t INNER JOIN ledger.decisions AS d ON d.decision = t.decision"""
_CHANGED = """
    WITH changed AS (
        (FROM decided EXCEPT FROM ledger.current_decisions)
        UNION ALL (FROM ledger.current_decisions EXCEPT FROM decided)
    )
    SELECT DISTINCT c.player FROM ledger.counted_shots AS c
    WHERE c.session_id IN (SELECT session_id FROM changed)"""


def insert_decisions(
    connection: DuckDBPyConnection, decisions: Sequence[Mapping[str, Any]], known: int
) -> None:
    """Insert the decisions of the lake that the database lacks.

    Call it before rows that were read again later are removed: an old decision may mean them.

    Parameters
    ----------
    connection : duckdb.DuckDBPyConnection
    decisions : sequence of mapping
        All decisions, oldest first.
    known : int
        How many the database has.
    """
    by_name = []
    for number, decision in enumerate(decisions[known:], start=known + 1):
        kind = str(decision.get("kind", SESSION))
        details = json.dumps(decision, ensure_ascii=False)
        connection.execute(
            "INSERT INTO ledger.decisions VALUES (?, ?, ?, ?, ?, ?, ?)",
            [number, kind, decision.get("session_id"), decision.get("excluded"),
             decision.get("why", ""), decision["decided_at"], details],
        )  # fmt: skip
        if "shots" in decision:
            connection.execute(
                "INSERT INTO ledger.decided_shots SELECT ?, unnest(?)",
                [number, list(decision["shots"])],
            )
        elif kind == SESSION:
            by_name.append(number)
    if by_name:
        connection.execute(_OF_NAME, [by_name])


def note_decided(connection: DuckDBPyConnection) -> set[str]:
    """Note the latest decision about each session that has one, by the shots it has now.

    Returns
    -------
    set of str
        Players for whose sessions that changed something.
    """
    connection.execute(_CURRENT)
    players = {str(row[0]) for row in connection.execute(_CHANGED).fetchall()}
    connection.execute("DELETE FROM ledger.current_decisions")
    connection.execute("INSERT INTO ledger.current_decisions FROM decided ORDER BY session_id")
    return players


def shots_of_session(connection: DuckDBPyConnection, session_id: str) -> list[str]:
    """Shots of a session, with those that they replace, sorted; empty where there is none."""
    rows = connection.execute(
        """
        WITH counted AS (SELECT shot_id FROM ledger.counted_shots WHERE session_id = $1)
        SELECT shot_id FROM counted
        UNION SELECT r.shot_id FROM ledger.replaced_shots AS r
            WHERE r.by_shot IN (SELECT shot_id FROM counted)
        ORDER BY ALL""",
        [session_id],
    ).fetchall()
    return [str(row[0]) for row in rows]
