"""What all hole files share: units, kinds of ground, checked values, and the error they raise."""

from __future__ import annotations

import math
from typing import Any

from rangeledger.models.strategy.strokes_to_hole_out import LIES
from rangeledger.schemas.errors import UsageError
from rangeledger.schemas.units import YARD_M

UNITS = {"yd": YARD_M, "m": 1.0}
AREA_WORDS = ("fairway", "green", "bunker", "water", "trees", "out_of_bounds")
PARS = range(3, 7)


class HoleFileError(UsageError):
    """A hole file that can't be understood; the message names the file, the key and the cure."""

    def __init__(self, where: str, message: str) -> None:
        super().__init__(f"{where}: {message}")


def number_of(value: Any, where: str) -> float:
    """A number from a hole file.

    Raises
    ------
    HoleFileError
        If it is none.
    """
    if isinstance(value, bool) or not isinstance(value, int | float) or not math.isfinite(value):
        raise HoleFileError(where, f"it is {value!r}. Write a number.")
    return float(value)


def lie_of(value: Any, where: str) -> str:
    """A lie from a hole file or an option.

    Raises
    ------
    HoleFileError
        If it is not a lie.
    """
    if value not in LIES:
        raise HoleFileError(where, f"the lie is {value!r}. Use one of {', '.join(LIES)}.")
    return str(value)


def par_of(value: Any, where: str) -> int:
    """A par from a hole file.

    Raises
    ------
    HoleFileError
        If it is no whole number from 3 to 6.
    """
    if isinstance(value, bool) or not isinstance(value, int) or value not in PARS:
        raise HoleFileError(where, f"par is {value!r}. Write a whole number from 3 to 6.")
    return value
