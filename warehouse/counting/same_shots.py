"""Shots that two exports hold: a corrected file, a saved copy, a whole season anew.

Two rows are one shot if all that both say of it agrees within what their printing leaves open,
whatever the units, the time zone, the club, the ball or the weather beside them.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Final

import polars as pl
from rangeledger.warehouse.counting.candidates import candidates
from rangeledger.warehouse.counting.print_steps import MEASURED, print_steps

if TYPE_CHECKING:
    from duckdb import DuckDBPyConnection

# With their times, so many measurements that agree, none of them 0, are no chance: to the second
# within a quarter of an hour, one in 900; four to a twentieth of the club's spread, 6 in a million.
# One in four may have been corrected. Without times six are wanted, and all of them.
# Common practice, no source.
SURE_MEASUREMENTS: Final = 4
SURE_WITHOUT_TIMES: Final = 6
MOST_CORRECTED: Final = 1 / 4
# With fewer, so many shots and this share of the smaller export must come again.
LEAST_MEASUREMENTS: Final = 2
LEAST_WITHOUT_TIMES: Final = 4
LEAST_SHARE, LEAST_SHOTS = 0.5, 5
# What adding and multiplying in double precision may move a value by.
_REST: Final = 1e-9


def note_same_shots(
    connection: DuckDBPyConnection, exports: Sequence[str], players: Sequence[str]
) -> bool:
    """Note which rows of some exports, or of some players, are shots that other exports hold too.

    Parameters
    ----------
    connection : duckdb.DuckDBPyConnection
        The writer's database, inside a transaction; `ledger.same_shots` gets the pairs.
    exports : sequence of str
        Content hashes of exports just inserted.
    players : sequence of str
        Players whose names have changed.

    Returns
    -------
    bool
        Whether there are such shots, or were.
    """
    gone = connection.execute(
        "DELETE FROM ledger.same_shots WHERE list_contains($1, one_file) "
        "OR list_contains($1, other_file)",
        [list(exports)],
    ).fetchall()[0][0]
    if players:
        gone += connection.execute(_FORGET_PLAYERS, [list(players)]).fetchall()[0][0]
    found = candidates(connection, exports, players)
    if not found.height:
        return bool(gone)
    pairs = _judged(connection, found)
    connection.execute(
        "INSERT INTO ledger.same_shots SELECT one, other, one_file, other_file FROM pairs "
        "ORDER BY one, other"
    )
    del pairs
    return True


_FORGET_PLAYERS = """
    DELETE FROM ledger.same_shots WHERE one IN (
        SELECT s.shot_id FROM ledger.shots AS s
        INNER JOIN ledger.player_names AS n ON n.said = s.player
        WHERE list_contains($1, n.player)
    ) OR other IN (
        SELECT s.shot_id FROM ledger.shots AS s
        INNER JOIN ledger.player_names AS n ON n.said = s.player
        WHERE list_contains($1, n.player)
    )"""


def _judged(connection: DuckDBPyConnection, found: pl.DataFrame) -> pl.DataFrame:
    """Candidates that are one shot, each shot with at most one of another export."""
    files = pl.concat([found["one_file"], found["other_file"]]).unique().to_list()
    agreed = _agreements(found, print_steps(connection, files))
    likely = agreed.filter(
        pl.col("sure")
        | (pl.col("differ") == 0)
        & (
            pl.col("timed") & (pl.col("alike") >= LEAST_MEASUREMENTS)
            | (pl.col("alike") >= LEAST_WITHOUT_TIMES)
        )
        & (pl.col("agree") > 0)
    )
    paired = _one_to_one(likely)
    sizes = connection.execute(
        "SELECT source_file, count(*) AS size FROM ledger.shots "
        "WHERE list_contains($1, source_file) GROUP BY source_file",
        [files],
    ).pl()
    size = pl.min_horizontal(*(_size_of(side, sizes) for side in ("one", "other")))
    of_them = pl.len().over("one_file", "other_file")
    enough = pl.max_horizontal(pl.lit(LEAST_SHOTS), LEAST_SHARE * size)
    return paired.filter(pl.col("sure") | (of_them >= enough))


def _size_of(side: str, sizes: pl.DataFrame) -> pl.Expr:
    return pl.col(f"{side}_file").replace_strict(
        sizes["source_file"], sizes["size"], return_dtype=pl.Int64
    )


def _agreements(found: pl.DataFrame, steps: pl.DataFrame) -> pl.DataFrame:
    """How many quantities of each pair agree and differ, and whether that makes it sure."""
    for side in ("one", "other"):
        renamed_steps = steps.rename({n: f"{side}_step_{n}" for n in MEASURED})
        found = found.join(
            renamed_steps, left_on=f"{side}_file", right_on="source_file", maintain_order="left"
        )
    near = {name: _near(name) for name in MEASURED}
    agree = pl.sum_horizontal(
        (near[n] & (pl.col(f"one_{n}") != 0) & (pl.col(f"other_{n}") != 0)).fill_null(False)
        for n in MEASURED
    )
    # A zero is often no measurement and proves nothing alone; among shots that come again in
    # numbers it agrees like any other: a putt may start on its line.
    alike = pl.sum_horizontal(near[n].fill_null(False) for n in MEASURED)
    differ = pl.sum_horizontal((~near[n]).fill_null(False) for n in MEASURED)
    counted = found.with_columns(
        agree=agree.cast(pl.Int64), alike=alike.cast(pl.Int64), differ=differ.cast(pl.Int64)
    )
    return counted.with_columns(
        sure=pl.col("timed")
        & (pl.col("agree") >= SURE_MEASUREMENTS)
        & (pl.col("differ") <= MOST_CORRECTED * (pl.col("agree") + pl.col("differ")))
        | (pl.col("agree") >= SURE_WITHOUT_TIMES) & (pl.col("differ") == 0)
    )


def _near(name: str) -> pl.Expr:
    """Whether two values agree: printed in the same steps they are equal, else within half of each.

    A step with a minus is none that was printed; see `print_steps`.
    """
    one, other = pl.col(f"one_step_{name}"), pl.col(f"other_step_{name}")
    alike = (one > 0) & (one == other)
    open_ = pl.when(alike).then(0.0).otherwise((one.abs() + other.abs()) / 2)
    return (pl.col(f"one_{name}") - pl.col(f"other_{name}")).abs() <= open_ + _REST


def _one_to_one(likely: pl.DataFrame) -> pl.DataFrame:
    """The best pairs, so that no shot stands for two of another export."""
    order = likely.with_columns(
        # Equal in all else, the first of one export is the first of the other.
        lines=(pl.col("one_row").rank("dense").over("one_file", "other_file").cast(pl.Int64)
               - pl.col("other_row").rank("dense").over("one_file", "other_file").cast(pl.Int64)
               ).abs()
    ).sort(
        ~pl.col("sure"), "differ", pl.col("apart_s").fill_null(0) != 0, -pl.col("agree"), "lines",
        "one", "other",
    )  # fmt: skip
    matched: set[tuple[str, str]] = set()
    kept = []
    rows = order.select("one", "other", "one_file", "other_file").iter_rows()
    for place, (one, other, one_file, other_file) in enumerate(rows):
        ends = {(one, other_file), (other, one_file)}
        if not ends & matched:
            matched |= ends
            kept.append(place)
    return order[kept]
