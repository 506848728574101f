"""The SQL files: what they create, and the comments that other tools read.

Each file in `tables/` and `views/` states one relation. Its header says, in comment lines,

    -- relation: carry_by_club
    -- comment: what a row is, in one sentence
    -- grain: player, club, swing, ball
    -- columns:
    --   carry_m: Centre of clean strikes in still air [m]

and the body creates it. A column that the header does not name takes its comment from the
dictionary of canonical columns; a column in yards, feet or miles an hour that from its SI twin.
"""

from __future__ import annotations

import re
import zlib
from dataclasses import dataclass, field
from functools import cache
from importlib.resources import files
from typing import TYPE_CHECKING

from rangeledger.schemas.columns import BY_NAME, CANONICAL, Kind

if TYPE_CHECKING:
    from duckdb import DuckDBPyConnection

_SQL_TYPE = {
    Kind.TEXT: "VARCHAR",
    Kind.INTEGER: "INTEGER",
    Kind.NUMBER: "DOUBLE",
    Kind.INSTANT: "TIMESTAMP",
}
# A column in a customary unit says the same as its SI twin, in the other unit.
_CUSTOMARY = {"_yd": ("_m", "[m]", "[yd]"), "_mph": ("_mps", "[m/s]", "[mph]"),
              "_ft": ("_m", "[m]", "[ft]"), "_yd2": ("_m2", "[m2]", "[yd2]")}  # fmt: skip
_HEADER_LINE = re.compile(r"^--\s?(?P<text>.*)$")
_COLUMN_LINE = re.compile(r"^\s{2}(?P<name>\w+):\s*(?P<comment>.+)$")


@dataclass(frozen=True, slots=True)
class Statement:
    """One SQL file: the relation or macro that it creates and what is said of it."""

    relation: str
    kind: str
    comment: str
    grain: str
    columns: dict[str, str] = field(default_factory=dict)
    sql: str = ""


def parse_statement(text: str, kind: str) -> Statement:
    """Read the header of an SQL file.

    Raises
    ------
    ValueError
        If the header has no relation or no comment.
    """
    fields: dict[str, str] = {}
    columns: dict[str, str] = {}
    for line in text.splitlines():
        found = _HEADER_LINE.match(line)
        if not found:
            break
        _header_entry(found["text"], fields, columns)
    if "relation" not in fields or "comment" not in fields:
        raise ValueError(f"an SQL file needs a relation and a comment: {text[:80]!r}")
    return Statement(
        fields["relation"], kind, fields["comment"], fields.get("grain", ""), columns, text
    )


def _header_entry(text: str, fields: dict[str, str], columns: dict[str, str]) -> None:
    column = _COLUMN_LINE.match(text)
    if column:
        columns[column["name"]] = column["comment"].strip()
    elif text.startswith("    ") and columns:
        last = next(reversed(columns))
        columns[last] += " " + text.strip()
    elif text.startswith("  ") and fields:
        last = next(reversed(fields))
        fields[last] += " " + text.strip()
    elif ":" in text:
        name, _, value = text.partition(":")
        fields[name.strip()] = value.strip()


@cache
def statements(folder: str) -> tuple[Statement, ...]:
    """All SQL files of a folder ('tables', 'views'), by file name."""
    kind = "TABLE" if folder == "tables" else "VIEW"
    found = sorted(
        (f for f in files(f"rangeledger.warehouse.{folder}").iterdir() if f.name.endswith(".sql")),
        key=lambda f: f.name,
    )
    return tuple(parse_statement(f.read_text(encoding="utf-8"), kind) for f in found)


def shots_table() -> str:
    """Statement that creates the table of accepted shots, from the dictionary of columns."""
    lines = [
        f"    {c.name} {_SQL_TYPE[c.kind]}{' NOT NULL' if c.required else ''}" for c in CANONICAL
    ]
    body = ",\n".join(["    batch INTEGER NOT NULL", *lines, "    extras VARCHAR"])
    return f"CREATE TABLE IF NOT EXISTS ledger.shots (\n{body}\n)"


@cache
def database_version() -> int:
    """Checksum of everything that the database's relations are made from.

    A database that was made from other statements is made anew from the lake, so nobody has to
    remember to raise a number.
    """
    texts = [shots_table(), *(s.sql for folder in ("tables", "views") for s in statements(folder))]
    texts += [column.comment for column in CANONICAL]
    return zlib.crc32("\0".join(texts).encode()) & 0x7FFFFFFF


def comment_for(name: str, stated: dict[str, str]) -> str:
    """Comment of a column: as stated, else from the dictionary, else from its SI twin."""
    if name in stated:
        return stated[name]
    if name in BY_NAME:
        return BY_NAME[name].comment
    for suffix, (twin, unit, customary) in _CUSTOMARY.items():
        if name.endswith(suffix):
            comment = comment_for(name.removesuffix(suffix) + twin, stated)
            return comment.replace(unit, customary)
    return ""


def create_relations(connection: DuckDBPyConnection) -> None:
    """Create schemas, tables, views and macros where they are missing, with their comments."""
    connection.execute("CREATE SCHEMA IF NOT EXISTS ledger; CREATE SCHEMA IF NOT EXISTS fits")
    connection.execute(shots_table())
    for statement in (*statements("tables"), *statements("views")):
        connection.execute(statement.sql)
        _comment(connection, statement)


def _comment(connection: DuckDBPyConnection, statement: Statement) -> None:
    if _is_macro(statement):
        kind = "MACRO TABLE" if " AS TABLE" in statement.sql.upper() else "MACRO"
        connection.execute(
            f"COMMENT ON {kind} {statement.relation} IS {_quoted(statement.comment)}"
        )
        return
    comment = f"{statement.comment} One row: {statement.grain}." if statement.grain else (
        statement.comment
    )  # fmt: skip
    connection.execute(f"COMMENT ON {statement.kind} {statement.relation} IS {_quoted(comment)}")
    described = connection.execute(f"DESCRIBE {statement.relation}").fetchall()
    for name, *_ in described:
        text = comment_for(str(name), statement.columns)
        if text:
            connection.execute(
                f'COMMENT ON COLUMN {statement.relation}."{name}" IS {_quoted(text)}'
            )


def macros() -> tuple[Statement, ...]:
    """The macros among the views' files."""
    return tuple(s for s in statements("views") if _is_macro(s))


def _is_macro(statement: Statement) -> bool:
    return re.search(r"^CREATE OR REPLACE MACRO", statement.sql, re.MULTILINE) is not None


def _quoted(text: str) -> str:
    return "'" + text.replace("'", "''") + "'"
