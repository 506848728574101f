"""Sessions that the user moved to another player, or merged into one visit.

A decision holds the shots that the session had, so it follows them into a corrected or longer
export, a rebuild and another zone. What was moved is what one export holds of a visit: another
export of the same hours stays with the player whom it names.
"""

from __future__ import annotations

import json
from collections.abc import Collection, Iterable, Mapping
from typing import TYPE_CHECKING, Any, Final

if TYPE_CHECKING:
    from duckdb import DuckDBPyConnection

MOVE: Final = "move"
MERGE: Final = "merge"

# Whom shots that somebody moved are said to be of, and whom they were ever moved to.
_LINKS = """
    SELECT DISTINCT n.player, g.player
    FROM ledger.decisions AS d
    INNER JOIN ledger.decided_shots AS t ON t.decision = d.decision
    INNER JOIN ledger.shots AS s ON s.shot_id = t.shot_id
    INNER JOIN ledger.player_names AS n ON n.said = s.player
    LEFT JOIN ledger.player_names AS g ON g.said = (d.details ->> '$.to')
    WHERE d.kind = 'move'
    UNION SELECT DISTINCT n.player, p.player
    FROM ledger.decisions AS d
    INNER JOIN ledger.decided_shots AS t ON t.decision = d.decision
    INNER JOIN ledger.placed_shots AS p ON p.shot_id = t.shot_id
    INNER JOIN ledger.shots AS s ON s.shot_id = t.shot_id
    INNER JOIN ledger.player_names AS n ON n.said = s.player
    WHERE d.kind = 'move'"""
_PLAYERS = """
    WITH shots AS (
        SELECT DISTINCT coalesce(r.by_shot, t.shot_id) AS shot_id
        FROM ledger.decisions AS d
        INNER JOIN ledger.decided_shots AS t ON t.decision = d.decision
        LEFT JOIN ledger.replaced_shots AS r ON r.shot_id = t.shot_id
        WHERE d.decision > $1 AND d.kind IN ('move', 'merge')
    )
    SELECT n.player FROM shots
    INNER JOIN ledger.shots AS s ON s.shot_id = shots.shot_id
    INNER JOIN ledger.player_names AS n ON n.said = s.player
    UNION SELECT p.player FROM shots
    INNER JOIN ledger.placed_shots AS p ON p.shot_id = shots.shot_id
    UNION SELECT n.player FROM ledger.decisions AS d
    INNER JOIN ledger.player_names AS n ON n.said = (d.details ->> '$.to')
    WHERE d.decision > $1 AND d.kind = 'move'"""
# The last decision on each part of a visit; NULL where its move was taken back.
_MOVED = """
    CREATE OR REPLACE TEMP TABLE moved_parts AS
    WITH decided AS (
        SELECT coalesce(r.by_shot, t.shot_id) AS shot_id, d.decision, d.details ->> '$.to' AS goes
        FROM ledger.decisions AS d
        INNER JOIN ledger.decided_shots AS t ON t.decision = d.decision
        LEFT JOIN ledger.replaced_shots AS r ON r.shot_id = t.shot_id
        WHERE d.kind = 'move'
    ),
    parts AS (
        SELECT b.player, b.visit, b.source_file, CASE WHEN b.visit IS NULL THEN b.own END AS own,
               arg_max({goes: d.goes}, d.decision).goes AS goes
        FROM decided AS d INNER JOIN numbered AS b ON b.shot_id = d.shot_id
        GROUP BY ALL
    )
    SELECT b.shot_id, n.player AS goes
    FROM parts AS p
    INNER JOIN ledger.player_names AS n ON n.said = p.goes AND n.player <> p.player
    INNER JOIN numbered AS b ON b.player = p.player AND b.source_file = p.source_file
        AND b.visit IS NOT DISTINCT FROM p.visit AND (b.visit IS NOT NULL OR b.own = p.own)"""
# An export's own session of which a part was moved can't name both parts.
_MOVE = """
    UPDATE base SET player = m.goes, moved = true
    FROM moved_parts AS m WHERE m.shot_id = base.shot_id;
    UPDATE base SET parted = true
    WHERE moved AND own IN (SELECT own FROM base WHERE NOT moved)"""
# Visits that each merging touches, of one player.
_TOUCHED = """
    SELECT t.decision, b.player, b.visit, CASE WHEN b.visit IS NULL THEN b.own END AS own
    FROM ledger.decided_shots AS t
    LEFT JOIN ledger.replaced_shots AS r ON r.shot_id = t.shot_id
    INNER JOIN numbered AS b ON b.shot_id = coalesce(r.by_shot, t.shot_id)
    WHERE list_contains($1, t.decision) GROUP BY ALL ORDER BY ALL"""
_MERGE = """
    UPDATE numbered SET visit = m.becomes
    FROM merged_visits AS m
    WHERE m.player = numbered.player AND m.visit IS NOT DISTINCT FROM numbered.visit
        AND (m.visit IS NOT NULL OR m.own = numbered.own)"""
_ARRANGED = """
    INSERT INTO ledger.arranged_sessions
    WITH joined AS (
        SELECT player, becomes, count(*) AS parts FROM merged_visits GROUP BY ALL
    )
    SELECT p.player, p.session_id, bool_or(p.moved), coalesce(max(j.parts), 1)
    FROM placed AS p
    INNER JOIN numbered AS n ON n.shot_id = p.shot_id
    LEFT JOIN joined AS j ON j.player = n.player AND j.becomes = n.visit
    GROUP BY p.player, p.session_id
    HAVING bool_or(p.moved) OR max(j.parts) > 1
    ORDER BY ALL"""


def move_targets(decisions: Iterable[Mapping[str, Any]]) -> list[str]:
    """Players to whom sessions are moved by decisions of which none was taken back.

    Parameters
    ----------
    decisions : iterable of mapping
        All decisions of the lake, oldest first; those of kind `move` hold `shots` and `to`, which
        is None where a move was taken back.
    """
    last: dict[str, str | None] = {}
    for decision in decisions:
        if decision.get("kind") == MOVE:
            last |= dict.fromkeys(decision["shots"], decision["to"])
    return list(dict.fromkeys(to for to in last.values() if to is not None))


def arranged_players(connection: DuckDBPyConnection, known: int) -> set[str]:
    """Players whose sessions are moved or merged by decisions after the one with a number."""
    return {str(row[0]) for row in connection.execute(_PLAYERS, [known]).fetchall()}


def linked_players(connection: DuckDBPyConnection, players: Collection[str]) -> set[str]:
    """Some players and all to whom or from whom sessions of theirs were moved, also over others."""
    rows = connection.execute(_LINKS).fetchall()
    links = [{str(one), str(other)} for one, other in rows if other is not None]
    found, before = set(players), -1
    while len(found) != before:
        before = len(found)
        found |= {player for link in links if link & found for player in link}
    return found


def move_visits(connection: DuckDBPyConnection) -> bool:
    """Give the shots of `base` that were moved their player; whether there are any."""
    connection.execute(_MOVED)
    if not connection.execute("SELECT count(*) FROM moved_parts").fetchall()[0][0]:
        return False
    connection.execute(_MOVE)
    return True


def merge_visits(connection: DuckDBPyConnection) -> None:
    """Give visits of `numbered` that the user merged one number."""
    import polars as pl

    rows = connection.execute(_TOUCHED, [_merging(connection)]).fetchall()
    visits = _joined(rows)
    merged = pl.DataFrame(
        [(*visit, becomes) for visit, becomes in visits.items()],
        schema={"player": pl.String, "visit": pl.Int64, "own": pl.String, "becomes": pl.Int64},
        orient="row",
    )
    connection.execute("CREATE OR REPLACE TEMP TABLE merged_visits AS SELECT * FROM merged")
    if merged.height:
        connection.execute(_MERGE)
    del merged


def _merging(connection: DuckDBPyConnection) -> list[int]:
    """Decisions that merge sessions and were not taken back since, by the shots they hold."""
    rows = connection.execute(
        "SELECT decision, details FROM ledger.decisions WHERE kind = 'merge' ORDER BY decision"
    ).fetchall()
    holding: dict[int, set[str]] = {}
    for number, text in rows:
        decision = json.loads(text)
        shots = set(decision["shots"])
        if decision["merged"]:
            holding[int(number)] = shots
        else:
            holding = {n: held for n, held in holding.items() if not held & shots}
    return list(holding)


_Visit = tuple[str, int | None, str | None]


def _joined(rows: Iterable[tuple[int, str, int | None, str | None]]) -> dict[_Visit, int]:
    """The number that each merged visit takes; visits of two mergings that share one are one."""
    groups: list[set[_Visit]] = []
    of_decision: dict[tuple[int, str], set[_Visit]] = {}
    for decision, player, visit, own in rows:
        of_decision.setdefault((decision, player), set()).add((player, visit, own))
    for group in of_decision.values():
        touching = [known for known in groups if known & group]
        groups = [known for known in groups if known not in touching]
        groups.append(group.union(*touching))
    found: dict[_Visit, int] = {}
    for place, group in enumerate((g for g in groups if len(g) > 1), start=1):
        timed = [visit for _, visit, _ in group if visit is not None]
        found |= dict.fromkeys(group, min(timed, default=-place))
    return found


def note_arranged(connection: DuckDBPyConnection, players: Collection[str]) -> None:
    """Note which sessions of some players were moved to them, or merged of several."""
    connection.execute(
        "DELETE FROM ledger.arranged_sessions WHERE list_contains($1, player)", [sorted(players)]
    )
    connection.execute(_ARRANGED)
