"""The note file `EXPORT.toml` beside `EXPORT.csv`: what the export doesn't say about its shots."""

from __future__ import annotations

import difflib
import os
import re
import tomllib
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import date, datetime, time
from functools import partial
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

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


class _RefusedError(Exception):
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
    if isinstance(value, datetime):
        return value.date()
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


def _line_of(text: str, key: str) -> int:
    """Line of a key, from 1; 1 where it can't be found."""
    pattern = re.compile(rf"^\s*[\"']?{re.escape(key)}[\"']?\s*=")
    return next((n for n, line in enumerate(text.splitlines(), 1) if pattern.match(line)), 1)


def _error(path: Path, text: str, key: str, message: str) -> NoteError:
    return NoteError(f"{path.name}, line {_line_of(text, key)}: {message}.", FileReason.BAD_NOTE)


def _unknown_key(path: Path, text: str, key: str) -> NoteError:
    near = difflib.get_close_matches(key.casefold(), (*KEYS, *TABLES), n=2, cutoff=0.6)
    if near:
        hint = f"did you mean {' or '.join(near)}"
    else:
        hint = f"known keys are {', '.join(KEYS)}, and the tables [units] and [signs]"
    return _error(path, text, key, f"the key {key!r} is not known; {hint}")


def _read_table(path: Path, text: str, name: str, table: Any) -> dict[str, str]:
    """`[units]` or `[signs]`: heading of the export -> symbol or sign."""
    choices = tuple(UNITS) if name == "units" else SIGNS
    read = _unit if name == "units" else str
    if not isinstance(table, dict):
        raise _error(path, text, name, f"{name!r} must be a table: write [{name}] on its own line")
    found = {str(heading): read(value) for heading, value in table.items()}
    for heading, value in table.items():
        if found[heading] not in choices:
            wanted = ", ".join(choices)
            message = f"{value!r} for {heading!r} in [{name}] is not known; use one of {wanted}"
            raise _error(path, text, heading, message)
    return found


def _unit(value: Any) -> str:
    """The symbol of a unit's writing (`yards` -> `yd`), the writing itself if it has none."""
    symbols = () if value in UNITS else unit_symbols(str(value))
    return symbols[0] if len(symbols) == 1 else str(value)


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


def _parsed(path: Path, text: str) -> dict[str, Any]:
    try:
        return tomllib.loads(text)
    except (tomllib.TOMLDecodeError, RecursionError) as error:
        found = re.search(r"line (\d+)", str(error))
        where = f"line {found[1] if found else max(1, len(text.splitlines()))}"
        message = (
            f'{path.name}, {where}: not valid TOML; write lines such as player = "Ann" '
            "or air_temp_c = 18.5."
        )
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
    found: dict[str, Any] = {}
    for key, value in _parsed(path, text).items():
        if key in TABLES:
            found[key] = _read_table(path, text, key, value)
        elif key not in _READERS:
            raise _unknown_key(path, text, key)
        else:
            try:
                found[key] = _READERS[key](value)
            except _RefusedError as refused:
                message = f"{key} = {value!r} can't be used; {refused}"
                raise _error(path, text, key, message) from None
            if key == "date" and isinstance(value, datetime):
                found["moment"] = value
    return _note(path, text, found)


def _note(path: Path, text: str, found: dict[str, Any]) -> Note:
    day, moment = found.get("date"), found.get("moment")
    if "time" in found:
        if day is None:
            raise _error(path, text, "time", "time is stated without date; add date = 2025-02-15")
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


def note_beside(export: Path) -> Path | None:
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
    wanted = exact.name.casefold()
    alike = (p for p in export.parent.iterdir() if p.name.casefold() == wanted and p.is_file())
    return next(alike, None)
