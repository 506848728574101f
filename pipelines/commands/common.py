"""What the commands share: the home they work on, the options for formats and for the air."""

from __future__ import annotations

import math
from enum import StrEnum
from typing import TYPE_CHECKING, Annotated, NamedTuple

import typer
from rangeledger.pipelines.output.printing import Format
from rangeledger.schemas.columns import BY_NAME
from rangeledger.schemas.errors import UsageError
from rangeledger.warehouse.home import Home, find_home

if TYPE_CHECKING:
    import polars as pl

FormatOption = Annotated[
    Format, typer.Option("--format", help="How rows are printed on standard output.")
]
SpreadsheetOption = Annotated[
    bool,
    typer.Option(
        "--for-spreadsheet",
        help="In CSV, keep text from being taken for a formula by who opens it.",
    ),
]
AirTempOption = Annotated[
    float | None, typer.Option(help="Air temperature [degC]; else 23.9.", show_default=False)
]
AirPressureOption = Annotated[
    float | None,
    typer.Option(
        help="Station pressure, not reduced to sea level [hPa]; else from the altitude.",
        show_default=False,
    ),
]
HumidityOption = Annotated[
    float | None, typer.Option(help="Relative humidity [%]; else 50.", show_default=False)
]


class LengthUnit(StrEnum):
    """Unit of lengths in sentences and tables."""

    YARDS = "yd"
    METRES = "m"


class WindHeight(StrEnum):
    """Where a stated wind was taken."""

    WEATHER = "weather"
    PLAYER = "player"
    BALL = "ball"


WindHeightOption = Annotated[
    WindHeight,
    typer.Option(
        help="Where that wind was taken: weather, 10 m up in open country, as a report has it; "
        "player, by hand 2 m up; ball, the uniform wind that the ball meets."
    ),
]
AltitudeOption = Annotated[
    float | None, typer.Option(help="Height above sea level [m]; else 0.", show_default=False)
]


def for_spreadsheets(rows: pl.DataFrame, form: Format, *, requested: bool) -> pl.DataFrame:
    """Rows as they are, or with no text that begins a formula where a user wants that.

    Raises
    ------
    UsageError
        If it is wanted of another format, whose readers take nothing for a formula.
    """
    if not requested:
        return rows
    if form is not Format.CSV:
        raise UsageError("--for-spreadsheet is for CSV. Add --format csv.")
    from rangeledger.pipelines.output.spreadsheet import safe_for_spreadsheets

    return safe_for_spreadsheets(rows)


def home_of(context: typer.Context) -> Home:
    """Home named before the command, else by the environment, else the default; opened."""
    from rangeledger.warehouse.opening import open_home  # commands that only ask start sooner

    return open_home(find_home(context.obj))


SessionArgument = Annotated[
    str | None,
    typer.Argument(help="Session: its id, the beginning of that, or its day (2026-05-02)."),
]
SessionPlayerOption = Annotated[
    str | None, typer.Option("--player", help="Whose session, where a day had several.")
]
ExportOption = Annotated[
    str | None,
    typer.Option("--export", help="An export instead: its name, or the beginning of its hash."),
]


def require_one_target(session: str | None, player: str | None, export: str | None) -> None:
    """See that either a session or an export is named.

    Raises
    ------
    UsageError
        If neither is, or both are.
    """
    if (session is None) == (export is None) or (export is not None and player is not None):
        raise UsageError("Name a session, with --player where a day had several, or --export FILE.")


class FoundSession(NamedTuple):
    """The session that a user means, in full and in words, and whether it is left out now."""

    session_id: str
    words: str
    excluded: bool


def find_session(home: Home, sought: str, player: str | None = None) -> FoundSession:
    """The session that a user names by its id, by the beginning of that, or by its day.

    Raises
    ------
    UsageError
        If no session or several are meant.
    """
    from rangeledger.warehouse.pages.bag import player_among
    from rangeledger.warehouse.published import published

    with published(home) as connection:
        if player is not None:
            names = connection.execute("SELECT DISTINCT player FROM sessions ORDER BY ALL")
            player = player_among([str(row[0]) for row in names.fetchall()], player)
        rows = connection.execute(_MATCHING_SESSIONS, [sought, player]).fetchall()
    exact = [row for row in rows if row[0] == sought] or rows
    if len(exact) != 1:
        raise UsageError(_not_one_session(sought, [f"{row[0]} ({row[1]})" for row in exact]))
    session_id, label, excluded = exact[0]
    return FoundSession(str(session_id), f"{session_id} ({label})", bool(excluded))


def known_player(home: Home, sought: str) -> str:
    """A player of the ledger by the name or its beginning.

    Raises
    ------
    UsageError
        If none or several are meant.
    """
    from rangeledger.warehouse.pages.bag import player_among
    from rangeledger.warehouse.published import published

    with published(home) as connection:
        rows = connection.execute("SELECT DISTINCT player FROM sessions ORDER BY ALL").fetchall()
    try:
        return player_among([str(row[0]) for row in rows], sought)
    except UsageError as error:
        raise UsageError(f"{error} For a player who has no shots yet, add --new.") from None


_MATCHING_SESSIONS = """
    SELECT session_id,
           concat_ws(', ', player, strftime(started_at, '%Y-%m-%d %H:%M')) AS words, excluded
    FROM sessions
    WHERE (starts_with(session_id, $1) OR strftime(started_at, '%Y-%m-%d') = $1)
        AND $1 <> '' AND player = coalesce($2, player)
    ORDER BY started_at, session_id"""
_MOST_LISTED = 5


def _not_one_session(requested: str, found: list[str]) -> str:
    if not found:
        return (
            f"There is no session {requested}. The view sessions lists them with player and start."
        )
    listed = ", ".join(found[:_MOST_LISTED])
    more = f" and {len(found) - _MOST_LISTED} more" if len(found) > _MOST_LISTED else ""
    return f"Several sessions are meant by {requested}: {listed}{more}. Name one by its id."


def refuse_impossible(**values: float | None) -> None:
    """Refuse a value that can't belong to a golf shot, by the ranges of the canonical columns.

    Raises
    ------
    UsageError
        Naming the option, its value and the range.
    """
    for name, value in values.items():
        column = BY_NAME[name]
        low = 0.0 if name == "spin_rate_rpm" else (column.low or 0.0)
        high = math.inf if column.high is None else column.high
        if value is not None and not low <= value <= high:
            raise UsageError(
                f"--{name.replace('_', '-')} {value:g} can't be; "
                f"give {low:g} to {high:g} {column.unit}."
            )
