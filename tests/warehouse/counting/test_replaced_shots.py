"""A shot that two exports hold counts once, as in the export that was loaded last."""

from __future__ import annotations

from typing import Any

import polars as pl
import pytest
from rangeledger.warehouse import database, lake
from rangeledger.warehouse.home import Home
from rangeledger.warehouse.lake import Batch, Offer

from tests.shots import make_shots
from tests.warehouse.test_database import NO_ROWS, put

MEASURED: dict[str, Any] = {"ball_speed_mps": 52.0, "launch_angle_deg": 17.0, "apex_m": 27.0}
CARRIES = [140.0, 141.0, 142.0, 143.0, 144.0, 145.0]


def replaced(home: Home) -> list[str]:
    with database.open_ledger(home) as connection:
        rows = connection.execute("SELECT shot_id FROM ledger.replaced_shots ORDER BY ALL")
        return [row[0] for row in rows.fetchall()]


def later(carries: list[float] = CARRIES, **constant: Any) -> pl.DataFrame:
    return make_shots(carries, source_file="e" * 64, **constant)


def test_a_corrected_export_replaces_the_former_one(home: Home) -> None:
    put(home, 1, make_shots(CARRIES, **MEASURED))
    put(home, 2, later(**MEASURED, club="8-iron", ball="range", air_temp_c=12.0))
    assert replaced(home) == [f"ffffffff-{n}" for n in range(6)]
    with database.open_ledger(home) as connection:
        fitted = database.player_shots(connection, "Ada Brook")
        assert connection.execute("SELECT shots, clubs FROM sessions").fetchall() == [(6, "8-iron")]
        counts = connection.execute("SELECT shots, replaced FROM ingest_log").fetchall()
        kept = connection.execute("SELECT DISTINCT count(*) OVER (), club FROM shots").fetchall()
    assert counts == [(6, 6), (6, 0)]
    assert kept == [(6, "8-iron")]
    assert fitted["ball"].to_list() == ["range"] * 6


def test_another_players_shots_are_his_own(home: Home) -> None:
    put(home, 1, make_shots(CARRIES, **MEASURED))
    put(home, 2, later(**MEASURED, player="Mia Sander"))
    assert replaced(home) == []


def test_shots_of_nobody_go_to_the_player_named_later(home: Home) -> None:
    put(home, 1, make_shots(CARRIES, **MEASURED, player="unknown"))
    with database.open_ledger(home) as connection:
        database.replace_fits(connection, "unknown", {}, "m1")
        assert database.unfitted_players(connection, "m1") == []
    put(home, 2, later(**MEASURED, player="Mia Sander"))
    assert len(replaced(home)) == 6
    with database.open_ledger(home) as connection:
        assert database.unfitted_players(connection, "m1") == ["Mia Sander", "unknown"]
        assert database.player_shots(connection, "unknown").is_empty()
        for player in ("Mia Sander", "unknown"):
            database.replace_fits(connection, player, {}, "m1")
        assert database.unfitted_players(connection, "m1") == []
    # The other way round says less than is known: the newest counts, and the name stays.
    put(home, 3, make_shots(CARRIES, source_file="d" * 64, **MEASURED, player="unknown"))
    assert len(replaced(home)) == 12
    with database.open_ledger(home) as connection:
        rows = connection.execute("SELECT DISTINCT player, source_file FROM shots").fetchall()
    assert rows == [("Mia Sander", "d" * 64)]


def test_loads_one_by_one_and_all_at_once_note_the_same(home: Home) -> None:
    loads = [
        make_shots(CARRIES, **MEASURED),
        later([*CARRIES, 150.0], **MEASURED),
        make_shots(CARRIES[:2], source_file="d" * 64, **MEASURED),
    ]
    for number, shots in enumerate(loads, start=1):
        put(home, number, shots)
        one_by_one = replaced(home)
    home.ledger.unlink()
    assert replaced(home) == one_by_one
    assert one_by_one == sorted([f"ffffffff-{n}" for n in range(6)] + ["eeeeeeee-0", "eeeeeeee-1"])


@pytest.mark.parametrize(
    ("first", "second", "count"),
    [
        # A season's export holds the visit again, with more behind it.
        (make_shots(CARRIES, **MEASURED), later([*CARRIES, 150.0, 151.0], **MEASURED), 6),
        # Other measurements, or another time, are other shots.
        (make_shots(CARRIES, **MEASURED), later([c + 0.7 for c in CARRIES], **MEASURED), 0),
        (make_shots(CARRIES, **MEASURED), later(list(reversed(CARRIES)), **MEASURED), 0),
        # Putts have two measurements: most of the export must come again.
        (make_shots(CARRIES, ball_speed_mps=2.0), later(ball_speed_mps=2.0), 6),
        (make_shots(CARRIES, ball_speed_mps=2.0), later(CARRIES[:2], ball_speed_mps=2.0), 0),
        # A carry alone, or two measurements without a time, may agree by chance.
        (make_shots(CARRIES), later(), 0),
        (make_shots(CARRIES, ball_speed_mps=2.0, struck_at=None),
         later(ball_speed_mps=2.0, struck_at=None), 0),
        (make_shots(CARRIES, struck_at=None, **MEASURED), later(struck_at=None, **MEASURED), 6),
    ],
)  # fmt: skip
def test_what_counts_as_the_same_shot(
    home: Home, first: pl.DataFrame, second: pl.DataFrame, count: int
) -> None:
    put(home, 1, first)
    put(home, 2, second)
    assert len(replaced(home)) == count


def test_equal_rows_of_one_export_stay(home: Home) -> None:
    put(home, 1, make_shots([140.0, 140.0], struck_at=None, **MEASURED))
    assert replaced(home) == []


def test_an_export_that_was_taken_out_counts_for_nothing_until_it_is_taken_back(home: Home) -> None:
    def told() -> tuple[list[Any], list[Any]]:
        with database.open_ledger(home) as connection:
            shots = connection.execute("SELECT player, club, count(*) FROM shots GROUP BY ALL")
            clubs = sorted(shots.fetchall())
            log = "SELECT state, shots, replaced, taken_out FROM ingest_log ORDER BY offered_at"
            return clubs, connection.execute(log).fetchall()

    def decide(source: str, excluded: bool) -> None:
        said = {"kind": "export", "source_file": source * 64, "excluded": excluded}
        lake.write_decision(home, said | {"decided_at": "2026-05-09T10:00:00.000"})

    put(home, 1, make_shots(CARRIES, **MEASURED))
    put(home, 2, later(**MEASURED, club="8-iron"))
    put(home, 3, make_shots(CARRIES, source_file="d" * 64, **MEASURED, player="Mia Sander"))
    both = [("Ada Brook", "8-iron", 6), ("Mia Sander", "7-iron", 6)]
    assert told()[0] == both
    # The older export of the same shots counts again; a player without another export is gone.
    decide("e", True)
    decide("d", True)
    again = Offer("again.csv", "d" * 64, "duplicate", "known", shots=0)
    no_shots = make_shots(CARRIES).clear()
    lake.write_batch(home, Batch(4, "2026-05-04T10:00:00.000", (again,)), no_shots, NO_ROWS)
    out = [("Ada Brook", "7-iron", 6)], [
        ("loaded", 6, 0, False), ("loaded", 6, 6, True), ("loaded", 6, 6, True),
        ("duplicate", 0, 0, True),
    ]  # fmt: skip
    assert told() == out
    home.ledger.unlink()
    assert told() == out
    decide("e", False)
    decide("d", False)
    assert told()[0] == both
    assert not any(row[-1] for row in told()[1])
