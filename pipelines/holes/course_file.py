"""Reads a hole from a file: our own TOML, or GeoJSON (RFC 7946).

A TOML hole is a plan drawn from the tee: distances `along` the target line and `across` it,
right positive, in yards or metres. Each `[[fairway]]`, `[[green]]`, `[[bunker]]`, `[[water]]`,
`[[trees]]` and `[[out_of_bounds]]` has one shape (`course_shapes`); a `[plain]` table tells the
usual ones in a few numbers (`plain_hole`). A GeoJSON hole has
features with a property `kind`, and is laid flat about the ball, the flag straight ahead.
"""

from __future__ import annotations

import json
import tomllib
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from rangeledger.models.strategy.hole_geometry import Area, Ground, Hole
from rangeledger.pipelines.holes.course_geojson import hole_from_geojson
from rangeledger.pipelines.holes.course_shapes import area_of, points_of
from rangeledger.pipelines.holes.course_words import (
    AREA_WORDS,
    UNITS,
    HoleFileError,
    lie_of,
    number_of,
    par_of,
)
from rangeledger.pipelines.holes.plain_hole import with_plain_shapes
from rangeledger.schemas.units import YARD_M

# A stroke to a flag on one hole [yd], and how far a shape may reach [m].
_LEAST_YD, _MOST_YD = 5, 1000
_FARTHEST_M = 5000.0
_TOP_WORDS = ("name", "par", "unit", "ball", "flag", "line", *AREA_WORDS)


def read_hole(path: Path) -> Hole:
    """Read a hole file.

    Parameters
    ----------
    path : pathlib.Path
        A `.toml` file of our own, or `.geojson` / `.json`.

    Returns
    -------
    Hole
        In metres, the ball in place.

    Raises
    ------
    HoleFileError
        Names the file, the key at fault and what to write instead.
    """
    text = _text_of(path)
    if path.suffix.lower() in (".geojson", ".json"):
        return hole_of_a_size(
            hole_from_geojson(_parsed_json(text, path.name), path.name), path.name
        )
    if path.suffix.lower() != ".toml":
        raise HoleFileError(path.name, "a hole file ends in .toml or .geojson; rename it.")
    return hole_of_a_size(hole_from_toml(_parsed_toml(text, path.name), path.name), path.name)


def hole_of_a_size(hole: Hole, where: str) -> Hole:
    """The hole, if a ball can be played on it: a slip of the pen is not a hole of miles.

    Parameters
    ----------
    hole : Hole
        Any hole.
    where : str
        Name of the file, for messages.

    Returns
    -------
    Hole
        The same.

    Raises
    ------
    HoleFileError
        If the flag is too near or too far, or a shape lies miles away.
    """
    yards = hole.distance_m / YARD_M
    if not _LEAST_YD <= yards <= _MOST_YD:
        raise HoleFileError(
            where,
            f"the flag is {yards:,.0f} yd from the ball. Give {_LEAST_YD} to {_MOST_YD:,} yd; "
            "check the numbers and the unit.",
        )
    for area in hole.areas:
        if max(map(abs, area.shape.bounds)) > _FARTHEST_M:
            raise HoleFileError(
                where, f"the {area.name} lies miles away. Check its numbers and the unit."
            )
    return hole


def _text_of(path: Path) -> str:
    if path.is_dir():
        raise HoleFileError(str(path), "it is a folder. Name the file of one hole in it.")
    if not path.is_file():
        raise HoleFileError(str(path), "there is no such file. Check the path.")
    try:
        return path.read_text(encoding="utf-8-sig")
    except UnicodeDecodeError as error:
        raise HoleFileError(path.name, "it is not UTF-8 text. Save it as UTF-8.") from error


def _parsed_toml(text: str, where: str) -> dict[str, Any]:
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise HoleFileError(
            where, f"it is not valid TOML: {error}. Mend that line and try again."
        ) from error


def _parsed_json(text: str, where: str) -> Any:
    try:
        return json.loads(text)
    except json.JSONDecodeError as error:
        raise HoleFileError(
            where, f"it is not valid JSON at line {error.lineno}: {error.msg}. Mend that line."
        ) from error


def hole_from_toml(tree: Mapping[str, Any], where: str) -> Hole:
    """Build a hole from a parsed TOML file.

    Parameters
    ----------
    tree : mapping
        The parsed file.
    where : str
        Name of the file, for messages.

    Returns
    -------
    Hole
        In metres.

    Raises
    ------
    HoleFileError
        Names the key at fault.
    """
    tree = with_plain_shapes(tree, where)
    _only_known(tree, _TOP_WORDS, where)
    unit_m = _unit(tree, where)
    ball = _table(tree, "ball", where, {"along", "across", "lie"}, needed=False)
    flag = _table(tree, "flag", where, {"along", "across", "rise"})
    areas: list[Area] = []
    for word in AREA_WORDS:
        entries = tree.get(word, [])
        for number, entry in enumerate([entries] if isinstance(entries, dict) else entries, 1):
            areas.append(area_of(entry, word, f"{where}, {word} {number}", unit_m))
    return Hole(
        name=str(tree.get("name", Path(where).stem)),
        par=par_of(tree.get("par", 4), where),
        ball=_spot(ball, f"{where}, ball", unit_m, default=0.0),
        lie=lie_of(ball.get("lie", "tee"), f"{where}, ball"),
        flag=_spot(flag, f"{where}, flag", unit_m),
        areas=_with_a_green(areas, where),
        flag_rise_m=number_of(flag.get("rise", 0.0), f"{where}, flag.rise") * unit_m,
        line=_line(tree.get("line", []), where, unit_m),
    )


def _with_a_green(areas: list[Area], where: str) -> tuple[Area, ...]:
    if not any(area.ground is Ground.GREEN for area in areas):
        raise HoleFileError(
            where, "the green is missing. Add [plain] with front, back and width, or [[green]]."
        )
    return tuple(areas)


def _only_known(tree: Mapping[str, Any], known: tuple[str, ...], where: str) -> None:
    unknown = sorted(set(tree) - set(known))
    if unknown:
        raise HoleFileError(where, f"'{unknown[0]}' is not known here. Use {', '.join(known)}.")


def _unit(tree: Mapping[str, Any], where: str) -> float:
    unit = tree.get("unit")
    if not isinstance(unit, str) or unit not in UNITS:
        raise HoleFileError(where, 'the unit is missing. Write unit = "yd" or unit = "m" on top.')
    return UNITS[unit]


def _table(
    tree: Mapping[str, Any], key: str, where: str, known: set[str], *, needed: bool = True
) -> dict[str, Any]:
    table = tree.get(key)
    if table is None and not needed:
        return {}
    if not isinstance(table, dict):
        raise HoleFileError(where, f"[{key}] is missing. Add it with along and across.")
    _only_known(table, tuple(sorted(known)), f"{where}, {key}")
    return table


def _spot(
    table: Mapping[str, Any], where: str, unit_m: float, default: float | None = None
) -> tuple[float, float]:
    along, across = (
        number_of(table.get(key, default if key == "along" else 0.0), f"{where}.{key}") * unit_m
        for key in ("along", "across")
    )
    return along, across


def _line(points: Any, where: str, unit_m: float) -> tuple[tuple[float, float], ...]:
    if not points:
        return ()
    return tuple(points_of(points, f"{where}, line", unit_m, least=1))
