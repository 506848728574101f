"""Views over given rows: what goes in, and what must come out."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import polars as pl
import pytest
from rangeledger.schemas.arrow import OTHER_LINES_SCHEMA, REJECTED_SCHEMA, REMARKS_SCHEMA
from rangeledger.warehouse import database, lake
from rangeledger.warehouse.home import Home
from rangeledger.warehouse.lake import Batch, Offer

from tests.shots import START, make_shots

CLUBS = ["54-wedge", "driver", "54-wedge", "7-iron", "driver", "putter"]
FIRST, SECOND = "a" * 64, "b" * 64


@pytest.fixture
def loaded(home: Home) -> Home:
    """A home with two visits of one player, a refused row and a duplicate."""
    visit = make_shots(
        [80.0, 210.0, 79.0, 140.0, 205.0, 3.0],
        club=CLUBS, source_file=FIRST, wind_speed_mps=[2.0, 4.0, 3.0, 3.0, 3.0, 3.0],
        wind_from_deg=90.0, ball=["range", "premium", *["range"] * 4],
    )  # fmt: skip
    later = make_shots(
        [81.0], source_file=SECOND, session_id="s2", struck_at=START + timedelta(days=1),
        wind_from_deg=[None], surface="mat",
    )  # fmt: skip
    refused = pl.DataFrame(
        [(FIRST, 8, "driver,999", "out-of-range", "carry_m is 999 m.")],
        schema=REJECTED_SCHEMA,
        orient="row",
    )
    others = pl.DataFrame(
        [(FIRST, 1, "heading", "Club,Carry"), (FIRST, 9, "summary", "Mean,120")],
        schema=OTHER_LINES_SCHEMA,
        orient="row",
    )
    noticed = pl.DataFrame(
        [(FIRST, "column 'Vel'", "It was left out.", "Name it in a mapping.")],
        schema=REMARKS_SCHEMA,
        orient="row",
    )
    offers = (
        Offer(
            "may.csv", FIRST, "loaded-with-rejects", shots=6, rejected=1, other_lines=2, remarks=1
        ),
        Offer("again.csv", FIRST, "duplicate", "loaded before as may.csv"),
        Offer("june.csv", SECOND, "loaded", shots=1),
    )
    batch = Batch(1, "2026-06-01T10:00:00.000", offers)
    lake.write_batch(home, batch, pl.concat([visit, later]), refused, others, noticed)
    return home


def rows(home: Home, sql: str) -> list[tuple[Any, ...]]:
    with database.open_ledger(home) as connection:
        return connection.execute(sql).fetchall()


def test_a_session_names_its_clubs_in_order_of_use_and_sums_up_its_shots(loaded: Home) -> None:
    found = rows(
        loaded,
        "SELECT session_id, shots, clubs, balls, surfaces, wind_speed_mps, wind_from_deg,"
        " ended_at - started_at, excluded FROM sessions ORDER BY session_id",
    )
    assert found == [
        ("s1", 6, "54-wedge, driver, 7-iron, putter", "premium, range", "grass", 3.0, 90.0,
         timedelta(minutes=5), False),
        ("s2", 1, "7-iron", "premium", "mat", None, None, timedelta(0), False),
    ]  # fmt: skip


def test_a_rejected_row_names_the_export_it_came_from(loaded: Home) -> None:
    found = rows(loaded, "SELECT file_name, source_row, raw_text, reason_code FROM rejected_rows")
    assert found == [("may.csv", 8, "driver,999", "out-of-range")]


def test_other_lines_and_remarks_name_their_export(loaded: Home) -> None:
    assert rows(loaded, "SELECT * EXCLUDE (source_file) FROM other_lines") == [
        ("may.csv", 1, "heading", "Club,Carry"),
        ("may.csv", 9, "summary", "Mean,120"),
    ]
    assert rows(loaded, "SELECT * EXCLUDE (source_file) FROM remarks") == [
        ("may.csv", "column 'Vel'", "It was left out.", "Name it in a mapping.")
    ]


def test_a_load_made_before_other_lines_were_kept_shows_none_and_says_so(loaded: Home) -> None:
    found = rows(loaded, "SELECT file_name, other_lines, remarks FROM ingest_log")
    assert found == [("may.csv", 2, 1), ("again.csv", None, None), ("june.csv", None, None)]


def test_the_log_has_a_row_an_export_offered(loaded: Home) -> None:
    found = rows(loaded, "SELECT file_name, state, shots, rejected FROM ingest_log")
    assert found == [
        ("may.csv", "loaded-with-rejects", 6, 1),
        ("again.csv", "duplicate", 0, 0),
        ("june.csv", "loaded", 1, 0),
    ]


def test_a_session_left_out_says_so_in_every_view_of_it(loaded: Home) -> None:
    said = {"session_id": "s1", "excluded": True, "why": "", "decided_at": "2026-06-02"}
    lake.write_decision(loaded, said)
    assert rows(loaded, "SELECT session_id FROM sessions WHERE excluded") == [("s1",)]
    assert rows(loaded, "SELECT count(*) FROM shots WHERE excluded") == [(6,)]
