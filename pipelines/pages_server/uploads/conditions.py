"""What a coach says of a visit on the form, as the note beside an export states it."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date

from rangeledger.pipelines.pages_server.replies.problems import PageError
from rangeledger.schemas.columns import BALLS, BY_NAME, HEIGHT_WORDS, SURFACES
from rangeledger.schemas.units import FOOT_M, MPH_MPS

BALL_CHOICES = tuple(ball for ball in BALLS if ball != "unknown")
SURFACE_CHOICES = tuple(surface for surface in SURFACES if surface != "unknown")
# Where a wind was taken, in words; the note states it where the ledger keeps it.
HEIGHT_CHOICES = HEIGHT_WORDS
_BACK = ("/inbox", "To the inbox")


def note_of(fields: Mapping[str, str]) -> dict[str, str | float]:
    """The note for what was said; blank fields say nothing.

    Parameters
    ----------
    said : mapping of str to str
        Fields of the form: player, date, ball, surface, wind, wind_unit, wind_from, wind_height,
        temp, temp_unit, up, up_unit.

    Returns
    -------
    dict of str to str or float
        Canonical names and SI values.

    Raises
    ------
    PageError
        Naming the field and what is expected.
    """
    note: dict[str, str | float] = {}
    for name in ("player", "ball", "surface", "wind_height"):
        if fields.get(name):
            note[name] = fields[name]
    if fields.get("date"):
        note["date"] = _day(fields["date"])
    customary = fields.get("units", "yd") == "yd"
    wind = _number(fields, "wind", "wind_speed_mps", MPH_MPS if customary else 1.0)
    if wind is not None:
        note["wind_speed_mps"] = wind
        note["wind_from_deg"] = 30.0 * ((_number(fields, "wind_from", "", 1.0) or 12.0) % 12.0)
    else:
        note.pop("wind_height", None)
    temp = _number(fields, "temp", "", 1.0)
    if temp is not None:
        celsius = (temp - 32.0) / 1.8 if customary else temp
        note["air_temp_c"] = _within("temp", "air_temp_c", round(celsius, 2))
    up = _number(fields, "up", "altitude_m", FOOT_M if customary else 1.0)
    if up is not None:
        note["altitude_m"] = up
    return note


def _day(text: str) -> str:
    try:
        return date.fromisoformat(text).isoformat()
    except ValueError:
        raise PageError(400, f"'{text}' is no day. Write it as 2026-05-02.", _BACK) from None


def _number(fields: Mapping[str, str], field: str, column: str, factor: float) -> float | None:
    text = fields.get(field, "").replace(",", ".").replace("−", "-")
    if not text:
        return None
    try:
        value = round(float(text) * factor, 3)
    except ValueError:
        raise PageError(
            400, f"'{text}' is not a number ({field.replace('_', ' ')}).", _BACK
        ) from None
    return _within(field, column, value) if column else value


def _within(field: str, column: str, value: float) -> float:
    low, high = BY_NAME[column].low, BY_NAME[column].high
    if not (low or 0.0) <= value <= (high or 0.0):
        raise PageError(
            400, f"That can't be ({field.replace('_', ' ')}): give what comes to {low:g} to "
            f"{high:g} {BY_NAME[column].unit}.", _BACK,
        )  # fmt: skip
    return value
