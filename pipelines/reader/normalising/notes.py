"""The note file `EXPORT.toml` beside `EXPORT.csv`: what the export doesn't say about its shots."""

from __future__ import annotations

import os
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import date, datetime, time
from functools import partial
from pathlib import Path
from typing import Annotated, Any
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from pydantic import BeforeValidator, Field, create_model
from rangeledger.pipelines.reader.normalising.swings import swing_of
from rangeledger.pipelines.reader.normalising.time_parts import read_clock, read_date
from rangeledger.pipelines.reader.normalising.words import (
    ball_of,
    flight_basis_of,
    hand_of,
    player_of,
    surface_of,
)
from rangeledger.schemas.clubs import club_of
from rangeledger.schemas.columns import BY_NAME, CONDITIONS, WIND_HEIGHTS
from rangeledger.schemas.date_orders import DATE_ORDERS
from rangeledger.schemas.declared import Declared, DeclaredError, checked_toml, line_of
from rangeledger.schemas.errors import NoteError
from rangeledger.schemas.headings import unit_symbols
from rangeledger.schemas.reasons import FileReason
from rangeledger.schemas.units import UNITS

SIGNS = ("right-positive", "left-positive")
TABLES = ("units", "signs")
_LARGEST_NOTE = 1_000_000


@dataclass(frozen=True, slots=True)
class Note:
    """What a note states.

    Parameters
    ----------
    values : dict[str, str or float]
        Canonical column -> its value for every shot that states none itself.
    day : date or None
        Day of the visit.
    moment : datetime or None
        Day and time where both are stated; local unless it carries a zone.
    zone : ZoneInfo or None
        Zone of times that state none.
    date_order : str or None
        `day-month`, `month-day` or `year-month-day`.
    hand : str or None
        `right` or `left`.
    units : dict[str, str]
        Heading of the export -> unit symbol of `rangeledger.schemas.units`.
    signs : dict[str, str]
        Heading of the export -> `right-positive` or `left-positive`.
    """

    values: dict[str, str | float] = field(default_factory=dict)
    day: date | None = None
    moment: datetime | None = None
    zone: ZoneInfo | None = None
    date_order: str | None = None
    hand: str | None = None
    units: dict[str, str] = field(default_factory=dict)
    signs: dict[str, str] = field(default_factory=dict)


class _RefusedError(ValueError):
    """A value that can't be used; the text says what is expected."""


def _text(value: Any) -> str:
    if not isinstance(value, str) or not value.strip():
        raise _RefusedError("expected text in quotes")
    return value


def _number(name: str, value: Any) -> float:
    column = BY_NAME[name]
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise _RefusedError(f"expected a number in {column.unit}, without quotes")
    low, high = column.low, column.high
    if low is None or high is None or not low <= value <= high:
        raise _RefusedError(f"expected a number from {low:g} to {high:g} {column.unit}")
    return float(value)


def _known(read: Callable[[str], str | None], choices: str, value: Any) -> str:
    found = read(_text(value))
    if found is None:
        raise _RefusedError(f"expected {choices}")
    return found


def _player(value: Any) -> str:
    name = player_of(_text(value))
    if name is None:
        raise _RefusedError("expected a name")
    return name


def _day(value: Any) -> date:
    if isinstance(value, date):
        return value
    found = read_date(_text(value))
    days = set(found.readings.values()) if found else set()
    if len(days) != 1:
        raise _RefusedError("expected a date such as 2025-02-15")
    return days.pop()


def _time_of_day(value: Any) -> time:
    if isinstance(value, time):
        return value
    clock = read_clock(_text(value))
    if clock is None or clock.offset is not None:
        raise _RefusedError("expected a time of day such as 14:30")
    seconds, ms = divmod(clock.ms, 1000)
    return time(seconds // 3600, seconds // 60 % 60, seconds % 60, ms * 1000)


def _zone(value: Any) -> ZoneInfo:
    try:
        return ZoneInfo(_text(value))
    except (ZoneInfoNotFoundError, ValueError, OSError):
        raise _RefusedError("expected a time zone such as Europe/Stockholm") from None


def _choice(choices: tuple[str, ...], value: Any) -> str:
    if value not in choices:
        raise _RefusedError("expected " + " or ".join(choices))
    return str(value)


_READERS: dict[str, Callable[[Any], Any]] = {
    "player": _player,
    "date": _day,
    "time": _time_of_day,
    "zone": _zone,
    "date_order": partial(_choice, tuple(DATE_ORDERS)),
    "hand": partial(_known, hand_of, "right or left"),
    "club": lambda value: club_of(_text(value)).name,
    "swing": partial(_known, swing_of, "full, a clock position such as 9:00, or a label"),
    "ball": partial(_known, ball_of, "premium, range, limited-flight or unknown"),
    "surface": partial(_known, surface_of, "grass, mat, tee or unknown"),
    "flight_basis": partial(_known, flight_basis_of, "measured, modelled or unknown"),
    **{name: partial(_number, name) for name in CONDITIONS},
    "wind_height": partial(_choice, WIND_HEIGHTS),
    "monitor": lambda value: _text(value).strip(),
    "site": lambda value: _text(value).strip(),
}
KEYS: tuple[str, ...] = tuple(_READERS)
_NOT_COLUMNS = ("date", "time", "zone", "date_order", "hand")


def _unit(value: Any) -> str:
    """The symbol of a unit's writing: `yd` of `yards`."""
    symbols = (value,) if value in UNITS else unit_symbols(str(value))
    if len(symbols) != 1:
        raise _RefusedError(f"use one of {', '.join(u for u in UNITS if ' ' not in u)}")
    return str(symbols[0])


_Unit = Annotated[str, BeforeValidator(_unit)]
_Sign = Annotated[str, BeforeValidator(partial(_choice, SIGNS))]
# The note: each key as its reader takes it, and a table of headings for units and for signs.
_NoteForm: type[Declared] = create_model(
    "_NoteForm",
    __base__=Declared,
    **{key: (Annotated[Any, BeforeValidator(read)], None) for key, read in _READERS.items()},
    units=(dict[str, _Unit], Field(default_factory=dict)),
    signs=(dict[str, _Sign], Field(default_factory=dict)),
)  # type: ignore[call-overload]


def _decoded(path: Path) -> str:
    try:
        if path.stat().st_size > _LARGEST_NOTE:
            raise NoteError(f"{path.name} is too large for a note.", FileReason.BAD_NOTE)
        return path.read_bytes().decode("utf-8-sig")
    except UnicodeDecodeError:
        message = f"{path.name} is not UTF-8 text; save it as UTF-8 and offer the export again."
        raise NoteError(message, FileReason.BAD_NOTE) from None
    except OSError as error:
        message = f"{path.name} can't be read ({error.strerror}); check it and try again."
        raise NoteError(message, FileReason.BAD_NOTE) from None


def read_note(path: Path) -> Note:
    """What a note file states.

    Parameters
    ----------
    path : Path
        The TOML file.

    Returns
    -------
    Note
        Checked values in canonical words and units.

    Raises
    ------
    NoteError
        One sentence with file, line, key and what is expected, for TOML that can't be read, a
        key that is not known, and a value of the wrong kind or outside the possible range.
    """
    text = _decoded(path)
    try:
        form = checked_toml(text, _NoteForm)
    except DeclaredError as error:
        raise NoteError(f"{path.name}, {error}", FileReason.BAD_NOTE) from None
    found = {key: getattr(form, key) for key in form.model_fields_set}
    return _note(path, text, found)


def _note(path: Path, text: str, found: dict[str, Any]) -> Note:
    stated: date | None = found.get("date")
    moment = stated if isinstance(stated, datetime) else None
    day = moment.date() if moment else stated
    if "time" in found:
        if day is None:
            message = "time is stated without date; add date = 2025-02-15."
            line = line_of(text, ["time"])
            raise NoteError(f"{path.name}, line {line}: {message}", FileReason.BAD_NOTE)
        moment = datetime.combine(day, found["time"])
    constants = {k: v for k, v in found.items() if k in KEYS and k not in _NOT_COLUMNS}
    return Note(
        values=constants,
        day=day,
        moment=moment,
        zone=found.get("zone"),
        date_order=found.get("date_order"),
        hand=found.get("hand"),
        units=found.get("units", {}),
        signs=found.get("signs", {}),
    )


def companion_note(export: Path) -> Path | None:
    """The note file of an export: the same name with `.toml`, whatever its letters' case.

    Parameters
    ----------
    export : Path
        The export.

    Returns
    -------
    Path or None
        The note, None where there is none.
    """
    exact = export.with_suffix(".toml")
    if os.path.isfile(exact):  # False too where such a name would be too long
        return exact
    if not export.parent.is_dir():
        return None
    folded_name = exact.name.casefold()
    alike = (p for p in export.parent.iterdir() if p.name.casefold() == folded_name and p.is_file())
    return next(alike, None)
