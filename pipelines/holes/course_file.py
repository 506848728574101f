"""Reads a hole from a file: our own TOML, or GeoJSON (RFC 7946).

A TOML hole is a plan drawn from the tee: distances `along` the target line and `across` it,
right positive, in yards or metres. Each `[[fairway]]`, `[[green]]`, `[[bunker]]`, `[[water]]`,
`[[trees]]` and `[[out_of_bounds]]` has one shape (`course_form`); a `[plain]` table tells the
usual ones in a few numbers (`plain_hole`). A GeoJSON hole has
features with a property `kind`, and is laid flat about the ball, the flag straight ahead.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from rangeledger.models.strategy.hole_geometry import Hole
from rangeledger.pipelines.holes.course_form import HoleForm
from rangeledger.pipelines.holes.course_geojson import hole_from_geojson
from rangeledger.pipelines.holes.course_shapes import area_of
from rangeledger.pipelines.holes.course_words import UNITS, HoleFileError
from rangeledger.pipelines.holes.plain_hole import with_plain_shapes
from rangeledger.schemas.declared import DeclaredError, checked, parsed_toml
from rangeledger.schemas.units import YARD_M

# A stroke to a flag on one hole [yd], and how far a shape may reach [m].
_LEAST_YD, _MOST_YD = 5, 1000
_FARTHEST_M = 5000.0


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
    try:
        tree = parsed_toml(text)
    except DeclaredError as error:
        raise HoleFileError(path.name, str(error)) from None
    return hole_of_a_size(hole_from_toml(tree, path.name, text), path.name)


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


def _parsed_json(text: str, where: str) -> Any:
    try:
        return json.loads(text)
    except json.JSONDecodeError as error:
        raise HoleFileError(
            where, f"it is not valid JSON at line {error.lineno}: {error.msg}. Mend that line."
        ) from error


def hole_from_toml(tree: Mapping[str, Any], where: str, text: str = "") -> Hole:
    """Build a hole from what a TOML file says.

    Parameters
    ----------
    tree : mapping
        The parsed file.
    where : str
        Name of the file, for messages.
    text : str
        The file itself, for the numbers of lines in messages.

    Returns
    -------
    Hole
        In metres.

    Raises
    ------
    HoleFileError
        Names the key at fault and what is allowed.
    """
    try:
        form = checked(with_plain_shapes(tree, where), HoleForm, text)
    except DeclaredError as error:
        raise HoleFileError(where, str(error)) from None
    return _hole_of(form, where)


def _hole_of(form: HoleForm, where: str) -> Hole:
    unit_m = UNITS[form.unit]

    def metres(along: float, across: float) -> tuple[float, float]:
        return along * unit_m, across * unit_m

    return Hole(
        name=form.name or Path(where).stem,
        par=form.par,
        ball=metres(form.ball.along, form.ball.across),
        lie=form.ball.lie,
        flag=metres(form.flag.along, form.flag.across),
        areas=tuple(
            area_of(area, word, f"{where}, {word} {number}", unit_m)
            for word, number, area in form.areas()
        ),
        flag_rise_m=form.flag.rise * unit_m,
        line=tuple(metres(*point) for point in form.line),
    )
