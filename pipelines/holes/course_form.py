"""What a hole file of our own may say, as a declared form.

Shapes of an area, exactly one of them:

- `outline = [[along, across], ...]`: at least three corners in order;
- `circle = { along, across, radius }`;
- `box = { front, back, left, right }`, and `oval` with the same four: the ellipse in that box;
- `right_of`, `left_of`, `beyond`: everything past that distance, with `from` and `to` to end it.

Lengths are in the file's unit. Trees may say `height_yd` or `height_m`, else they are 15 yd high.
"""

from __future__ import annotations

from typing import Annotated, Any, Literal, Self

from pydantic import BeforeValidator, Field, model_validator
from rangeledger.models.strategy.strokes_to_hole_out import LIES
from rangeledger.pipelines.holes.course_words import AREA_WORDS, PARS
from rangeledger.schemas.declared import Declared

Number = Annotated[float, Field(allow_inf_nan=False)]
Height = Annotated[float, Field(allow_inf_nan=False, ge=0.0)]
SHAPES = ("outline", "circle", "box", "oval", "right_of", "left_of", "beyond")


def _pair(value: Any) -> Any:
    if not isinstance(value, list) or len(value) != 2:
        raise ValueError("write [along, across]")
    return tuple(value)


Point = Annotated[tuple[Number, Number], BeforeValidator(_pair)]


def _lie(value: Any) -> Any:
    if value not in LIES:
        raise ValueError(f"use one of {', '.join(LIES)}")
    return value


class Place(Declared):
    """A place on the plan: along the target line and across it, right positive."""

    along: Number
    across: Number = 0.0


class BallForm(Declared):
    """Where the ball lies."""

    along: Number = 0.0
    across: Number = 0.0
    lie: Annotated[str, BeforeValidator(_lie)] = "tee"


class FlagForm(Place):
    """Where the flag stands, and how far above the ball."""

    rise: Number = 0.0


class CircleForm(Place):
    """A circle about a place."""

    radius: Annotated[float, Field(allow_inf_nan=False, gt=0.0)]


class Edges(Declared):
    """Four edges of a box, or of the ellipse in it."""

    front: Number
    back: Number
    left: Number
    right: Number

    @model_validator(mode="after")
    def _in_order(self) -> Self:
        if self.front >= self.back or self.left >= self.right:
            raise ValueError("front must be less than back, and left less than right")
        return self


class AreaForm(Declared):
    """A ground and its shape."""

    name: str | None = None
    outline: Annotated[list[Point], Field(min_length=3)] | None = None
    circle: CircleForm | None = None
    box: Edges | None = None
    oval: Edges | None = None
    right_of: Number | None = None
    left_of: Number | None = None
    beyond: Number | None = None
    start: Annotated[Number | None, Field(alias="from")] = None
    to: Number | None = None

    @property
    def shapes(self) -> list[str]:
        """Names of the shapes it gives."""
        return [name for name in SHAPES if getattr(self, name) is not None]

    @model_validator(mode="after")
    def _one_shape(self) -> Self:
        if len(self.shapes) != 1:
            raise ValueError(f"give it exactly one shape: {', '.join(SHAPES)}")
        if self.start is not None and self.to is not None and self.start >= self.to:
            raise ValueError("'from' must be less than 'to'")
        return self


class WaterForm(AreaForm):
    """Water; a red penalty area allows relief to the side."""

    red: bool = False


class TreesForm(AreaForm):
    """Trees, and how high they stand above the ball."""

    height_yd: Height | None = None
    height_m: Height | None = None


def _listed(value: Any) -> Any:
    """One table, as [green], is a list of one."""
    return [value] if isinstance(value, dict) else value


def _named_par(value: Any) -> Any:
    if isinstance(value, bool) or not isinstance(value, int) or value not in PARS:
        raise ValueError(f"write a whole number from {PARS[0]} to {PARS[-1]}")
    return value


Areas = Annotated[list[AreaForm], BeforeValidator(_listed)]


class HoleForm(Declared):
    """A hole file of our own."""

    unit: Annotated[Literal["yd", "m"], Field(description='write unit = "yd" or unit = "m"')]
    flag: Annotated[FlagForm, Field(description="add [flag] with along and across")]
    name: str | None = None
    par: Annotated[int, BeforeValidator(_named_par)] = 4
    ball: BallForm = BallForm()
    line: list[Point] = Field(default_factory=list)
    fairway: Areas = Field(default_factory=list)
    green: Annotated[
        Areas, Field(description="add [plain] with front, back and width, or [[green]]")
    ]
    bunker: Areas = Field(default_factory=list)
    water: Annotated[list[WaterForm], BeforeValidator(_listed)] = Field(default_factory=list)
    trees: Annotated[list[TreesForm], BeforeValidator(_listed)] = Field(default_factory=list)
    out_of_bounds: Areas = Field(default_factory=list)

    @model_validator(mode="after")
    def _has_a_green(self) -> Self:
        if not self.green:
            raise ValueError("green is missing; add [[green]] with one shape")
        return self

    def areas(self) -> list[tuple[str, int, AreaForm]]:
        """All areas with their kind and their place among its kind, from 1."""
        return [
            (word, number, area)
            for word in AREA_WORDS
            for number, area in enumerate(getattr(self, word), 1)
        ]
