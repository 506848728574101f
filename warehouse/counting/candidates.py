"""Rows of different exports that may be one shot, found without comparing all with all.

A time zone moves all times of an export by whole quarters of an hour, so two rows with a time can
be one shot only if they share the minute of the quarter and are at most a day and two hours apart.
Rows without a time, or with a day alone, are met by their carry or ball speed.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Final

from rangeledger.warehouse.counting.player_names import UNKNOWN
from rangeledger.warehouse.counting.print_steps import MEASURED

if TYPE_CHECKING:
    import polars as pl
    from duckdb import DuckDBPyConnection

# Zones reach from 12 h behind UTC to 14 h before it (IANA time zone database).
_FARTHEST_S: Final = 26 * 3600
# A day alone is a midnight of some zone, and its shots follow within the day.
_FARTHEST_DAY_S: Final = _FARTHEST_S + 24 * 3600
# Twice the coarsest printing: whole yards beside whole metres, whole miles beside whole metres.
_CELL: Final = {"carry_m": 2.0, "ball_speed_mps": 1.5}
# What two coarse printings of one value may lie apart: half of each step of `print_steps`.
_FARTHEST: Final = {"carry_m": 1.0, "ball_speed_mps": 0.75, "launch_angle_deg": 1.0,
                    "spin_rate_rpm": 100.0}  # fmt: skip

# Shots that the user moved may be given again by an export that names either player.
_MAKE_MOVED = """
    CREATE OR REPLACE TEMP TABLE moved_shots AS
    WITH decided AS (
        SELECT t.shot_id, arg_max({goes: d.details ->> '$.to'}, d.decision).goes AS goes
        FROM ledger.decisions AS d
        INNER JOIN ledger.decided_shots AS t ON t.decision = d.decision
        WHERE d.kind = 'move' GROUP BY t.shot_id
    )
    SELECT d.shot_id, n.player
    FROM decided AS d INNER JOIN ledger.player_names AS n ON n.said = d.goes"""
# Names under which rows may be one shot with those that are asked about.
_MAKE_ASKED = f"""
    CREATE OR REPLACE TEMP TABLE asked AS
    WITH players AS (
        SELECT player FROM ledger.player_names
        WHERE list_contains($2, player) OR said IN (
            SELECT player FROM ledger.shots WHERE source_file IN (SELECT unnest($1)))
    )
    SELECT said, player, player IN (FROM players) AS is_asked
    FROM ledger.player_names WHERE player = '{UNKNOWN}' OR player IN (FROM players)"""
# Whose rows are compared: all, where a row that is asked about names nobody. Each condition is as
# short as it can be, so that the rows of the others are hardly read.
_EVERYBODYS, _THEIRS = "true", "player IN (SELECT said FROM asked)"
_OR_MOVED = f"""{_THEIRS} OR shot_id IN (
    SELECT shot_id FROM moved_shots WHERE player IN (SELECT player FROM asked WHERE is_asked))"""
_MAKE_COMPARED = f"""
    CREATE OR REPLACE TEMP TABLE told AS
    WITH whose AS (SELECT * FROM ledger.shots WHERE {{whose}})
    SELECT s.shot_id, s.source_file, n.player, s.shot_number, s.source_row,
           list_contains($2, n.player) OR list_contains($1, s.source_file) AS probes,
           epoch(s.struck_at)::BIGINT AS at_s, epoch_ms(s.struck_at) % 60000 AS in_minute_ms,
           -- All shots of a visit at one quarter of an hour: its day or start, not their times.
           at_s IS NULL OR at_s % 900 = 0
               AND count(*) OVER visit > 1
               AND min(s.struck_at) OVER visit = max(s.struck_at) OVER visit AS untimed,
           false AS again,
           {", ".join(f"s.{name}" for name in MEASURED)}
    FROM whose AS s
    INNER JOIN ledger.player_names AS n ON n.said = s.player
    WHERE $3 IS NULL OR (s.source_file, s.session_id) IN (
        SELECT (source_file, session_id) FROM whose
        WHERE struck_at IS NULL OR epoch(struck_at) BETWEEN $3 AND $4
    )
    WINDOW visit AS (PARTITION BY s.source_file, s.session_id)"""
_TOLD_OF_BOTH = """
    INSERT INTO told
    SELECT t.* REPLACE (m.player AS player, true AS again)
    FROM told AS t INNER JOIN moved_shots AS m ON m.shot_id = t.shot_id AND m.player <> t.player"""
# Between which times [s since 1970] a row with a time must lie to be one shot with a row that is
# asked about; no bounds where one of these has no time. And whether one of an export names nobody.
_BOUNDS = f"""
    SELECT epoch(min(s.struck_at)) - {_FARTHEST_DAY_S}, epoch(max(s.struck_at)) + {_FARTHEST_DAY_S},
           bool_or(s.struck_at IS NULL),
           bool_or(s.player = '{UNKNOWN}' AND list_contains($1, s.source_file))
    FROM ledger.shots AS s
    INNER JOIN ledger.player_names AS n ON n.said = s.player
    WHERE list_contains($2, n.player) OR list_contains($1, s.source_file)"""
# Each a join by equal keys: with all three in one condition every row would meet every other.
_PLAYERS = (
    "b.player = a.player",
    f"a.player = '{UNKNOWN}' AND b.player <> '{UNKNOWN}'",
    f"b.player = '{UNKNOWN}' AND a.player <> '{UNKNOWN}'",
)
# Of the quantities that most exports have at most one may be another, as when it was corrected.
_NEAR = " + ".join(
    f"coalesce((abs(a.{name} - b.{name}) > {most})::INTEGER, 0)" for name, most in _FARTHEST.items()
)


def _by_time(players: str) -> str:
    """SQL for pairs with times that a time zone may have moved apart."""
    return f"""
    SELECT a.shot_id AS one, b.shot_id AS other
    FROM (SELECT *, unnest([-1, 0, 1]) AS step FROM told WHERE probes AND NOT untimed) AS a
    INNER JOIN (SELECT * FROM told WHERE NOT untimed) AS b
        ON {players} AND (b.at_s // 60) % 15 = (a.at_s // 60) % 15
        AND b.at_s // {_FARTHEST_S} = a.at_s // {_FARTHEST_S} + a.step
    WHERE b.source_file <> a.source_file AND {_NEAR} <= 1
        AND abs(a.at_s - b.at_s) <= {_FARTHEST_S}
        -- To the second where both say it; a time to the minute leaves the seconds out.
        AND (a.in_minute_ms = b.in_minute_ms OR a.in_minute_ms = 0 OR b.in_minute_ms = 0
             OR a.in_minute_ms // 1000 = b.in_minute_ms // 1000
                 AND (a.in_minute_ms % 1000 = 0 OR b.in_minute_ms % 1000 = 0))"""


def _by_cell(name: str, players: str, one: str, other: str, instead_of: str = "") -> str:
    """SQL for pairs without times that lie near each other in a quantity."""
    cell = _CELL[name]
    absent = f"AND (a.{instead_of} IS NULL OR b.{instead_of} IS NULL)" if instead_of else ""
    return f"""
    SELECT a.shot_id AS one, b.shot_id AS other
    FROM (SELECT *, unnest([-1, 0, 1]) AS step FROM told WHERE probes AND {one}) AS a
    INNER JOIN (SELECT * FROM told WHERE {other}) AS b
        ON {players} AND floor(b.{name} / {cell}) = floor(a.{name} / {cell}) + a.step
    WHERE b.source_file <> a.source_file AND {_NEAR} = 0 {absent}
        AND coalesce(abs(a.at_s - b.at_s) <= {_FARTHEST_DAY_S}, true)"""


_NONE = "SELECT '' AS one, '' AS other WHERE false"
# Which of the parts below can have rows at all: planning a join costs as much as a small one.
_THERE_ARE = f"""
    SELECT bool_or(player = '{UNKNOWN}'), bool_or(player <> '{UNKNOWN}'),
           bool_or(untimed), bool_or(probes AND untimed), bool_or(probes AND NOT untimed)
    FROM told"""


def _parts(connection: DuckDBPyConnection) -> list[str]:
    """SQL for the pairs that there may be among the rows told."""
    row = connection.execute(_THERE_ARE).fetchall()[0]
    unknown, has_named, untimed, probes_untimed, probes_timed = map(bool, row)
    parts = []
    for players in _PLAYERS if unknown and has_named else _PLAYERS[:1]:
        if probes_timed:
            parts.append(_by_time(players))
        for one, other, is_there in (
            ("untimed", "true", probes_untimed),
            ("NOT untimed", "untimed", probes_timed and untimed),
        ):
            if is_there:
                parts.append(_by_cell("carry_m", players, one, other))
                parts.append(_by_cell("ball_speed_mps", players, one, other, instead_of="carry_m"))
    return parts


def _pairs(parts: Sequence[str]) -> str:
    return f"""
    WITH pairs AS (
        SELECT DISTINCT least(one, other) AS one, greatest(one, other) AS other
        FROM ({" UNION ALL ".join(parts)})
    )
    SELECT pairs.one, pairs.other, a.source_file AS one_file, b.source_file AS other_file,
           NOT a.untimed AND NOT b.untimed AS timed,
           abs(a.at_s - b.at_s) AS apart_s,
           a.source_row AS one_row, b.source_row AS other_row,
           {", ".join(f"a.{n} AS one_{n}, b.{n} AS other_{n}" for n in MEASURED)}
    FROM pairs
    INNER JOIN told AS a ON a.shot_id = pairs.one AND NOT a.again
    INNER JOIN told AS b ON b.shot_id = pairs.other AND NOT b.again
    ORDER BY one, other"""


def candidates(
    connection: DuckDBPyConnection, exports: Sequence[str], players: Sequence[str]
) -> pl.DataFrame:
    """Pairs of rows of different exports that may be one shot.

    Parameters
    ----------
    connection : duckdb.DuckDBPyConnection
        The writer's database.
    exports : sequence of str
        Content hashes of exports whose rows are held against all others.
    players : sequence of str
        Players all of whose rows are.

    Returns
    -------
    polars.DataFrame
        `one`, `other` (the lesser shot_id first), `one_file`, `other_file`, whether both are
        `timed`, `apart_s`, their lines, and the measured quantities of both.
    """
    parameters = [list(exports), list(players)]
    first, last, untold, nobodys = connection.execute(_BOUNDS, parameters).fetchall()[0]
    connection.execute(_MAKE_ASKED, parameters)
    connection.execute(_MAKE_MOVED)
    is_moved = connection.execute("SELECT count(*) FROM moved_shots").fetchall()[0][0]
    whose = _EVERYBODYS if nobodys else _OR_MOVED if is_moved else _THEIRS
    bounds = (None, None) if untold else (first, last)
    connection.execute(_MAKE_COMPARED.format(whose=whose), [*parameters, *bounds])
    connection.execute(_TOLD_OF_BOTH)
    return connection.execute(_pairs(_parts(connection) or [_NONE])).pl()
