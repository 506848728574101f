"""What the guard lets through: nothing but queries of the home's relations."""

from __future__ import annotations

import duckdb
import pytest
from rangeledger.warehouse.serving.functions import FUNCTIONS, TABLE_FUNCTIONS
from rangeledger.warehouse.serving.guard import Guard

RELATIONS = ("main.shots", "main.carry_by_club", "ledger.shots", "fits.carry")


@pytest.fixture(scope="module")
def guard() -> Guard:
    with duckdb.connect() as connection:
        internal = connection.execute(
            "SELECT view_name FROM duckdb_views() WHERE internal"
        ).fetchall()
    return Guard(RELATIONS, ["carry_in"], [row[0] for row in internal], "rangeledger")


@pytest.mark.parametrize(
    "sql",
    [
        "SELECT player, avg(carry_m) FROM shots WHERE club LIKE '7%' GROUP BY ALL ORDER BY 2",
        "FROM carry_in('Ada Brook', 'driver', headwind := 3)",
        "WITH RECURSIVE t AS (SELECT 1 a UNION ALL SELECT a + 1 FROM t WHERE a < 3) FROM t",
        "SELECT quantile_cont(carry_m, 0.5) OVER (PARTITION BY club) FROM ledger.shots",
        "SELECT [x * 2 FOR x IN [1, 2]], {'a': 1}.a, DATE '2026-05-01' + INTERVAL 3 DAY",
        "FROM rangeledger.main.shots s JOIN fits.carry c ON s.player = c.player",
        "DESCRIBE shots", "SHOW TABLES", "SUMMARIZE shots", "VALUES (1)",
        "SELECT * FROM information_schema.columns", "FROM duckdb_columns()", "FROM duckdb_tables",
        "SELECT unnest(['a']), json_extract('{}', '$.a'), strftime(now(), '%Y')",
        "FROM (PIVOT (FROM shots) ON club IN ('driver') USING count(*))",
    ],
)  # fmt: skip
def test_reading_is_let_through(guard: Guard, sql: str) -> None:
    assert guard("", sql) == sql


@pytest.mark.parametrize(
    ("sql", "named"),
    [
        ("FROM pg_settings", "pg_settings"),
        ("FROM pg_catalog.pg_settings", "pg_catalog.pg_settings"),
        ("FROM duckdb_databases", "duckdb_databases"),
        ("FROM main.duckdb_databases", "main.duckdb_databases"),
        ("FROM duckdb_databases()", "duckdb_databases"),
        ("FROM pragma_database_list", "pragma_database_list"),
        ("FROM system.main.pragma_database_list", "system.main.pragma_database_list"),
        ("FROM sqlite_master", "sqlite_master"),
        ("FROM duckdb_logs", "duckdb_logs"),
        ("FROM whoami()", "whoami"),
        ("FROM query_table('pg_settings')", "query_table"),
        ("FROM histogram_values('pg_settings', name)", "histogram_values"),
        ("FROM query('SELECT 1')", "query"),
        ("SELECT * FROM shots WHERE EXISTS (FROM pg_settings)", "pg_settings"),
        # A name of a WITH inside must not open the catalogue outside.
        ("FROM pg_settings, (WITH pg_settings AS (SELECT 1) FROM pg_settings)", "pg_settings"),
        ("FROM read_text('/etc/passwd')", "read_text"),
        ("FROM '/etc/passwd'", "/etc/passwd"),
        ("DESCRIBE '/etc/passwd'", "/etc/passwd"),
        ("SHOW DATABASES", "databases"),
        ("SELECT getenv('HOME')", "getenv"),
        ("SELECT pg_sleep(300)", "pg_sleep"),
        ("SELECT Sleep_MS(1)", "sleep_ms"),
        ("SELECT current_setting('temp_directory')", "current_setting"),
        ("SELECT system.main.getenv('HOME')", "getenv"),
        ("SELECT json_serialize_plan('SELECT 1')", "json_serialize_plan"),
        ("SELECT write_log('x')", "write_log"),
        ("SELECT nextval('s')", "nextval"),
        ("SELECT list_transform([1], lambda x: getenv('HOME'))", "getenv"),
        ("SELECT 1 ORDER BY getenv('HOME')", "getenv"),
        ("SELECT count(*) FILTER (getenv('HOME') = 'x')", "getenv"),
        ("SELECT sum(1) OVER (ORDER BY getenv('HOME'))", "getenv"),
        ("FROM range(getenv('HOME')::INT)", "getenv"),
        ("FROM shots LIMIT (SELECT getenv('HOME')::INT)", "getenv"),
        ("VALUES (getenv('HOME'))", "getenv"),
    ],
)
def test_what_is_not_named_is_refused_by_its_name(guard: Guard, sql: str, named: str) -> None:
    assert named in guard.refusal(sql)
    assert guard.refusal(sql).endswith(" is not allowed")


@pytest.mark.parametrize(
    "sql",
    ["", ";", "SELEC", "SELECT 1; DROP VIEW shots", "DROP VIEW shots", "SET threads = 9",
     "PRAGMA database_list", "EXPLAIN SELECT 1", "COPY shots TO 'x'", "ATTACH 'x'", "CALL x()",
     "WITH x AS (SELECT 9) INSERT INTO shots FROM x", "CREATE TABLE x (i INT)", "USE memory"],
)  # fmt: skip
def test_what_is_not_one_query_is_refused(guard: Guard, sql: str) -> None:
    assert guard.refusal(sql)
    with duckdb.connect() as connection, pytest.raises(duckdb.InvalidInputException) as told:
        connection.execute(guard("", sql))
    assert "Only one statement that reads is answered here" in str(told.value)


def test_nesting_without_end_is_refused_or_let_through_but_never_a_fault(guard: Guard) -> None:
    for depth in (100, 1_000, 20_000):
        sql = "SELECT " + "abs(" * depth + "1" + ")" * depth
        assert isinstance(guard.refusal(sql), str)


def test_every_function_of_the_list_is_one_of_the_database() -> None:
    """A name that the database does not know would be a slip of the pen."""
    with duckdb.connect() as connection:
        rows = connection.execute("SELECT DISTINCT lower(function_name) FROM duckdb_functions()")
        known = {row[0] for row in rows.fetchall()}
    grammar = {"error", "coalesce", "unnest", "count_star", "row"}
    assert sorted((FUNCTIONS | TABLE_FUNCTIONS) - known - grammar) == []
