"""One visit in several files is one session, whatever the order in which they come."""

from __future__ import annotations

import itertools
from datetime import UTC, datetime, timedelta

import polars as pl
import pytest
from rangeledger.warehouse import database, lake
from rangeledger.warehouse.home import Home
from rangeledger.warehouse.lake import Batch, Offer

from tests.shots import START, make_shots
from tests.warehouse.test_database import NO_ROWS


def put(home: Home, number: int, shots: pl.DataFrame, zone: str | None = "UTC") -> None:
    details = {"zone": zone} if zone else {}
    offer = Offer(f"{number}.csv", shots["source_file"][0], "loaded", shots=shots.height,
                  details=details)  # fmt: skip
    lake.write_batch(
        home, Batch(number, f"2026-06-0{number}T10:00:00.000", (offer,)), shots, NO_ROWS
    )


def part(letter: str, start: datetime, count: int = 3, **constant: object) -> pl.DataFrame:
    """A part of a visit in a file of its own, a shot every five minutes."""
    at = [start + timedelta(minutes=5 * n) for n in range(count)]
    base = ord(letter) * 1.7
    return make_shots([base + 3.1 * n for n in range(count)], struck_at=at,
                      source_file=letter * 64, session_id=f"own-{letter}", **constant)  # fmt: skip


def sessions(home: Home) -> list[tuple[object, ...]]:
    with database.open_ledger(home) as connection:
        return connection.execute(
            "SELECT list(source_file[1] || shot_number ORDER BY shot_number) FROM shots "
            "GROUP BY session_id ORDER BY min(struck_at) NULLS LAST, session_id"
        ).fetchall()


PARTS = [
    part("a", START),
    part("b", START + timedelta(hours=1)),
    part("c", START + timedelta(hours=3, minutes=30)),
    part("d", START + timedelta(hours=6, minutes=40, seconds=1)),
]


@pytest.mark.parametrize(
    "order",
    [
        pytest.param(order, marks=() if place % 9 == 5 else pytest.mark.long)
        for place, order in enumerate(itertools.permutations(range(4)))
    ],
)
def test_parts_less_than_three_hours_apart_are_one_session_in_any_order(
    home: Home, order: tuple[int, ...]
) -> None:
    for number, place in enumerate(order, start=1):
        put(home, number, PARTS[place])
        sessions(home)  # the database follows each load by itself
    whole = (["a1", "a2", "a3", "b4", "b5", "b6", "c7", "c8", "c9"],)
    assert sessions(home) == [whole, (["d1", "d2", "d3"],)]
    home.ledger.unlink()
    assert sessions(home) == [whole, (["d1", "d2", "d3"],)]


def test_the_part_between_two_sessions_makes_them_one(home: Home) -> None:
    put(home, 1, PARTS[0])
    put(home, 2, PARTS[2])
    assert len(sessions(home)) == 2
    put(home, 3, PARTS[1])
    assert len(sessions(home)) == 1


def test_a_session_of_one_file_keeps_its_id_and_a_joined_one_that_of_its_beginning(
    home: Home,
) -> None:
    put(home, 1, part("b", START + timedelta(hours=1)))
    with database.open_ledger(home) as connection:
        assert connection.execute("SELECT session_id FROM sessions").fetchall() == [("own-b",)]
    put(home, 2, part("a", START))
    # sha256 of the player and the time of the first shot, as the reader names sessions (regression)
    with database.open_ledger(home) as connection:
        (found,) = connection.execute(
            "SELECT session_id = substr(sha256('Ada Brook' || chr(31) || "
            "'2026-05-02T09:00:00+00:00'), 1, 20) FROM sessions"
        ).fetchall()
    assert found == (True,)


@pytest.mark.parametrize(("zone", "count"), [("UTC", 2), ("Europe/Stockholm", 1), (None, 1)])
def test_a_new_date_of_the_place_begins_a_new_session(
    home: Home, zone: str | None, count: int
) -> None:
    # 23:50 and 00:10 UTC are 01:50 and 02:10 in Stockholm in May (UTC+2).
    late = datetime(2026, 5, 2, 23, 50, tzinfo=UTC)
    put(home, 1, part("a", late, count=1), zone)
    put(home, 2, part("b", late + timedelta(minutes=20), count=1), zone)
    assert len(sessions(home)) == count


def test_other_players_and_other_days_stay_apart(home: Home) -> None:
    put(home, 1, part("a", START))
    put(home, 2, part("b", START + timedelta(minutes=20), player="Mia Sander"))
    put(home, 3, part("c", START + timedelta(days=1)))
    assert len(sessions(home)) == 3


def test_shots_without_times_go_with_those_before_them(home: Home) -> None:
    mixed = part("a", START, count=4).with_columns(
        pl.when(pl.col("shot_number").is_in([1, 3])).then(None).otherwise("struck_at")
        .alias("struck_at"), session_id=pl.lit("own-a"),
    )  # fmt: skip
    put(home, 1, mixed)
    put(home, 2, part("b", START + timedelta(hours=1)))
    put(home, 3, part("c", START).with_columns(struck_at=pl.lit(None, pl.Datetime("ms", "UTC"))))
    assert sessions(home) == [
        (["a1", "a2", "a3", "a4", "b5", "b6", "b7"],),
        (["c1", "c2", "c3"],),
    ]
