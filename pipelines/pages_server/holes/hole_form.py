"""A hole as the form has it, as our hole file, and back."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from rangeledger.models.strategy.hole_geometry import Hole
from rangeledger.pipelines.holes.course_file import hole_from_toml, hole_of_a_size
from rangeledger.pipelines.holes.course_words import HoleFileError
from rangeledger.pipelines.pages_server.uploads.dropping import toml_value

_EDGES = ("front", "back", "left", "right")
# Kind of ground -> how many of it the form has, and the shape that its edges make.
AREAS = {
    "green": (1, "oval"), "fairway": (1, "box"), "bunker": (4, "oval"), "water": (2, "box"),
    "trees": (2, "box"),
}  # fmt: skip
# What an empty form shows: a plain hole to change, so that the first drawing is one.
FIRST = {
    "name": "", "par": "4", "flag": "380", "flag_side": "0", "rise": "", "wind": "",
    "left_to_flag": "", "player": "", "strokes": "", "out_left": "", "out_right": "",
    "green1_front": "366", "green1_back": "394", "green1_left": "-13", "green1_right": "13",
    "fairway1_front": "150", "fairway1_back": "360", "fairway1_left": "-16",
    "fairway1_right": "16",
}  # fmt: skip


def hole_tree(form: Mapping[str, str], unit: str) -> dict[str, Any]:
    """A hole file's tables from the fields of the form.

    Parameters
    ----------
    said : mapping of str to str
        Fields; an area with four blank edges is none.
    unit : str
        `yd` or `m`.

    Raises
    ------
    HoleFileError
        Naming the field that can't be used.
    """
    tree: dict[str, Any] = {
        "name": form.get("name", "").strip() or "Hole",
        "par": int(number(form, "par", 4.0)),
        "unit": unit,
        "flag": {"along": number(form, "flag", 0.0), "across": number(form, "flag_side", 0.0)},
    }
    if form.get("rise"):
        tree["flag"]["rise"] = number(form, "rise", 0.0)
    for word, (count, shape) in AREAS.items():
        found = [_area(form, word, k, shape, unit) for k in range(1, count + 1)]
        if any(found):
            tree[word] = [area for area in found if area]
    sides = [{f"{side}_of": number(form, f"out_{side}", 0.0)} for side in ("left", "right")
             if form.get(f"out_{side}")]  # fmt: skip
    if sides:
        tree["out_of_bounds"] = sides
    return tree


def _area(form: Mapping[str, str], word: str, place: int, shape: str, unit: str) -> dict[str, Any]:
    """One area, empty where no edge is given."""
    fields = {edge: f"{word}{place}_{edge}" for edge in _EDGES}
    filled = [edge for edge, field in fields.items() if form.get(field, "").strip()]
    if not filled:
        return {}
    if len(filled) < len(_EDGES):
        missing = next(edge for edge in _EDGES if edge not in filled)
        raise HoleFileError(f"{word} {place}", f"its {missing} edge is missing.")
    area: dict[str, Any] = {shape: {e: number(form, field, 0.0) for e, field in fields.items()}}
    if word == "trees" and form.get(f"trees{place}_high"):
        area[f"height_{unit}"] = number(form, f"trees{place}_high", 0.0)
    return area


def number(form: Mapping[str, str], field: str, otherwise: float) -> float:
    """A number of the form; blank is what is usual.

    Raises
    ------
    HoleFileError
        If it is none.
    """
    text = form.get(field, "").strip().replace(",", ".").replace("−", "-")
    if not text:
        return otherwise
    try:
        return float(text)
    except ValueError:
        raise HoleFileError(field.replace("_", " "), f"'{text}' is not a number.") from None


def hole_of(tree: Mapping[str, Any]) -> Hole:
    """The hole of such tables, checked."""
    return hole_of_a_size(hole_from_toml(tree, str(tree["name"])), str(tree["name"]))


def hole_text(tree: Mapping[str, Any]) -> str:
    """Such tables as a hole file."""
    plain = {name: value for name, value in tree.items() if isinstance(value, str | int | float)}
    lines = ["# Drawn from the tee: along the line to the flag, across it right positive."]
    lines += [f"{name} = {toml_value(value)}" for name, value in plain.items()]
    lines += ["", "[flag]", *(f"{k} = {toml_value(v)}" for k, v in tree["flag"].items())]
    for word, areas in tree.items():
        for area in areas if isinstance(areas, list) else ():
            lines += ["", f"[[{word}]]", *(f"{k} = {_shape(v)}" for k, v in area.items())]
    return "\n".join(lines) + "\n"


def _shape(value: Any) -> str:
    if isinstance(value, Mapping):
        return "{ " + ", ".join(f"{k} = {toml_value(v)}" for k, v in value.items()) + " }"
    return toml_value(value)


def fields_of(path: Path, unit: str) -> dict[str, str] | None:
    """Fields of the form for a hole file that the form can show; None for any other."""
    try:
        tree = tomllib.loads(path.read_text(encoding="utf-8"))
        fields = _fields(tree)
        unchanged = hole_tree(fields, unit) == tree
    except (OSError, ValueError, KeyError, TypeError, AttributeError, HoleFileError):
        return None
    return fields if unchanged and tree.get("unit") == unit else None


def _fields(tree: Mapping[str, Any]) -> dict[str, str]:
    flag = tree["flag"]
    fields = dict.fromkeys(FIRST, "") | {
        "name": str(tree["name"]), "par": str(tree["par"]), "flag": f"{flag['along']:g}",
        "flag_side": f"{flag['across']:g}",
    }  # fmt: skip
    if "rise" in flag:
        fields["rise"] = f"{flag['rise']:g}"
    for word, (_, shape) in AREAS.items():
        for place, area in enumerate(tree.get(word, []), 1):
            for edge in _EDGES:
                fields[f"{word}{place}_{edge}"] = f"{area[shape][edge]:g}"
            for key in area:
                if key.startswith("height_"):
                    fields[f"{word}{place}_high"] = f"{area[key]:g}"
    for area in tree.get("out_of_bounds", []):
        for side in ("left", "right"):
            if f"{side}_of" in area:
                fields[f"out_{side}"] = f"{area[f'{side}_of']:g}"
    return fields
