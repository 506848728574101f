"""A hole from GeoJSON (RFC 7946): longitudes and latitudes laid flat about the ball.

Features have a property `kind`: the points `ball` (or `tee`) and `flag`, the line `line`, and
polygons `fairway`, `green`, `bunker`, `water`, `trees`, `out_of_bounds`, with `name`, and for
water `red`. `name`, `par` and `lie` stand beside `features`, or in the properties of the ball.
"""

from __future__ import annotations

import json
import math
from collections.abc import Callable
from typing import Any

import numpy as np
import shapely
from rangeledger.models.arrays import FloatArray
from rangeledger.models.strategy.hole_geometry import GROUND_BY_WORD, Area, Ground, Hole
from rangeledger.pipelines.holes.course_shapes import tree_height_of, valid_polygon
from rangeledger.pipelines.holes.course_words import AREA_WORDS, HoleFileError, lie_of, par_of
from shapely.geometry.base import BaseGeometry

# WGS 84: half the greater axis [m] and flattening. Source: NIMA TR8350.2.
SEMI_MAJOR_M = 6378137.0
FLATTENING = 1.0 / 298.257223563
_POINTS = ("ball", "tee", "flag")
_KINDS = (*_POINTS, "line", *AREA_WORDS)


def hole_from_geojson(tree: Any, where: str) -> Hole:
    """Build a hole from parsed GeoJSON.

    Parameters
    ----------
    tree : Any
        The parsed file.
    where : str
        Name of the file, for messages.

    Returns
    -------
    Hole
        In metres, the ball at the origin and the flag straight ahead.

    Raises
    ------
    HoleFileError
        Names the feature at fault.
    """
    features = _features(tree, where)
    spots = {kind: shape for kind, shape, _, _ in features if kind in _POINTS}
    start = spots.get("ball", spots.get("tee"))
    if start is None or "flag" not in spots:
        missing = "flag" if start is not None else "ball"
        raise HoleFileError(where, f"a point with kind '{missing}' is missing. Add one.")
    flat = laid_flat((start.x, start.y), (spots["flag"].x, spots["flag"].y))
    flag = flat(np.array([[spots["flag"].x, spots["flag"].y]]))[0]
    areas: list[Area] = []
    line: tuple[tuple[float, float], ...] = ()
    for kind, shape, properties, here in features:
        if kind == "line":
            line = tuple((float(x), float(y)) for x, y in flat(shapely.get_coordinates(shape)))
        elif kind not in _POINTS:
            areas.append(_area(kind, shapely.transform(shape, flat), properties, here))
    if not any(area.ground is Ground.GREEN for area in areas):
        raise HoleFileError(where, "a polygon with kind 'green' is missing. Add one.")
    return Hole(
        name=str(tree.get("name", where)),
        par=par_of(tree.get("par", 4), where),
        ball=(0.0, 0.0),
        lie=lie_of(tree.get("lie", "fairway" if "ball" in spots else "tee"), where),
        flag=(float(flag[0]), 0.0),
        areas=tuple(areas),
        line=line,
    )


def laid_flat(
    start: tuple[float, float], target: tuple[float, float]
) -> Callable[[FloatArray], FloatArray]:
    """Turn longitudes and latitudes into metres along and across a target line.

    Parameters
    ----------
    start, target : tuple of float
        Longitude and latitude of the ball and of the flag [deg].

    Returns
    -------
    callable
        Takes an array of shape (n, 2) of longitudes and latitudes [deg], gives along and across
        [m].

    Notes
    -----
    East and north are the differences of the angles times the radii of curvature of the WGS 84
    ellipsoid at the ball; over a kilometre this is wrong by less than a decimetre.
    """
    longitude, latitude = start
    eccentricity = FLATTENING * (2.0 - FLATTENING)
    w = 1.0 - eccentricity * math.sin(math.radians(latitude)) ** 2
    across_meridian = SEMI_MAJOR_M / math.sqrt(w) * math.cos(math.radians(latitude))
    along_meridian = SEMI_MAJOR_M * (1.0 - eccentricity) / w**1.5

    def east_north(angles: FloatArray) -> FloatArray:
        east = np.radians(angles[:, 0] - longitude) * across_meridian
        north = np.radians(angles[:, 1] - latitude) * along_meridian
        return np.column_stack((east, north))

    east, north = east_north(np.array([target]))[0]
    heading = math.atan2(east, north)
    turn = np.array(
        [[math.sin(heading), math.cos(heading)], [math.cos(heading), -math.sin(heading)]]
    )
    return lambda angles: np.asarray(east_north(np.asarray(angles)) @ turn)


def _features(tree: Any, where: str) -> list[tuple[str, BaseGeometry, dict[str, Any], str]]:
    """Kind, shape, properties and place in the file of each feature."""
    if not isinstance(tree, dict) or tree.get("type") != "FeatureCollection":
        raise HoleFileError(where, "it is not a FeatureCollection. Export the hole as one.")
    features = tree.get("features")
    if not isinstance(features, list):
        raise HoleFileError(where, "its features are no list. Export the hole anew.")
    found = []
    for number, feature in enumerate(features, 1):
        here = f"{where}, feature {number}"
        properties = _table(feature, "properties")
        kind = properties.get("kind")
        if kind not in _KINDS:
            raise HoleFileError(here, f"its kind is {kind!r}. Use one of {', '.join(_KINDS)}.")
        found.append((kind, _shape(feature, kind, here), properties, here))
    return found


def _table(feature: Any, key: str) -> dict[str, Any]:
    """A table inside a feature; an empty one where it is missing or something else."""
    value = feature.get(key) if isinstance(feature, dict) else None
    return value if isinstance(value, dict) else {}


def _shape(feature: dict[str, Any], kind: str, here: str) -> BaseGeometry:
    """Shape of a feature, of the type that its kind asks for."""
    allowed = {"line": ("LineString",)} | dict.fromkeys(_POINTS, ("Point",))
    types = allowed.get(kind, ("Polygon", "MultiPolygon"))
    geometry = _table(feature, "geometry")
    if geometry.get("type") not in types:
        raise HoleFileError(
            here, f"a {kind} must be a {' or '.join(types)}, not {geometry.get('type')!r}."
        )
    try:
        return shapely.from_geojson(json.dumps(geometry))
    except shapely.errors.GEOSException as error:
        raise HoleFileError(here, "its coordinates can't be read. Draw it anew.") from error


def _area(kind: str, shape: BaseGeometry, properties: dict[str, Any], here: str) -> Area:
    shape = valid_polygon(shape, here)
    name = str(properties.get("name", kind))
    red, height_m = bool(properties.get("red", False)), tree_height_of(properties, here)
    return Area(GROUND_BY_WORD[kind], name, shape, red, height_m)
