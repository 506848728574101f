"""Reads a table of strokes to hole out of the user's own, CSV or TOML.

CSV: columns `lie`, `distance_yd` (or `distance_m`, `distance_ft`) and `strokes`. TOML: a table a
lie with the same distances and strokes as lists.
"""

from __future__ import annotations

import csv
import io
from pathlib import Path
from typing import TYPE_CHECKING, Any, Self

from pydantic import RootModel, model_validator
from rangeledger.schemas.declared import Declared, DeclaredError, checked_toml
from rangeledger.schemas.errors import UsageError
from rangeledger.schemas.units import FOOT_M, YARD_M

if TYPE_CHECKING:
    from collections.abc import Sequence

    from rangeledger.models.strategy.aimed_option import Option
    from rangeledger.models.strategy.strokes_to_hole_out import StrokesToHoleOut

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


def strokes_table(
    path: Path | None, options: Sequence[Option] | None = None, handicap: float | None = None
) -> StrokesToHoleOut:
    """The table that the user asks for.

    Parameters
    ----------
    path : pathlib.Path or None
        Own table; None takes the published averages.
    options : sequence of Option or None
        Clubs of a player, to work the strokes out from them. A table of the user's own then gives
        putts and short game; without one they are simulated.
    handicap : float or None
        The player's, for that; None takes what the spread of the clubs suggests [strokes].

    Returns
    -------
    StrokesToHoleOut
    """
    from rangeledger.models.strategy.near_green import NearGreen, handicap_like
    from rangeledger.models.strategy.own_strokes import own_strokes
    from rangeledger.models.strategy.strokes_to_hole_out import StrokesToHoleOut

    table = read_strokes(path) if path else StrokesToHoleOut.published()
    if not options:
        return table
    # A table of the user's own knows the user's putts.
    like = handicap_like(options) if handicap is None else handicap
    near = None if path else NearGreen(table, like)
    return own_strokes(options, table, near)


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


class _LieForm(Declared):
    """Distances in one unit, and the strokes from each."""

    distance_yd: list[float] | None = None
    distance_m: list[float] | None = None
    distance_ft: list[float] | None = None
    strokes: list[float]

    @property
    def distances_m(self) -> list[float]:
        """Distances to the hole [m]; empty where none or more than one list is given."""
        columns = [(getattr(self, name), factor) for name, factor in UNITS.items()]
        lists = [
            [d * factor for d in lengths] for lengths, factor in columns if lengths is not None
        ]
        return lists[0] if len(lists) == 1 else []

    @model_validator(mode="after")
    def _of_one_length(self) -> Self:
        if not self.strokes or len(self.distances_m) != len(self.strokes):
            raise ValueError("write distance_yd = [...] and strokes = [...] of the same length")
        return self


class _StrokesForm(RootModel[dict[str, _LieForm]]):
    """The file: a table a lie."""


def _from_toml(text: str, where: str) -> dict[str, dict[float, float]]:
    try:
        lies = checked_toml(text, _StrokesForm).root
    except DeclaredError as error:
        raise UsageError(f"{where}, {error}") from error
    return {
        lie: dict(zip(table.distances_m, table.strokes, strict=True)) for lie, table in lies.items()
    }


def _number(value: Any, here: str) -> float:
    try:
        return float(value)
    except (TypeError, ValueError) as error:
        raise UsageError(f"{here}: {value!r} is not a number. Write one.") from error
