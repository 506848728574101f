"""Removing players and exports from a shared store, and from every home that follows it.

The home that forgets rewrites its own lake first and then those loads of the shared one. Every
other home reads the plan when it next brings what is new, and does the same to its own files; when
all have, the plan, which says what was forgotten, is cleared too.
"""

from __future__ import annotations

import json
from collections.abc import Collection, Iterable
from dataclasses import asdict, replace
from typing import TYPE_CHECKING

import polars as pl
from rangeledger.schemas.arrow import COMPANION_SCHEMAS, shots_polars_schema
from rangeledger.warehouse import lake
from rangeledger.warehouse.database import transaction
from rangeledger.warehouse.home import Home
from rangeledger.warehouse.removing.forgetting import (
    Cut,
    Plan,
    complete_forgetting,
    write_plan,
)
from rangeledger.warehouse.removing.leftover_names import Names
from rangeledger.warehouse.stores.bucket import Bucket
from rangeledger.warehouse.stores.layout import RAW, shown_tables
from rangeledger.warehouse.stores.rows import insert_batch, insert_decision

if TYPE_CHECKING:
    from duckdb import DuckDBPyConnection


def touched_loads(connection: DuckDBPyConnection, plan: Plan) -> list[int]:
    """Loads of the shared lake that a removal changes."""
    removed = {*plan.sources, *(cut.source for cut in plan.cuts)}
    names = Names(plan.words)
    rows = connection.execute(
        "SELECT batch, source_file, concat_ws(chr(10), file_name, reason, mapping, details) "
        "FROM loads.offers"
    ).fetchall()
    found = {int(batch) for batch, source, name in rows if source in removed or names.are_in(name)}
    return sorted(found)


def replace_loads(
    connection: DuckDBPyConnection, home: Home, numbers: Collection[int], number: int, plan: Plan
) -> None:
    """Put a home's loads and decisions in place of the store's, inside `adding`.

    Parameters
    ----------
    connection : duckdb.DuckDBPyConnection
        The lake.
    home : Home
        A home out of whose lake everything was removed.
    numbers : collection of int
        Loads to replace.
    number : int
        Number of the removal.
    plan : Plan
        What was removed, for the other homes.
    """
    parameters = [list(numbers)]
    for table in RAW:
        connection.execute(f"DELETE FROM loads.{table} WHERE list_contains($1, batch)", parameters)
    for batch_number in numbers:
        insert_batch(connection, lake.read_batch(home, batch_number), rows_of(home, batch_number))
    connection.execute("DELETE FROM loads.decisions")
    for decision, path in lake.decision_files(home):
        insert_decision(connection, decision, json.loads(path.read_text(encoding="utf-8")))
    for _, table in shown_tables(connection):
        connection.execute(
            f"DELETE FROM shown.{table} WHERE list_contains($1, player)", [plan.players]
        )
    connection.execute("DELETE FROM shown.digests WHERE list_contains($1, player)", [plan.players])
    travels = json.dumps(asdict(replace(plan, files=[])), ensure_ascii=False)
    connection.execute("INSERT INTO loads.removals VALUES (?, ?)", [number, travels])


def rows_of(home: Home, number: int) -> dict[str, pl.DataFrame]:
    """Rows of a load in a home's lake, by table."""
    shots = [pl.read_parquet(path, hive_partitioning=False)
             for path in lake.shot_files(home, [number])]  # fmt: skip
    found = {"shots": pl.concat([pl.DataFrame(schema=shots_polars_schema()), *shots])}
    for kind, schema in COMPANION_SCHEMAS.items():
        parts = [pl.read_parquet(path) for path in lake.companion_files(home, kind, [number])]
        found[kind] = pl.concat([pl.DataFrame(schema=schema), *parts])
    return found


def remove_originals(bucket: Bucket, home: Home, plan: Plan) -> None:
    """Remove originals from the bucket; what is left of those that were cut takes their place."""
    for cut in plan.cuts:
        for path in (home.archive / cut.becomes[:2]).glob(f"{cut.becomes}.*"):
            bucket.put(f"archive/{cut.becomes[:2]}/{path.name}", path.read_bytes())
    for source in (*plan.sources, *(cut.source for cut in plan.cuts)):
        for name in bucket.names(f"archive/{source[:2]}/{source}"):
            bucket.remove(name)


def plans_after(connection: DuckDBPyConnection, removal: int) -> list[Plan]:
    """Removals that a home has not made yet, oldest first."""
    rows = connection.execute(
        "SELECT plan FROM loads.removals WHERE removal > ? AND plan <> '' ORDER BY removal",
        [removal],
    ).fetchall()
    return [_plan_of(str(row[0])) for row in rows]


def _plan_of(text: str) -> Plan:
    raw = json.loads(text)
    return Plan(**(raw | {"cuts": [Cut(**cut) for cut in raw["cuts"]]}))


def remove_here(home: Home, plans: Iterable[Plan]) -> None:
    """Remove from a home what another home forgot; its databases are made anew afterwards."""
    for plan in plans:
        names = Names(plan.words)
        files = [
            str(path.relative_to(home.root))
            for folder in (home.reports, home.quarantine, home.mappings)
            for path in folder.rglob("*")
            if path.is_file() and names.are_found_in_file(path)
        ]
        for cut in plan.cuts:
            (home.archive / cut.becomes[:2]).mkdir(parents=True, exist_ok=True)
        write_plan(home, replace(plan, files=files))
        complete_forgetting(home)


def note_removals(connection: DuckDBPyConnection, home: str, name: str, removal: int) -> bool:
    """Note, alone, how far a home is with removals; whether all homes have now made them all.

    Plans that every home has carried out are cleared.
    """
    with transaction(connection):
        connection.execute("DELETE FROM loads.homes WHERE home = ?", [home])
        connection.execute("INSERT INTO loads.homes VALUES (?, ?, ?)", [home, name, removal])
        least = connection.execute("SELECT min(removal) FROM loads.homes").fetchall()[0][0]
        carried_out = connection.execute(
            "SELECT count(*) FROM loads.removals WHERE removal <= ? AND plan <> ''", [least]
        ).fetchall()[0][0]
        if carried_out:
            connection.execute("UPDATE loads.removals SET plan = '' WHERE removal <= ?", [least])
    return bool(carried_out)
