"""Areas of a hole file: each turns into a polygon in metres. The forms: `course_form`."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

import shapely
from rangeledger.models.strategy.hole_geometry import GROUND_BY_WORD, TREE_HEIGHT_M, Area
from rangeledger.pipelines.holes.course_form import AreaForm, Edges, TreesForm, WaterForm
from rangeledger.pipelines.holes.course_words import UNITS, HoleFileError, number_of
from shapely.geometry.base import BaseGeometry

# How far a shape without an end goes [m].
_FAR_M = 1000.0


def area_of(form: AreaForm, word: str, where: str, unit_m: float) -> Area:
    """One area of a hole file.

    Parameters
    ----------
    form : AreaForm
        The checked entry.
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
        If the outline crosses itself.
    """
    (name,) = form.shapes
    shape = valid_polygon(_SHAPES[name](form, unit_m), f"{where}.{name}")
    red = isinstance(form, WaterForm) and form.red
    height_m = _height_m(form) if isinstance(form, TreesForm) else TREE_HEIGHT_M
    return Area(GROUND_BY_WORD[word], form.name or word, shape, red, height_m)


def _height_m(form: TreesForm) -> float:
    heights = {unit: getattr(form, f"height_{unit}") for unit in UNITS}
    heights_m = (height * UNITS[unit] for unit, height in heights.items() if height is not None)
    return next(heights_m, TREE_HEIGHT_M)


def tree_height_of(entry: Mapping[str, Any], where: str) -> float:
    """How high trees stand, from a property `height_yd` or `height_m`.

    Parameters
    ----------
    entry : mapping
        Properties of an area.
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


def _outline(form: AreaForm, unit_m: float) -> BaseGeometry:
    assert form.outline is not None
    return shapely.Polygon([(along * unit_m, across * unit_m) for along, across in form.outline])


def _circle(form: AreaForm, unit_m: float) -> BaseGeometry:
    assert form.circle is not None
    centre = shapely.Point(form.circle.along * unit_m, form.circle.across * unit_m)
    return centre.buffer(form.circle.radius * unit_m, quad_segs=16)


def _edges(edges: Edges | None, unit_m: float) -> tuple[float, float, float, float]:
    assert edges is not None
    front, back, left, right = edges.front, edges.back, edges.left, edges.right
    return front * unit_m, back * unit_m, left * unit_m, right * unit_m


def _box(form: AreaForm, unit_m: float) -> BaseGeometry:
    front, back, left, right = _edges(form.box, unit_m)
    return shapely.box(front, left, back, right)


def _oval(form: AreaForm, unit_m: float) -> BaseGeometry:
    front, back, left, right = _edges(form.oval, unit_m)
    centre = (0.5 * (front + back), 0.5 * (left + right))
    circle = shapely.Point(0.0, 0.0).buffer(1.0, quad_segs=16)
    scaled = shapely.affinity.scale(circle, 0.5 * (back - front), 0.5 * (right - left))
    return shapely.affinity.translate(scaled, *centre)


def _span(form: AreaForm, unit_m: float) -> tuple[float, float]:
    """From where to where an edge goes; an end that is not given lies far beyond the other."""
    start = None if form.start is None else form.start * unit_m
    end = None if form.to is None else form.to * unit_m
    far_start, far_end = min(end or 0.0, 0.0) - _FAR_M, max(start or 0.0, 0.0) + _FAR_M
    return far_start if start is None else start, far_end if end is None else end


def _right_of(form: AreaForm, unit_m: float) -> BaseGeometry:
    edge, (start, end) = (form.right_of or 0.0) * unit_m, _span(form, unit_m)
    return shapely.box(start, edge, end, edge + _FAR_M)


def _left_of(form: AreaForm, unit_m: float) -> BaseGeometry:
    edge, (start, end) = (form.left_of or 0.0) * unit_m, _span(form, unit_m)
    return shapely.box(start, edge - _FAR_M, end, edge)


def _beyond(form: AreaForm, unit_m: float) -> BaseGeometry:
    edge, (left, right) = (form.beyond or 0.0) * unit_m, _span(form, unit_m)
    return shapely.box(edge, left, edge + _FAR_M, right)


_SHAPES: dict[str, Callable[[AreaForm, float], BaseGeometry]] = {
    "outline": _outline,
    "circle": _circle,
    "box": _box,
    "oval": _oval,
    "right_of": _right_of,
    "left_of": _left_of,
    "beyond": _beyond,
}
