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

    It gives back what the server is to run: the statement itself, or one that fails and tells the
    client why. Where the macro itself fails, the server refuses without a word.

    Parameters
    ----------
    connection : duckdb.DuckDBPyConnection
        The database that will be served, open for writing.
    own_macros : list of str
        Macros of the database that give tables.
    """
    refused = _refused(own_macros)
    no_query = _failing(f"coalesce({_parsed('error_message')}, 'it is no SQL')")
    no_such = _failing(f"array_to_string({refused}, ', ') || ' is not allowed'")
    connection.execute(f"""
        CREATE OR REPLACE MACRO {GUARD}(session_asking, statement_asked) AS (
            CASE WHEN {_parsed("error")} IS DISTINCT FROM 'false' THEN {no_query}
            WHEN len({refused}) > 0 THEN {no_such}
            ELSE statement_asked::VARCHAR END
        )
    """)


def _parsed(key: str) -> str:
    """What the parser says of the statement under a key, as SQL."""
    return f"(json_serialize_sql(statement_asked::VARCHAR) ->> '{key}')"


def _refused(own_macros: list[str]) -> str:
    """Functions in the statement that must not be asked, as SQL."""
    plain, tables = _functions("$..function_name"), _functions("$..function.function_name")
    allowed = _list([*TABLE_FUNCTIONS, *own_macros])
    return f"""list_sort(list_distinct(list_concat(
        list_filter({plain}, lambda name: list_contains({_list(REFUSED_FUNCTIONS)}, name)),
        list_filter({tables}, lambda name: NOT list_contains({allowed}, name)))))"""


def _functions(path: str) -> str:
    """Names of functions at a path of the parsed statement, as SQL."""
    parsed = "json_serialize_sql(statement_asked::VARCHAR)"
    return f"list_transform(json_extract_string({parsed}, '{path}'), lambda told: lower(told))"


def _failing(why: str) -> str:
    """A statement that fails with a sentence, as SQL; `why` is SQL too."""
    told = f"'Only one statement that reads is answered here: ' || {why} || '.'"
    quote, twice = "''''", "''''''"
    return f"'SELECT error(' || {quote} || replace({told}, {quote}, {twice}) || {quote} || ')'"


def _list(names: list[str] | tuple[str, ...]) -> str:
    return "[" + ", ".join(f"'{name}'" for name in names) + "]"
