"""What may be asked over the network: queries that read, and nothing that reaches outside.

The guard looks at the parsed statement, not at its text. The database's own parser turns only
SELECT statements into JSON, so whatever writes, attaches, copies or sets is refused as a kind.
Of functions that give tables only named ones pass, since others read files, change settings or
stop the server; of plain functions a few are refused.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from duckdb import DuckDBPyConnection

GUARD = "may_be_asked"
# Functions that give tables and touch nothing but the database and their arguments.
TABLE_FUNCTIONS = (
    "range", "generate_series", "unnest", "repeat", "json_each", "json_tree", "duckdb_columns",
    "duckdb_tables", "duckdb_views", "duckdb_schemas", "duckdb_functions", "duckdb_types",
    "duckdb_constraints", "duckdb_indexes", "duckdb_keywords", "query_table", "summary",
)  # fmt: skip
# Plain functions that hold a thread, tell of the machine, or speak to the server.
REFUSED_FUNCTIONS = (
    "sleep_ms", "write_log", "getenv", "current_setting", "nextval", "currval",
    "quack_check_token", "quack_nop_authorization", "quack_uri_parser",
)  # fmt: skip


def create_guard(connection: DuckDBPyConnection, own_macros: list[str]) -> None:
    """Create the macro that the server asks before each statement.

    Parameters
    ----------
    connection : duckdb.DuckDBPyConnection
        The database that will be served, open for writing.
    own_macros : list of str
        Macros of the database that give tables.
    """
    allowed = _list([*TABLE_FUNCTIONS, *own_macros])
    connection.execute(f"""
        CREATE OR REPLACE MACRO {GUARD}(session_asking, statement_asked) AS (
            coalesce(json_serialize_sql(statement_asked::VARCHAR) ->> 'error' = 'false', false)
            AND NOT list_has_any(
                list_transform(
                    json_extract_string(
                        json_serialize_sql(statement_asked::VARCHAR), '$..function_name'
                    ),
                    lambda told: lower(told)
                ),
                {_list(REFUSED_FUNCTIONS)}
            )
            AND list_has_all(
                {allowed},
                list_transform(
                    json_extract_string(
                        json_serialize_sql(statement_asked::VARCHAR), '$..function.function_name'
                    ),
                    lambda told: lower(told)
                )
            )
        )
    """)


def _list(names: list[str] | tuple[str, ...]) -> str:
    return "[" + ", ".join(f"'{name}'" for name in names) + "]"
