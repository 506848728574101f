"""What may be asked over the network: one query that reads, from named functions and relations.

The guard looks at the parsed statement, not at its text. The database's own parser turns only
SELECT statements into JSON, so whatever writes, attaches, copies or sets is refused as a kind.
Functions and relations pass if they are named in a list; all others are refused.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator
from typing import Any

from rangeledger.warehouse.serving.functions import CATALOGUE, FUNCTIONS, TABLE_FUNCTIONS

GUARD = "may_be_asked"
_SHOWN = ("", '"tables"')


class Guard:
    """Judges statements; the database calls it before it runs one.

    Parameters
    ----------
    relations : iterable of str
        Tables and views that may be read, as 'schema.name'.
    macros : iterable of str
        Functions of the database's own.
    catalogue : iterable of str
        Names of the database's internal views: no name of a WITH may hide one.
    database : str
        Name of the database that is served.
    """

    def __init__(
        self,
        relations: Iterable[str],
        macros: Iterable[str],
        catalogue: Iterable[str],
        database: str,
    ) -> None:
        import duckdb

        published = {relation.lower() for relation in relations}
        main = {name.removeprefix("main.") for name in published if name.startswith("main.")}
        self._relations = published | main | CATALOGUE
        self._functions = FUNCTIONS | {macro.lower() for macro in macros}
        self._table_functions = TABLE_FUNCTIONS | {macro.lower() for macro in macros}
        self._internal = {name.lower() for name in catalogue}
        self._databases = ("", database.lower())
        self._parser = duckdb.connect()

    def __call__(self, _connection: str, statement: str) -> str:
        """The statement that is to be run: this one, or one that fails and tells why."""
        refused = self.refusal(statement)
        if not refused:
            return statement
        refusal = f"Only one statement that reads is answered here: {refused}."
        return "SELECT error('" + refusal.replace("'", "''") + "')"

    def refusal(self, statement: str) -> str:
        """Why a statement is not answered; empty if it is."""
        with self._parser.cursor() as parser:
            row = parser.execute("SELECT json_serialize_sql(?::VARCHAR)", [statement]).fetchone()
        try:
            parsed = json.loads(row[0]) if row else {"error": True}
        except RecursionError:
            return "it is nested too deeply"
        if parsed["error"]:
            return str(parsed.get("error_message", "it is no SQL")).rstrip(".")
        if not parsed["statements"]:
            return "it is empty"
        barred = sorted(set(self._barred(parsed)))
        return f"{', '.join(barred)} is not allowed" if barred else ""

    def _barred(self, parsed: Any) -> Iterator[str]:
        """Functions and relations in a parsed statement that may not be asked."""
        nodes = list(_nodes(parsed))
        own = {name for node in nodes for name in _with_names(node)} - self._internal
        for node in nodes:
            kind = node.get("type")
            if kind == "TABLE_FUNCTION":
                yield from self._barred_function(node.get("function", {}), self._table_functions)
                _mark_as_judged(node.get("function"))
            elif kind == "BASE_TABLE":
                yield from self._barred_relation(node, own)
            elif kind == "SHOW_REF" and str(node.get("table_name", "")) not in _SHOWN:
                yield f"SHOW {str(node['table_name']).strip(chr(34))}"
            elif "function_name" in node:
                yield from self._barred_function(node, self._functions)

    def _barred_function(self, node: dict[str, Any], allowed: frozenset[str]) -> Iterator[str]:
        name = str(node.get("function_name", "")).lower()
        if name not in allowed and not node.get("judged"):
            yield name
        if str(node.get("catalog", "")).lower() not in (*self._databases, "system"):
            yield f"{node['catalog']}.{name}"

    def _barred_relation(self, node: dict[str, Any], own: set[str]) -> Iterator[str]:
        schema = str(node.get("schema_name", "")).lower()
        table = str(node.get("table_name", "")).lower()
        name = f"{schema}.{table}" if schema else table
        database = str(node.get("catalog_name", "")).lower()
        known = name in self._relations or (not schema and table in own)
        if database not in self._databases or not known:
            yield f"{database}.{name}" if database else name


def _nodes(parsed: Any) -> Iterator[dict[str, Any]]:
    """Every object of a parsed statement, outer ones first; without recursion."""
    waiting = [parsed]
    while waiting:
        node = waiting.pop()
        if isinstance(node, dict):
            yield node
            waiting.extend(node.values())
        elif isinstance(node, list):
            waiting.extend(node)


def _with_names(node: dict[str, Any]) -> Iterator[str]:
    """Names that a WITH gives to its queries."""
    for entry in (node.get("cte_map") or {}).get("map", []):
        yield str(entry.get("key", "")).lower()
    if "ctename" in node:
        yield str(node["ctename"]).lower()


def _mark_as_judged(function: Any) -> None:
    """A function that gives a table is not judged again as a plain one."""
    if isinstance(function, dict):
        function["judged"] = True
