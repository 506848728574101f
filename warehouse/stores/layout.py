"""The tables and views of a shared lake.

    loads.*     what was loaded and decided: the durable truth, by number of the load
    shown.*     what follows from it, as the home that published last worked it out: each player's
                rows under the number of a publication, of which the newest counts
    ledger.*, fits.*    the tables of a home under their own names, as views over these two
    main        the views and macros of a home, from the same files

A reader sees loads up to the newest publication, so that shots and what follows from them always
belong together, as in a home's published database.
"""

from __future__ import annotations

from typing import TYPE_CHECKING
from uuid import uuid4

from rangeledger.schemas.arrow import COMPANION_SCHEMAS
from rangeledger.schemas.errors import HomeError
from rangeledger.warehouse.database import transaction
from rangeledger.warehouse.statements import (
    Statement,
    create_relations,
    database_version,
    macros,
    statements,
)

if TYPE_CHECKING:
    from duckdb import DuckDBPyConnection

LAYOUT_VERSION = 1
RAW = ("batches", "offers", "shots", *COMPANION_SCHEMAS)
# Tables of the schema `ledger` that follow from the loads, by player.
PLACED = ("placed_shots", "replaced_shots", "arranged_sessions")
_OWN = """
    CREATE TABLE loads.meta (store VARCHAR, layout_version INTEGER, database_version INTEGER);
    CREATE TABLE loads.head (batch INTEGER, decision INTEGER, removal INTEGER);
    CREATE TABLE loads.decisions (decision INTEGER, said VARCHAR);
    CREATE TABLE loads.removals (removal INTEGER, plan VARCHAR);
    CREATE TABLE loads.homes (home VARCHAR, name VARCHAR, removal INTEGER);
    CREATE TABLE shown.publications (publication INTEGER, batch INTEGER, decision INTEGER);
    CREATE TABLE shown.digests (publication INTEGER, player VARCHAR, digest UBIGINT);
    CREATE TABLE shown.columns (place INTEGER, view_name VARCHAR, column_name VARCHAR,
                                data_type VARCHAR, meaning VARCHAR);
    INSERT INTO loads.head VALUES (0, 0, 0)
"""
_META = "INSERT INTO loads.meta VALUES (?, ?, ?)"
_VIEWS = """
    CREATE OR REPLACE VIEW shown.newest AS
    SELECT player, max(publication) AS publication FROM shown.digests GROUP BY player;

    CREATE OR REPLACE VIEW ledger.batches AS
    SELECT * FROM loads.batches
    WHERE batch <= (SELECT coalesce(max(batch), 0) FROM shown.publications);

    CREATE OR REPLACE VIEW ledger.offers AS
    SELECT * FROM loads.offers
    WHERE batch <= (SELECT coalesce(max(batch), 0) FROM shown.publications);

    CREATE OR REPLACE VIEW shown.readings AS
    SELECT source_file, max(batch) AS batch FROM ledger.offers
    WHERE starts_with(state, 'loaded') GROUP BY source_file
"""
# Of the same bytes read more than once the newest reading counts.
_NEWEST_READING = """
    CREATE OR REPLACE VIEW ledger.{table} AS
    SELECT rows_of.* FROM loads.{table} AS rows_of
    SEMI JOIN shown.readings AS newest
        ON newest.source_file = rows_of.source_file AND newest.batch = rows_of.batch"""
_NEWEST_PUBLICATION = """
    CREATE OR REPLACE VIEW {schema}.{table} AS
    SELECT rows_of.* EXCLUDE (publication) FROM shown.{table} AS rows_of
    SEMI JOIN shown.newest AS newest
        ON newest.player = rows_of.player AND newest.publication = rows_of.publication"""
_DICTIONARY = """
    CREATE OR REPLACE VIEW data_dictionary AS
    SELECT view_name, column_name, data_type, meaning FROM shown.columns ORDER BY place"""


def prepare_lake(connection: DuckDBPyConnection) -> None:
    """Create what a lake is missing, under the lock; one that is whole is left as it is.

    Raises
    ------
    HomeError
        If another version of the program made its tables or views.
    """
    found = _meta(connection)
    if found is None:
        _with_a_homes_tables(connection)
        with transaction(connection):
            _create_tables(connection)
            _create_views(connection)
            connection.execute(_META, [str(uuid4()), LAYOUT_VERSION, database_version()])
    elif found != (LAYOUT_VERSION, database_version()):
        raise HomeError(
            "Another version of rangeledger wrote to the shared store. Bring all homes to the same "
            "version, then run 'rangeledger store upgrade' in one of them."
        )


def renew_views(connection: DuckDBPyConnection) -> None:
    """Make tables of what follows, and all views, anew for this program's version, alone."""
    found = _meta(connection)
    if found is None or found[0] > LAYOUT_VERSION:
        raise HomeError("A newer rangeledger made this shared store. Install that version.")
    _with_a_homes_tables(connection)
    tables = connection.execute(
        "SELECT table_name FROM duckdb_tables() WHERE database_name = 'lake' "
        "AND schema_name = 'shown' AND table_name NOT IN ('publications', 'digests', 'columns')"
    ).fetchall()
    store = store_id(connection)
    with transaction(connection):
        for (table,) in tables:
            connection.execute(f"DROP TABLE shown.{table}")
        connection.execute("DELETE FROM shown.digests; DELETE FROM shown.columns")
        _create_shown(connection)
        _create_views(connection)
        connection.execute("DELETE FROM loads.meta")
        connection.execute(_META, [store, LAYOUT_VERSION, database_version()])


def _meta(connection: DuckDBPyConnection) -> tuple[int, int] | None:
    there = connection.execute(
        "SELECT count(*) FROM duckdb_tables() WHERE database_name = 'lake' "
        "AND schema_name = 'loads' AND table_name = 'meta'"
    ).fetchall()[0][0]
    if not there:
        return None
    rows = connection.execute("SELECT layout_version, database_version FROM loads.meta").fetchall()
    return int(rows[0][0]), int(rows[0][1])


def store_id(connection: DuckDBPyConnection) -> str:
    """What tells this store from any other."""
    return str(connection.execute("SELECT store FROM loads.meta").fetchall()[0][0])


def shown_tables(connection: DuckDBPyConnection) -> list[tuple[str, str]]:
    """Schema and name, as a home calls them, of the tables that follow from the loads."""
    rows = connection.execute(
        "SELECT table_name FROM duckdb_tables() WHERE database_name = 'lake' AND schema_name = "
        "'shown' AND table_name NOT IN ('publications', 'digests', 'columns', 'current_decisions') "
        "ORDER BY ALL"
    ).fetchall()
    return [("ledger" if name in PLACED else "fits", str(name)) for (name,) in rows]


def _create_tables(connection: DuckDBPyConnection) -> None:
    for schema in ("loads", "shown", "ledger", "fits"):
        connection.execute(f"CREATE SCHEMA {schema}")
    for table in RAW:
        connection.execute(f"CREATE TABLE loads.{table} AS FROM memory.ledger.{table} LIMIT 0")
    connection.execute(_OWN)
    _create_shown(connection)


def _with_a_homes_tables(connection: DuckDBPyConnection) -> None:
    """Have an empty home's tables in memory, whose columns those of the lake are."""
    connection.execute("USE memory")
    create_relations(connection)
    connection.execute("USE lake")


def _create_shown(connection: DuckDBPyConnection) -> None:
    fits = connection.execute(
        "SELECT table_name FROM duckdb_tables() WHERE database_name = 'memory' "
        "AND schema_name = 'fits' ORDER BY ALL"
    ).fetchall()
    tables = [("fits", str(name)) for (name,) in fits] + [("ledger", name) for name in PLACED]
    for schema, table in tables:
        connection.execute(
            f"CREATE TABLE shown.{table} AS "
            f"SELECT 0::INTEGER AS publication, * FROM memory.{schema}.{table} LIMIT 0"
        )
    connection.execute(
        "CREATE TABLE shown.current_decisions AS FROM memory.ledger.current_decisions LIMIT 0"
    )


def _create_views(connection: DuckDBPyConnection) -> None:
    connection.execute(_VIEWS)
    for table in ("shots", *COMPANION_SCHEMAS):
        connection.execute(_NEWEST_READING.format(table=table))
    for schema, table in shown_tables(connection):
        connection.execute(_NEWEST_PUBLICATION.format(schema=schema, table=table))
    connection.execute(
        "CREATE OR REPLACE VIEW ledger.current_decisions AS FROM shown.current_decisions"
    )
    macro_names = {macro.relation for macro in macros()}
    for statement in statements("views"):
        if statement.relation != "data_dictionary":
            connection.execute(statement.sql)
        if statement.relation == "data_dictionary":
            connection.execute(_DICTIONARY)
        if statement.relation not in macro_names:
            connection.execute(f"COMMENT ON VIEW {statement.relation} IS {_comment(statement)}")


def _comment(statement: Statement) -> str:
    grain = f" One row: {statement.grain}." if statement.grain else ""
    return "'" + f"{statement.comment}{grain}".replace("'", "''") + "'"
