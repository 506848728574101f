"""Shots that a later export gives again: a corrected file, a saved copy, a whole season anew.

The lake keeps every accepted row. Where two exports hold the same shot, it counts once, as in the
export that was loaded last, so that a corrected club, ball or note replaces the former one.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Final

from rangeledger.schemas.columns import CONDITIONS, NUMBERS

if TYPE_CHECKING:
    from duckdb import DuckDBPyConnection

# What the device measured makes a shot the same; club, air and notes may have been corrected.
MEASURED: Final = tuple(name for name in NUMBERS if name not in CONDITIONS)
# So many equal measurements, none of them 0, and an equal time are no chance. With fewer, so many
# shots and this share of the earlier export must come again, with their times. Common practice,
# no source.
SURE_MEASUREMENTS, LEAST_MEASUREMENTS = 4, 2
LEAST_SHARE, LEAST_SHOTS = 0.5, 5

_TIME = "coalesce(struck_at, TIMESTAMP '1970-01-01')"
_KEYED = f"""
    SELECT shots.shot_id, shots.player, shots.batch, offers.shots AS of_export,
           shots.batch * 1000000::BIGINT + offers.place AS load, shots.source_file AS export,
           hash({_TIME}, {", ".join(MEASURED)}) AS key,
           shots.struck_at IS NOT NULL AS timed,
           {" + ".join(f"(coalesce({name}, 0) <> 0)::INTEGER" for name in MEASURED)} AS measured
    FROM ledger.shots AS shots
    INNER JOIN ledger.offers AS offers
        ON offers.batch = shots.batch AND offers.source_file = shots.source_file
        AND starts_with(offers.state, 'loaded')
    WHERE {_TIME} IN (SELECT {_TIME} FROM ledger.shots WHERE batch IN (SELECT unnest($1)))"""
_REPLACED = f"""
    WITH keyed AS ({_KEYED}),
    later AS (
        SELECT DISTINCT key, player, export, load, batch FROM keyed
        WHERE measured >= {LEAST_MEASUREMENTS} AND batch IN (SELECT unnest($1))
    ),
    again AS (
        SELECT keyed.*, later.load AS by_load, later.batch AS by_batch,
               later.export AS by_export,
               count(*) OVER (PARTITION BY keyed.export, later.export) AS of_them
        FROM keyed INNER JOIN later ON later.key = keyed.key AND later.load > keyed.load
            AND keyed.player IN (later.player, 'unknown')
    )
    INSERT OR REPLACE INTO ledger.replaced_shots
    SELECT shot_id, any_value(player), arg_max(by_batch, by_load), arg_max(by_export, by_load)
    FROM again
    WHERE measured >= {SURE_MEASUREMENTS}
       OR timed AND of_them >= greatest({LEAST_SHOTS}, {LEAST_SHARE} * of_export)
    GROUP BY shot_id"""


def note_replaced(connection: DuckDBPyConnection, numbers: Sequence[int]) -> None:
    """Note which shots the exports of some loads, just inserted, give again.

    Parameters
    ----------
    connection : duckdb.DuckDBPyConnection
        The writer's database, inside the transaction of the load.
    numbers : sequence of int
        The loads.

    Notes
    -----
    Two rows of a player are one shot if they stand in different exports with the same time and the
    same measurements, whatever club, ball or weather is written beside them; so is a row that named
    no player at first. Under another player they stay two: that visit is a session of its own,
    which the user can leave out. What is noted does not depend on whether loads come one by one or
    all at once.
    """
    connection.execute(_REPLACED, [list(numbers)])
