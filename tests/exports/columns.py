"""The columns of a random export: which are there, how they are headed, written and worth."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import polars as pl

from tests.exports.composed_words import composed_heading
from tests.exports.hand_words import HAND_HEADINGS
from tests.exports.more_words import MORE_HEADINGS
from tests.exports.printing import Column, NumberStyle, pick, printed, side_cell
from tests.exports.trade_words import (
    ALONG,
    EXTRA_HEADINGS,
    HEADINGS,
    LEFT_POSITIVE,
    LOCAL_UNIT_WORDS,
    RIGHT_POSITIVE,
    SIDES,
    STRAIGHT,
    UNIT_WORDS,
)

DIRECTED = (
    "launch_direction_deg",
    "spin_axis_deg",
    "carry_side_m",
    "total_side_m",
    "club_path_deg",
    "face_angle_deg",
)
OPTIONAL = (
    ("clubhead_speed_mps", 0.4), ("angle_of_attack_deg", 0.3), ("club_path_deg", 0.25),
    ("face_angle_deg", 0.25), ("dynamic_loft_deg", 0.2), ("launch_direction_deg", 0.65),
    ("spin_rate_rpm", 0.9), ("spin_axis_deg", 0.6), ("carry_side_m", 0.75), ("total_m", 0.5),
    ("total_side_m", 0.2), ("apex_m", 0.55), ("descent_angle_deg", 0.35), ("hang_time_s", 0.35),
)  # fmt: skip
_SPEEDS, _LENGTHS = ("mph", "m/s", "km/h"), ("yd", "m")


UNIT_PLACES = (
    *("heading", "heading", "bracket", "comma", "suffix", "slash"),
    *("row", "row", "cell", "none", "none"),
)


@dataclass
class Style:
    """Everything that one file keeps the same in all its columns."""

    language: str
    numbers: NumberStyle
    unit_place: str  # heading, bracket, comma, suffix, row, cell, none
    speed: str
    length: str
    height: str
    sides: str = "sign"  # sign, suffix, prefix
    side_words: int = 0
    left_positive: bool = False
    carry: str = "plain"  # plain, straight, along
    case: str = "as-is"
    trait: set[str] = field(default_factory=set)


def random_style(rng: np.random.Generator, language: str) -> Style:
    """A style by chance: marks, units, signs, heading case."""
    european = language != "en" and rng.random() < 0.8
    decimal = "," if european else "."
    thousands = pick(rng, ["", "", "", "", "." if european else ",", " ", "\u202f", "'"])
    metric = language != "en" or rng.random() < 0.4
    speed = pick(rng, ("m/s", "km/h", "km/h", "mph") if metric else ("mph", "mph", "m/s"))
    length = "m" if metric and rng.random() < 0.9 else "yd"
    style = Style(
        language,
        NumberStyle(decimal, thousands, pick(rng, "---−–"), pick(rng, ["", "", "", "+"])),
        pick(rng, UNIT_PLACES),
        speed,
        length,
        pick(rng, ("m", "m", "ft") if metric else ("ft", "ft", "yd", "m")),
    )  # fmt: skip
    style.sides = pick(rng, ["sign"] * 5 + ["suffix", "prefix", "suffix"])
    style.side_words = int(rng.integers(6))
    style.left_positive = style.sides == "sign" and rng.random() < 0.15
    style.carry = pick(rng, ["plain"] * 6 + ["straight", "along"])
    style.case = pick(rng, ["as-is"] * 5 + ["upper", "lower", "snake", "camel"])
    return style


def unit_of(name: str, style: Style) -> str:
    """Unit in which a file of this style states a canonical column."""
    if name == "apex_m":
        return style.height
    for suffix, unit in (("_mps", style.speed), ("_m", style.length), ("_deg", "deg")):
        if name.endswith(suffix):
            return unit
    return {"spin_rate_rpm": "rpm", "hang_time_s": "s", "backspin": "rpm", "sidespin": "rpm"}[name]


def _decimals(name: str, unit: str, rng: np.random.Generator) -> int:
    if unit == "rpm":
        return 0
    if name == "hang_time_s":
        return int(rng.integers(1, 3))
    if unit == "ft":
        return int(rng.integers(0, 2))
    return int(pick(rng, [1, 1, 1, 2]))


def unit_word(unit: str, language: str, rng: np.random.Generator) -> str:
    """A word for a unit in the language of the file."""
    words = LOCAL_UNIT_WORDS.get(language, {}).get(unit, UNIT_WORDS[unit])
    return str(pick(rng, words))


def dressed(heading: str, word: str, style: Style) -> str:
    """A heading with its unit in the file's manner and the file's letter case."""
    cased = {
        "upper": heading.upper(),
        "lower": heading.lower(),
        "snake": "_".join(heading.lower().replace("(", "").replace(")", "").split()),
        "camel": "".join(w.capitalize() for w in heading.replace("(", "").replace(")", "").split()),
    }.get(style.case, heading)
    if not word:
        return cased
    if style.unit_place == "suffix":
        joiner = "_" if style.case == "snake" else " "
        return f"{cased}{joiner}{word}"
    return {
        "heading": f"{cased} ({word})",
        "bracket": f"{cased} [{word}]",
        "comma": f"{cased}, {word}",
        "slash": f"{cased} / {word}",
    }.get(style.unit_place, cased)


def heading_word(name: str, language: str, rng: np.random.Generator) -> str:
    """A heading for a column, from one of four vocabularies."""
    by_hand = HAND_HEADINGS[language].get(name, ())
    if by_hand and rng.random() < 0.25:
        return str(pick(rng, by_hand))
    composed = composed_heading(name, language, rng) if rng.random() < 0.4 else None
    if composed is not None:
        return composed
    more = MORE_HEADINGS[language].get(name, ())
    words = more if more and rng.random() < 0.5 else HEADINGS[language][name]
    return str(pick(rng, words))


def _said_sign(style: Style, rng: np.random.Generator) -> str:
    words = LEFT_POSITIVE if style.left_positive else RIGHT_POSITIVE
    return f" ({pick(rng, words[style.language])})"


def number_column(
    name: str, values: pl.Series, style: Style, rng: np.random.Generator, word: str | None = None
) -> Column:
    """A canonical number column as printed, with the worth of each cell."""
    unit = unit_of(name, style)
    decimals = _decimals(name, unit, rng)
    heading = word or heading_word(name, style.language, rng)
    if name == "carry_m" and style.carry != "plain":
        table = STRAIGHT if style.carry == "straight" else ALONG
        heading = str(pick(rng, table[style.language]))
    directed = name in DIRECTED or name == "sidespin"
    if directed and (style.left_positive or (style.sides == "sign" and rng.random() < 0.05)):
        heading += _said_sign(style, rng)
    column = Column(name, heading, unit, unit_word(unit, style.language, rng))
    for value in values:
        shown, worth, tolerance = printed(value, unit, decimals)
        column.cells.append(_cell(shown, decimals, column, style, directed))
        column.worth.append(worth)
        column.tolerance = tolerance
    return column


def _cell(shown: float, decimals: int, column: Column, style: Style, directed: bool) -> str:
    if directed and style.left_positive:
        shown = -shown
    if directed and style.sides != "sign":
        text = style.numbers.write(abs(shown), decimals).lstrip("+")
        words = SIDES[style.language][style.side_words % len(SIDES[style.language])]
        text = _with_unit(text, column, style)
        return side_cell(text, shown, words, style.sides == "prefix")
    text = style.numbers.write(shown, decimals)
    if not directed and column.name != "angle_of_attack_deg":
        text = text.removeprefix("+")
    return _with_unit(text, column, style)


def _with_unit(text: str, column: Column, style: Style) -> str:
    if style.unit_place != "cell":
        return text
    return text + column.unit_word if column.unit_word == "°" else f"{text} {column.unit_word}"


def extra_column(
    kind: str, heading: str, shots: pl.DataFrame, style: Style, rng: np.random.Generator
) -> Column:
    """A column without a canonical meaning."""
    n = len(shots)
    values: dict[str, Any] = {
        "smash": lambda: (shots["ball_speed_mps"] / shots["clubhead_speed_mps"], 2),
        "curve": lambda: (pl.Series(rng.normal(0, 8, n)), 1),
        "roll": lambda: (
            (shots["total_m"] - shots["carry_m"]) / (1.0 if style.length == "m" else 0.9144),
            1,
        ),
        "small": lambda: (pl.Series(rng.normal(0, 3, n)), 1),
        "percent": lambda: (pl.Series(np.linspace(98, 91, n)), 0),
        "ratio": lambda: (pl.Series(rng.normal(3.0, 0.2, n)), 1),
        "loft": lambda: (shots["dynamic_loft_deg"] - shots["angle_of_attack_deg"], 1),
        "target": lambda: (pl.Series(np.round(shots["carry_m"].to_numpy(), -1)), 0),
        "plane": lambda: (pl.Series(rng.normal(55, 3, n)), 1),
        "rating": lambda: (pl.Series(rng.integers(1, 6, n).astype(float)), 0),
    }
    if kind == "text":
        words = ["", "", "good", "thin", "pull, low", 'said "nice"', "7 of 10", "toe; heel"]
        return Column("", heading, cells=[str(pick(rng, words)) for _ in range(n)])
    numbers, decimals = values[kind]()
    return Column("", heading, cells=[style.numbers.write(v, decimals) for v in numbers])


def number_columns(
    shots: pl.DataFrame, style: Style, rng: np.random.Generator
) -> tuple[list[Column], dict[str, list[Any]], dict[str, float]]:
    """Printed number columns with truth and tolerance by canonical column."""
    names = ["ball_speed_mps", "launch_angle_deg", "carry_m"]
    names += [name for name, chance in OPTIONAL if rng.random() < chance]
    if style.unit_place == "none":
        names += [n for n in ("spin_rate_rpm",) if n not in names]
    split_spin = "spin_rate_rpm" in names and rng.random() < 0.12
    if split_spin:
        names = [n for n in names if n not in ("spin_rate_rpm", "spin_axis_deg")]
    if style.carry == "straight" and "carry_side_m" not in names:
        names.append("carry_side_m")
    shown = shots
    if style.carry == "straight":
        straight = (shots["carry_m"] ** 2 + shots["carry_side_m"] ** 2).sqrt()
        shown = shots.with_columns(carry_m=straight)
    columns = [number_column(name, shown[name], style, rng) for name in dict.fromkeys(names)]
    data = {c.name: list(c.worth) for c in columns}
    tolerance = {c.name: c.tolerance for c in columns}
    if split_spin:
        columns += _split_spin(shots, style, rng, data, tolerance)
        style.trait.add("spin:back-side")
    _carry_truth(style, data, tolerance)
    return columns, data, tolerance


def _split_spin(
    shots: pl.DataFrame,
    style: Style,
    rng: np.random.Generator,
    data: dict[str, list[Any]],
    tolerance: dict[str, float],
) -> list[Column]:
    """Back and side spin instead of total and axis."""
    axis = np.radians(shots["spin_axis_deg"].to_numpy())
    back = number_column("backspin", shots["spin_rate_rpm"] * np.cos(axis), style, rng)
    side = number_column("sidespin", shots["spin_rate_rpm"] * np.sin(axis), style, rng)
    pairs = list(zip(back.worth, side.worth, strict=True))
    data["spin_rate_rpm"] = [math.hypot(b, s) for b, s in pairs]
    data["spin_axis_deg"] = [math.degrees(math.atan2(s, b)) for b, s in pairs]
    tolerance["spin_rate_rpm"] = 1.02
    tolerance["spin_axis_deg"] = math.degrees(1.02 / min(back.worth))
    return [back, side]


def _carry_truth(style: Style, data: dict[str, list[Any]], tolerance: dict[str, float]) -> None:
    """What the canonical carry is: as stated, converted, or either where the heading is open."""
    stated, side = data["carry_m"], data.get("carry_side_m")
    direction = data.get("launch_direction_deg")
    if side is not None and style.carry != "along":
        along = [math.sqrt(max(c * c - s * s, 0.0)) for c, s in zip(stated, side, strict=True)]
    elif direction is not None and style.carry == "plain":
        along = [c * math.cos(math.radians(d)) for c, d in zip(stated, direction, strict=True)]
    else:
        return
    if style.carry == "straight":
        data["carry_m"] = along
        tolerance["carry_m"] *= 1.3
    else:
        data["carry_m"] = [
            c if abs(c - a) <= tolerance["carry_m"] else {"any": [c, a]}
            for c, a in zip(stated, along, strict=True)
        ]


def extra_columns(shots: pl.DataFrame, style: Style, rng: np.random.Generator) -> list[Column]:
    """A few columns that a reader has to leave aside."""
    known = EXTRA_HEADINGS[style.language]
    count = int(pick(rng, [0, 0, 1, 2, 3]))
    chosen = rng.choice(len(known), size=min(count, len(known)), replace=False)
    return [extra_column(known[i][1], known[i][0], shots, style, rng) for i in chosen]
