"""Shapes of a hole file: each turns into a polygon in metres.

- `outline = [[along, across], ...]`: at least three corners in order;
- `circle = { along, across, radius }`;
- `box = { front, back, left, right }`, and `oval` with the same four: the ellipse in that box;
- `right_of`, `left_of`, `beyond`: everything past that distance, with `from` and `to` to end it.

Trees may say `height_yd` or `height_m`, else they are 15 yd high: a lower ball stops there.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any

import shapely
from rangeledger.models.strategy.hole_geometry import GROUND_BY_WORD, TREE_HEIGHT_M, Area, Ground
from rangeledger.pipelines.holes.course_words import UNITS, HoleFileError, number_of
from shapely.geometry.base import BaseGeometry

# How far a shape without an end goes [m].
_FAR_M = 1000.0
# What an area may say beside its name and shape.
_EXTRA = {Ground.WATER: {"red"}, Ground.TREES: {f"height_{unit}" for unit in UNITS}}
_EDGES = ("front", "back", "left", "right")


def area_of(entry: Any, word: str, where: str, unit_m: float) -> Area:
    """One area of a hole file.

    Parameters
    ----------
    entry : Any
        The parsed table.
    word : str
        Kind of ground, as in the file.
    where : str
        File and entry, for messages.
    unit_m : float
        Length of the file's unit [m].

    Returns
    -------
    Area

    Raises
    ------
    HoleFileError
        If the table has no shape, two shapes, or one that is none.
    """
    if not isinstance(entry, dict):
        raise HoleFileError(where, f"write it as a table: [[{word}]] with a shape below.")
    ground = GROUND_BY_WORD[word]
    extra = _EXTRA.get(ground, set())
    shapes = [key for key in entry if key in _SHAPES]
    unknown = sorted(set(entry) - set(_SHAPES) - {"name", "from", "to"} - extra)
    if unknown:
        known = ", ".join(["name", *sorted(extra), *_SHAPES])
        raise HoleFileError(where, f"'{unknown[0]}' is not known here. Use {known}.")
    if len(shapes) != 1:
        raise HoleFileError(where, f"give it exactly one shape: {', '.join(_SHAPES)}.")
    shape = _SHAPES[shapes[0]](entry, f"{where}.{shapes[0]}", unit_m)
    name, red = str(entry.get("name", word)), bool(entry.get("red", False))
    return Area(ground, name, shape, red, tree_height_of(entry, where))


def tree_height_of(entry: Mapping[str, Any], where: str) -> float:
    """How high trees stand, from `height_yd` or `height_m`.

    Parameters
    ----------
    entry : mapping
        Table or properties of an area.
    where : str
        File and entry, for messages.

    Returns
    -------
    float
        Height above the ball [m]; 15 yd where nothing is said.

    Raises
    ------
    HoleFileError
        If it is no number, or less than 0.
    """
    for unit, length_m in UNITS.items():
        key = f"height_{unit}"
        if key in entry:
            height = number_of(entry[key], f"{where}.{key}") * length_m
            if height < 0.0:
                raise HoleFileError(f"{where}.{key}", "it is below 0. Write 0 or more.")
            return height
    return TREE_HEIGHT_M


def points_of(
    value: Any, where: str, unit_m: float, least: int = 3
) -> Sequence[tuple[float, float]]:
    """Points from a hole file.

    Parameters
    ----------
    value : Any
        A list of pairs.
    where : str
        File and key, for messages.
    unit_m : float
        Length of the file's unit [m].
    least : int
        Fewest points [1].

    Returns
    -------
    sequence of tuple of float
        Along and across [m].

    Raises
    ------
    HoleFileError
        If a point is not a pair of numbers, or there are too few.
    """
    if not isinstance(value, list) or len(value) < least:
        raise HoleFileError(where, f"write at least {least} points: [[along, across], ...].")
    points = []
    for number, pair in enumerate(value, 1):
        if not isinstance(pair, list) or len(pair) != 2:
            raise HoleFileError(where, f"point {number} is {pair!r}. Write [along, across].")
        here = f"{where}, point {number}"
        points.append((number_of(pair[0], here) * unit_m, number_of(pair[1], here) * unit_m))
    return points


def valid_polygon(shape: BaseGeometry, where: str) -> BaseGeometry:
    """The polygon, if it is one.

    Raises
    ------
    HoleFileError
        If its outline crosses itself or encloses nothing.
    """
    if not shape.is_valid or shape.area <= 0.0:
        reason = shapely.is_valid_reason(shape).split("[")[0].lower()
        why = "it encloses nothing" if shape.is_valid else f"its outline is not simple ({reason})"
        raise HoleFileError(where, f"{why}. List the corners in order around the edge.")
    return shape


def _outline(entry: Mapping[str, Any], where: str, unit_m: float) -> BaseGeometry:
    return valid_polygon(shapely.Polygon(points_of(entry["outline"], where, unit_m)), where)


def _numbers(entry: Any, keys: tuple[str, ...], where: str, unit_m: float) -> list[float]:
    if not isinstance(entry, dict) or set(entry) != set(keys):
        raise HoleFileError(where, f"write {{ {', '.join(f'{key} = ...' for key in keys)} }}.")
    return [number_of(entry[key], f"{where}.{key}") * unit_m for key in keys]


def _circle(entry: Mapping[str, Any], where: str, unit_m: float) -> BaseGeometry:
    keys = ("along", "across", "radius")
    along, across, radius = _numbers(entry["circle"], keys, where, unit_m)
    if radius <= 0.0:
        raise HoleFileError(where, "the radius must be more than 0.")
    return shapely.Point(along, across).buffer(radius, quad_segs=16)


def _edges(value: Any, where: str, unit_m: float) -> tuple[float, float, float, float]:
    front, back, left, right = _numbers(value, _EDGES, where, unit_m)
    if front >= back or left >= right:
        raise HoleFileError(where, "front must be less than back, and left less than right.")
    return front, back, left, right


def _box(entry: Mapping[str, Any], where: str, unit_m: float) -> BaseGeometry:
    front, back, left, right = _edges(entry["box"], where, unit_m)
    return shapely.box(front, left, back, right)


def _oval(entry: Mapping[str, Any], where: str, unit_m: float) -> BaseGeometry:
    front, back, left, right = _edges(entry["oval"], where, unit_m)
    centre = (0.5 * (front + back), 0.5 * (left + right))
    circle = shapely.Point(0.0, 0.0).buffer(1.0, quad_segs=16)
    scaled = shapely.affinity.scale(circle, 0.5 * (back - front), 0.5 * (right - left))
    return shapely.affinity.translate(scaled, *centre)


def _span(entry: Mapping[str, Any], where: str, unit_m: float) -> tuple[float, float]:
    start = number_of(entry.get("from", -_FAR_M / unit_m), f"{where} from") * unit_m
    end = number_of(entry.get("to", _FAR_M / unit_m), f"{where} to") * unit_m
    if start >= end:
        raise HoleFileError(where, "'from' must be less than 'to'.")
    return start, end


def _right_of(entry: Mapping[str, Any], where: str, unit_m: float) -> BaseGeometry:
    edge = number_of(entry["right_of"], where) * unit_m
    start, end = _span(entry, where, unit_m)
    return shapely.box(start, edge, end, edge + _FAR_M)


def _left_of(entry: Mapping[str, Any], where: str, unit_m: float) -> BaseGeometry:
    edge = number_of(entry["left_of"], where) * unit_m
    start, end = _span(entry, where, unit_m)
    return shapely.box(start, edge - _FAR_M, end, edge)


def _beyond(entry: Mapping[str, Any], where: str, unit_m: float) -> BaseGeometry:
    edge = number_of(entry["beyond"], where) * unit_m
    left, right = _span(entry, where, unit_m)
    return shapely.box(edge, left, edge + _FAR_M, right)


_SHAPES: dict[str, Callable[[Mapping[str, Any], str, float], BaseGeometry]] = {
    "outline": _outline,
    "circle": _circle,
    "box": _box,
    "oval": _oval,
    "right_of": _right_of,
    "left_of": _left_of,
    "beyond": _beyond,
}
