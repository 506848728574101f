from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import duckdb
import polars as pl
import pytest
from rangeledger.schemas.arrow import REJECTED_SCHEMA
from rangeledger.schemas.errors import HomeError, QueryError, StorageError
from rangeledger.warehouse import database, lake, publishing
from rangeledger.warehouse.home import Home
from rangeledger.warehouse.lake import Batch, Offer
from rangeledger.warehouse.published import published

from tests.shots import make_shots

NO_ROWS = pl.DataFrame(schema=REJECTED_SCHEMA)
CONTRACT_VIEWS = {
    "shots", "sessions", "carry_by_club", "carry_trend", "rejected_rows", "ingest_log",
    "other_lines", "remarks",
}  # fmt: skip


def put(home: Home, number: int, shots: pl.DataFrame, stated: int | None = None) -> None:
    count = shots.height if stated is None else stated
    offer = Offer(f"{number}.csv", shots["source_file"][0], "loaded", shots=count)
    lake.write_batch(
        home, Batch(number, f"2026-05-0{number}T10:00:00.000", (offer,)), shots, NO_ROWS
    )


def test_the_database_follows_the_lake_and_each_batch_once(home: Home) -> None:
    put(home, 1, make_shots([140.0, 150.0]))
    for _ in range(2):
        with database.open_ledger(home) as connection:
            count = connection.execute("SELECT count(*) FROM ledger.shots").fetchone()
    put(home, 2, make_shots([160.0], source_file="e" * 64))
    with database.open_ledger(home) as connection:
        later = connection.execute("SELECT count(*) FROM ledger.shots").fetchone()
    assert (count, later) == ((2,), (3,))


def test_a_missing_parquet_file_is_told_and_nothing_is_half_loaded(home: Home) -> None:
    put(home, 1, make_shots([140.0]), stated=2)
    with pytest.raises(HomeError, match="should hold 2 shots"), database.open_ledger(home):
        pass
    with duckdb.connect(str(home.ledger)) as connection:
        assert connection.execute("SELECT count(*) FROM ledger.shots").fetchone() == (0,)


@pytest.mark.parametrize("later", [False, True])
def test_a_column_that_older_files_of_the_lake_lack_is_null(home: Home, later: bool) -> None:
    put(home, 1, make_shots([140.0, 150.0], apex_m=[20.0, 21.0]))
    for file in lake.shot_files(home, [1]):
        pl.read_parquet(file).drop("apex_m").write_parquet(file)
    if later:
        put(home, 2, make_shots([160.0], source_file="e" * 64, apex_m=[25.0]))
    with database.open_ledger(home) as connection:
        found = connection.execute("SELECT carry_m, apex_m FROM shots ORDER BY carry_m").fetchall()
    assert found == [(140.0, None), (150.0, None), *([(160.0, 25.0)] if later else [])]


def test_a_lake_that_lost_a_load_is_told(home: Home) -> None:
    put(home, 1, make_shots([140.0]))
    with database.open_ledger(home):
        pass
    (home.lake / "batches" / "00000001.json").unlink()
    with pytest.raises(HomeError, match="rangeledger rebuild"), database.open_ledger(home):
        pass


def test_a_database_of_another_version_is_made_anew(home: Home) -> None:
    put(home, 1, make_shots([140.0]))
    with database.open_ledger(home) as connection:
        connection.execute("UPDATE ledger.meta SET database_version = 0")
        connection.execute("DELETE FROM ledger.shots")
    with database.open_ledger(home) as connection:
        assert connection.execute("SELECT count(*) FROM ledger.shots").fetchone() == (1,)


def test_every_column_of_every_view_has_a_comment(home: Home) -> None:
    with database.open_ledger(home) as connection:
        views = {
            row[0]: row[1]
            for row in connection.execute(
                "SELECT view_name, comment FROM duckdb_views() WHERE NOT internal "
                "AND schema_name = 'main'"
            ).fetchall()
        }
        bare = connection.execute(
            "SELECT view_name, column_name FROM data_dictionary WHERE coalesce(meaning, '') = ''"
        ).fetchall()
    assert CONTRACT_VIEWS <= set(views)
    assert all(views.values())
    assert bare == []


def test_customary_units_agree_with_si(home: Home) -> None:
    # 1 yd = 0.9144 m and 1 mph = 0.44704 m/s exactly (NIST SP 811, appendix B.8)
    put(home, 1, make_shots([91.44], ball_speed_mps=[44.704], carry_side_m=[-9.144]))
    with database.open_ledger(home) as connection:
        row = connection.execute(
            "SELECT carry_yd, ball_speed_mph, carry_side_yd FROM shots"
        ).fetchone()
    assert row == pytest.approx((100.0, 100.0, -10.0), abs=1e-9)


def test_comments_of_customary_columns_name_their_unit(home: Home) -> None:
    with database.open_ledger(home) as connection:
        rows = connection.execute(
            "SELECT column_name, meaning FROM data_dictionary "
            "WHERE column_name LIKE '%\\_yd' ESCAPE '\\' OR column_name LIKE '%\\_mph' ESCAPE '\\'"
        ).fetchall()
    wrong = [name for name, meaning in rows
             if not meaning.endswith("[yd]" if name.endswith("_yd") else "[mph]")]  # fmt: skip
    assert rows
    assert wrong == []


def test_publish_replaces_in_one_step_and_old_readers_keep_theirs(home: Home) -> None:
    put(home, 1, make_shots([140.0]))
    with database.open_ledger(home):
        pass
    publishing.publish(home)
    reader = duckdb.connect(str(home.database), read_only=True)
    put(home, 2, make_shots([160.0], source_file="e" * 64))
    with database.open_ledger(home):
        pass
    publishing.publish(home)
    assert reader.execute("SELECT count(*) FROM shots").fetchone() == (1,)
    reader.close()
    assert database.query(home, "SELECT count(*) AS n FROM shots").item() == 2
    assert [p.name for p in home.root.glob(".rangeledger*")] == []


def test_the_published_file_answers_under_any_attached_name(home: Home) -> None:
    put(home, 1, make_shots([140.0]))
    with database.open_ledger(home):
        pass
    publishing.publish(home)
    with duckdb.connect() as connection:
        connection.execute(f"ATTACH '{home.database}' AS academy (READ_ONLY)")
        assert connection.execute("SELECT count(*) FROM academy.shots").fetchone() == (1,)


@pytest.mark.parametrize(
    "sql",
    [
        "SELECT nothing FROM shots",
        "SELEC",
        "DROP TABLE ledger.shots",
        "DELETE FROM ledger.shots",
        "SELECT 1; SELECT 2",
        "PIVOT shots ON shot_number USING count(*); DROP VIEW shots",
        "COPY (SELECT 1) TO 'written.csv'",
        "SELECT * FROM read_text('/etc/hostname')",
        "SET enable_external_access = true",
        "ATTACH 'other.duckdb'",
        "",
    ],
)
def test_a_bad_or_writing_query_is_refused_in_a_sentence(published_home: Home, sql: str) -> None:
    with pytest.raises(QueryError, match="can't be answered") as told:
        database.query(published_home, sql)
    assert "\n" not in str(told.value)
    assert database.query(published_home, "SELECT count(*) FROM shots").item() == 2


@pytest.mark.parametrize(
    ("sql", "answer"),
    [
        ("sum(1) AS n", 2),
        ("max(struck_at) - min(struck_at) AS span", "00:01:00"),
        ("[INTERVAL 1 DAY] AS spans", "[1 day]"),
        ("10000000000000000000000000::HUGEINT AS n", 10**25),
    ],
)  # fmt: skip
def test_types_that_frames_do_not_know_are_answered_too(
    published_home: Home, sql: str, answer: object
) -> None:
    rows = database.query(published_home, f"SELECT {sql} FROM (SELECT * FROM shots LIMIT 2)")
    assert rows.row(0)[0] == answer


def test_a_pivot_is_answered_and_two_columns_of_a_name_are_kept_apart(
    published_home: Home,
) -> None:
    home = published_home
    pivoted = database.query(home, "PIVOT shots ON shot_number USING max(carry_m) GROUP BY club")
    assert pivoted.rows() == [("7-iron", 140.0, 150.0)]
    assert database.query(home, "SELECT 1 AS a, 2 AS a, 3 AS a").columns == ["a", "a_1", "a_2"]


def test_a_question_to_a_database_of_another_version_says_what_to_do(home: Home) -> None:
    put(home, 1, make_shots([140.0]))
    with database.open_ledger(home):
        pass
    publishing.publish(home)
    with duckdb.connect(str(home.database)) as connection:
        connection.execute("UPDATE ledger.meta SET database_version = 1; DROP VIEW carry_trend")
    with pytest.raises(QueryError, match=r"carry_trend.*run 'rangeledger fit'"):
        database.query(home, "FROM carry_trend")
    with pytest.raises(HomeError, match="run 'rangeledger fit'"), published(home) as connection:
        connection.execute("FROM carry_trend")
    assert database.query(home, "SELECT count(*) FROM shots").item() == 1


def test_a_published_file_that_can_not_be_opened_is_told(home: Home) -> None:
    home.database.write_text("no database")
    with pytest.raises(StorageError, match=r"can't be opened: .*'rangeledger rebuild'"):
        database.query(home, "SELECT 1")


def test_a_query_before_anything_is_published_says_what_to_do(tmp_path: Path) -> None:
    with pytest.raises(HomeError, match="ingest"):
        database.query(Home(tmp_path), "SELECT 1")


def test_refits_are_asked_for_after_a_load_a_decision_or_a_new_model(home: Home) -> None:
    put(home, 1, make_shots([140.0]))
    with database.open_ledger(home) as connection:
        assert database.unfitted_players(connection, "m1") == ["Ada Brook"]
        database.replace_fits(connection, "Ada Brook", {}, "m1")
        assert database.unfitted_players(connection, "m1") == []
        assert database.unfitted_players(connection, "m2") == ["Ada Brook"]
    lake.write_decision(
        home, {"session_id": "s1", "excluded": True, "why": "", "decided_at": "2026-05-03"}
    )
    with database.open_ledger(home) as connection:
        assert database.unfitted_players(connection, "m1") == ["Ada Brook"]
        assert database.player_shots(connection, "Ada Brook")["excluded"].to_list() == [True]


def _scans(plan: dict[str, Any]) -> Iterator[tuple[str, str]]:
    """Table and filters of each scan of a plan of DuckDB's."""
    about = plan.get("extra_info", {})
    if plan.get("name", "").strip() == "SEQ_SCAN":
        yield str(about.get("Table", "")).rpartition(".")[2], str(about.get("Filters", ""))
    for child in plan.get("children", []):
        yield from _scans(child)


@pytest.mark.parametrize("view", ["shots", "sessions"])
def test_who_asks_for_one_players_rows_has_each_table_filtered_as_it_is_read(
    home: Home, view: str
) -> None:
    """With a placed shot too; else every page of a player reads the shots of all."""
    put(home, 1, make_shots([140.0, 150.0]))
    put(home, 2, make_shots([160.0], source_file="e" * 64, player="Bea Marsh"))
    with database.open_ledger(home) as connection:
        connection.execute(
            "INSERT INTO ledger.placed_shots "
            "SELECT shot_id, player, struck_at, session_id, 1 FROM ledger.shots WHERE carry_m > 145"
        )
        sql = f"EXPLAIN (FORMAT JSON) SELECT * FROM {view} WHERE player = 'Ada Brook'"
        ((_, text),) = connection.execute(sql).fetchall()
    scans = [scan for plan in json.loads(text) for scan in _scans(plan)]
    tables = [table for table, filters in scans if "player='Ada Brook'" in filters]
    # One scan of shots for those in their place, whose names say whose they are; the others are
    # filtered by what places them.
    assert tables.count("shots") == tables.count("placed_shots") > 0
    assert tables.count("shots") * 2 == [table for table, _ in scans].count("shots")
