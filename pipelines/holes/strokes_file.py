"""Reads a table of strokes to hole out of the user's own, CSV or TOML.

CSV: columns `lie`, `distance_yd` (or `distance_m`, `distance_ft`) and `strokes`. TOML: a table a
lie with the same distances and strokes as lists.
"""

from __future__ import annotations

import csv
import io
import tomllib
from pathlib import Path
from typing import TYPE_CHECKING, Any

from rangeledger.schemas.errors import UsageError
from rangeledger.schemas.units import FOOT_M, YARD_M

if TYPE_CHECKING:
    from collections.abc import Sequence

    from rangeledger.models.strategy.strokes_to_hole_out import StrokesToHoleOut
    from rangeledger.models.strategy.target_choice import Option

UNITS = {"distance_yd": YARD_M, "distance_m": 1.0, "distance_ft": FOOT_M}


def read_strokes(path: Path) -> StrokesToHoleOut:
    """Read a table of strokes to hole out.

    Parameters
    ----------
    path : pathlib.Path
        A `.csv` or `.toml` file.

    Returns
    -------
    StrokesToHoleOut

    Raises
    ------
    UsageError
        Names the file, the line or key at fault, and what to write instead.
    """
    from rangeledger.models.strategy.strokes_to_hole_out import StrokesToHoleOut

    try:
        text = path.read_text(encoding="utf-8-sig")
    except FileNotFoundError as error:
        raise UsageError(f"{path}: there is no such file. Check the path.") from error
    except IsADirectoryError as error:
        raise UsageError(f"{path}: it is a folder. Name the table of strokes in it.") from error
    except UnicodeDecodeError as error:
        raise UsageError(f"{path.name}: it is not UTF-8 text. Save it as UTF-8.") from error
    nodes = _from_toml(text, path.name) if path.suffix == ".toml" else _from_csv(text, path.name)
    try:
        return StrokesToHoleOut.from_nodes(nodes, path.name)
    except UsageError as error:
        raise UsageError(f"{path.name}: {error}") from error


def strokes_table(path: Path | None, options: Sequence[Option] | None = None) -> StrokesToHoleOut:
    """The table that the user asks for.

    Parameters
    ----------
    path : pathlib.Path or None
        Own table; None takes the published averages.
    options : sequence of Option or None
        Clubs of a player, to work the strokes out from them; the table then gives the rest.

    Returns
    -------
    StrokesToHoleOut
    """
    from rangeledger.models.strategy.own_strokes import own_strokes
    from rangeledger.models.strategy.strokes_to_hole_out import StrokesToHoleOut

    table = read_strokes(path) if path else StrokesToHoleOut.published()
    return own_strokes(options, table) if options else table


def _from_csv(text: str, where: str) -> dict[str, dict[float, float]]:
    rows = csv.DictReader(io.StringIO(text))
    unit = next((name for name in rows.fieldnames or [] if name in UNITS), None)
    if unit is None or not {"lie", "strokes"} <= set(rows.fieldnames or []):
        raise UsageError(
            f"{where}, line 1: the columns must be lie, distance_yd (or _m, _ft) and strokes."
        )
    nodes: dict[str, dict[float, float]] = {}
    for number, row in enumerate(rows, 2):
        here = f"{where}, line {number}"
        distance = _number(row[unit], here) * UNITS[unit]
        nodes.setdefault(str(row["lie"]), {})[distance] = _number(row["strokes"], here)
    return nodes


def _from_toml(text: str, where: str) -> dict[str, dict[float, float]]:
    try:
        tree = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise UsageError(f"{where}: it is not valid TOML: {error}. Mend that line.") from error
    nodes = {}
    for lie, table in tree.items():
        here = f"{where}, [{lie}]"
        unit = next((key for key in UNITS if isinstance(table, dict) and key in table), None)
        if unit is None or len(table.get("strokes", ())) != len(table[unit]):
            raise UsageError(
                f"{here}: write distance_yd = [...] and strokes = [...] of the same length."
            )
        nodes[lie] = {
            _number(distance, here) * UNITS[unit]: _number(strokes, here)
            for distance, strokes in zip(table[unit], table["strokes"], strict=True)
        }
    return nodes


def _number(value: Any, here: str) -> float:
    try:
        return float(value)
    except (TypeError, ValueError) as error:
        raise UsageError(f"{here}: {value!r} is not a number. Write one.") from error
