"""What a newer export says otherwise of shots that an older one holds too, in plain words."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, Final, NamedTuple

import polars as pl
from rangeledger.schemas.columns import ASSIGNED, BY_NAME, CANONICAL, CONDITIONS, Kind
from rangeledger.schemas.units import counted
from rangeledger.warehouse.counting.print_steps import MEASURED, print_steps

if TYPE_CHECKING:
    from duckdb import DuckDBPyConnection

_STATED: Final = tuple(
    c.name
    for c in CANONICAL
    if (c.kind is Kind.TEXT or c.name in CONDITIONS) and c.name not in ASSIGNED
)
_MOST: Final = 5

_PAIRS = f"""
    SELECT former.source_file AS former_file, later.source_file AS later_file,
           date_diff('minute', former.struck_at, later.struck_at) AS moved_min,
           {
    ", ".join(f"former.{n} AS former_{n}, later.{n} AS later_{n}" for n in (*_STATED, *MEASURED))
}
    FROM ledger.replaced_shots AS r
    INNER JOIN ledger.shots AS former ON former.shot_id = r.shot_id
    INNER JOIN ledger.shots AS later ON later.shot_id = r.by_shot
    WHERE list_contains($1, former.source_file) OR list_contains($1, later.source_file)
    ORDER BY later.source_file, former.source_file, r.shot_id"""


# Asked first, since what tells of changes takes libraries that most loads do without. The hashes
# are written out: any parameter has the database's binding import pandas.
_THERE_ARE = """
    SELECT count(*) FROM ledger.replaced_shots
    WHERE by_shot IS NOT NULL AND (replaced_by IN ({hashes}) OR shot_id IN (
        SELECT shot_id FROM ledger.shots WHERE source_file IN ({hashes})))"""


class Replacement(NamedTuple):
    """Shots of an older export that count as in a newer one, and what that says otherwise."""

    former_file: str
    later_file: str
    shots: int
    changes: list[str]


def replacements(connection: DuckDBPyConnection, exports: Sequence[str]) -> list[Replacement]:
    """Shots that some exports give again or that are given again of them, by pairs of exports.

    Parameters
    ----------
    connection : duckdb.DuckDBPyConnection
        Any database with the ledger's tables.
    exports : sequence of str
        Content hashes.

    Returns
    -------
    list of Replacement
        With changes such as `14 shots: 6-iron → 7-iron`, those of most shots first.
    """
    hashes = ", ".join("'" + source.replace("'", "''") + "'" for source in exports)
    if not hashes or not connection.execute(_THERE_ARE.format(hashes=hashes)).fetchall()[0][0]:
        return []
    rows = connection.execute(_PAIRS, [list(exports)]).pl()
    files = [*rows["former_file"].unique(), *rows["later_file"].unique()]
    steps = {row["source_file"]: row for row in print_steps(connection, files).to_dicts()}
    return [
        Replacement(former, later, part.height, _changes(part, steps[former], steps[later]))
        for (later, former), part in rows.group_by("later_file", "former_file", maintain_order=True)
    ]


def _changes(part: pl.DataFrame, former: dict[str, Any], later: dict[str, Any]) -> list[str]:
    """What differs in the rows of a pair of exports; the commonest first."""
    found = [change for name in _STATED for change in _changed_values(part, name)]
    found += _moved(part)
    for name in MEASURED:
        both = (pl.col(f"former_{name}") - pl.col(f"later_{name}")).abs()
        count = part.filter(both > abs(former[name]) + abs(later[name])).height
        if count:
            found.append((count, f"another {_label(name)}"))
    found.sort(key=lambda change: -change[0])
    sentences = [f"{counted(count, 'shot')}: {label}" for count, label in found[:_MOST]]
    more = len(found) - _MOST
    return [*sentences, f"and {counted(more, 'other change')}"] if more > 0 else sentences


def _changed_values(part: pl.DataFrame, name: str) -> list[tuple[int, str]]:
    former, later = f"former_{name}", f"later_{name}"
    differ = part.filter(pl.col(former).ne_missing(pl.col(later)))
    counts = differ.group_by(former, later, maintain_order=True).len()
    plain = name in ("club", "player", "swing")  # their words tell by themselves what they are
    label = "" if plain else f"{_label(name)} "
    return [
        (count, f"{label}{_value(old)} → {_value(new)}") for old, new, count in counts.iter_rows()
    ]


def _moved(part: pl.DataFrame) -> list[tuple[int, str]]:
    """By how much the times moved, as another zone moves them."""
    counts = part.filter(pl.col("moved_min") != 0).group_by("moved_min", maintain_order=True).len()
    return [(count, f"times moved by {minutes / 60:+g} h") for minutes, count in counts.iter_rows()]


def _value(value: object) -> str:
    if isinstance(value, float):
        return f"{value:.4g}"
    return "nothing" if value is None else str(value)


def _label(name: str) -> str:
    unit = BY_NAME[name].unit
    suffix = {"m": "_m", "m/s": "_mps", "deg": "_deg", "rpm": "_rpm", "s": "_s", "degC": "_c",
              "hPa": "_hpa", "%": "_pct"}.get(unit, "")  # fmt: skip
    return name.removesuffix(suffix).replace("_", " ")
