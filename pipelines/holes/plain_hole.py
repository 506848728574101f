"""The plain form of a hole file: a green by front, back and width, flag, fairway and bunkers.

    [plain]
    front = 128                      # to the front of the green, from the tee
    back = 156
    width = 27                       # of the green, half to either side of its middle
    side = 0                         # its middle right of the line
    flag = 142                       # to the flag; the middle of the green where it is left out
    flag_side = 8                    # the flag right of the line
    fairway_width = 30               # a fairway to the front of the green; none where left out
    bunkers = [[117, 126, -12, -1]]  # front, back, left edge, right edge of each

Shapes may stand beside it: water, trees, out of bounds and whatever is not so plain.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from rangeledger.pipelines.holes.course_words import HoleFileError, number_of

_NEEDED = ("front", "back", "width")
_NUMBERS = (*_NEEDED, "side", "flag", "flag_side", "fairway_width")
_EDGES = ("front", "back", "left", "right")
# Where a fairway begins: a tee shot of any club for it lands beyond. Common practice, no source.
_FAIRWAY_FROM_SHARE = 0.3


def with_plain_shapes(tree: Mapping[str, Any], where: str) -> Mapping[str, Any]:
    """The tables of a hole file with those that its plain form stands for.

    Parameters
    ----------
    tree : mapping
        The parsed file.
    where : str
        Name of the file, for messages.

    Returns
    -------
    mapping
        The same without `plain`, which is written out as flag, green, fairway and bunkers.

    Raises
    ------
    HoleFileError
        Names the key at fault.
    """
    if "plain" not in tree:
        return tree
    plain, here = tree["plain"], f"{where}, plain"
    if not isinstance(plain, dict):
        raise HoleFileError(here, f"write it as a table: [plain] with {', '.join(_NEEDED)} below.")
    unknown = sorted(set(plain) - {*_NUMBERS, "bunkers"})
    if unknown:
        known = ", ".join((*_NUMBERS, "bunkers"))
        raise HoleFileError(here, f"'{unknown[0]}' is not known here. Use {known}.")
    missing = [key for key in _NEEDED if key not in plain]
    if missing:
        raise HoleFileError(here, f"its {missing[0]} is missing. Add it.")
    values = {key: number_of(plain[key], f"{here}.{key}") for key in _NUMBERS if key in plain}
    shapes = {name: table for name, table in tree.items() if name != "plain"}
    half, side = values["width"] / 2.0, values.get("side", 0.0)
    green = _edges(values["front"], values["back"], side - half, side + half)
    shapes["green"] = [{"oval": green}, *_listed(tree, "green")]
    middle = (values["front"] + values["back"]) / 2.0
    flag = {"along": values.get("flag", middle), "across": values.get("flag_side", side)}
    shapes.setdefault("flag", flag)
    if "fairway_width" in values:
        half = values["fairway_width"] / 2.0
        start = _FAIRWAY_FROM_SHARE * values["front"]
        mown = {"box": _edges(start, values["front"], -half, half)}
        shapes["fairway"] = [mown, *_listed(tree, "fairway")]
    bunkers = _bunkers(plain.get("bunkers", []), f"{here}.bunkers")
    if bunkers:
        shapes["bunker"] = [*bunkers, *_listed(tree, "bunker")]
    return shapes


def _listed(tree: Mapping[str, Any], word: str) -> list[Any]:
    """Areas of a kind that stand in the file as shapes."""
    areas = tree.get(word, [])
    return areas if isinstance(areas, list) else [areas]


def _edges(front: float, back: float, left: float, right: float) -> dict[str, float]:
    return dict(zip(_EDGES, (front, back, left, right), strict=True))


def _bunkers(value: Any, where: str) -> list[dict[str, Any]]:
    """Bunkers from lists of four edges."""
    if not isinstance(value, list):
        raise HoleFileError(where, "write a list: [[front, back, left, right], ...].")
    found = []
    for place, edges in enumerate(value, 1):
        here = f"{where}, bunker {place}"
        if not isinstance(edges, list) or len(edges) != len(_EDGES):
            raise HoleFileError(here, f"it is {edges!r}. Write [front, back, left, right].")
        numbers = [number_of(edge, here) for edge in edges]
        found.append({"name": f"bunker {place}", "oval": _edges(*numbers)})
    return found
