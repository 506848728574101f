"""`rangeledger target`."""

from __future__ import annotations

import math
import textwrap
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer
from rangeledger.pipelines.commands.common import (
    AirPressureOption,
    AirTempOption,
    AltitudeOption,
    FormatOption,
    HumidityOption,
    LengthUnit,
    WindHeight,
    refuse_impossible,
)
from rangeledger.pipelines.output.printing import Format, print_message, print_rows, to_stdout
from rangeledger.schemas.cautions import CLEAR_PEOPLE
from rangeledger.schemas.columns import HEIGHT_WORDS
from rangeledger.warehouse.home import find_home
from rangeledger.warehouse.settings import read_settings

if TYPE_CHECKING:
    import polars as pl
    from rangeledger.models.flight.day_flight import Conditions
    from rangeledger.models.strategy.aimed_option import Option
    from rangeledger.models.strategy.strokes_to_hole_out import StrokesToHoleOut
    from rangeledger.models.strategy.target_choice import TargetChoice
    from rangeledger.warehouse.home import Home


class Rows(StrEnum):
    """What the rows of `target` are."""

    OPTIONS = "options"
    HAZARDS = "hazards"
    FAIRWAY = "fairway"
    LAY_UP = "lay-up"


_MOST_ROWS, _NOTE_WIDTH = 25, 100
_NOTHING = {
    Rows.OPTIONS: "The player has no club to choose.",
    Rows.HAZARDS: "No hazard is in reach on the lines of the best five.",
    Rows.FAIRWAY: "There is no fairway to aim at.",
    Rows.LAY_UP: "The hole is too short for a lay-up.",
}


def target(
    context: typer.Context,
    hole_file: Annotated[
        Path, typer.Argument(metavar="HOLE", help="Hole file: .toml of our own, or .geojson.")
    ],
    player: Annotated[
        str | None, typer.Option(help="Whose clubs; may be left out if there is one player.")
    ] = None,
    ball: Annotated[str | None, typer.Option(help="Kind of ball; else the one hit most.")] = None,
    rows: Annotated[
        Rows,
        typer.Option(
            help="What is listed: clubs, hazards on their lines, the fairway by aim, or "
            "going for the green against laying up."
        ),
    ] = Rows.OPTIONS,
    wind_speed_mps: Annotated[float, typer.Option(min=0.0, help="Wind speed [m/s].")] = 0.0,
    wind_from_deg: Annotated[
        float,
        typer.Option(
            help="Where it comes from [deg]: 0 in the face on the target line, 90 from the right."
        ),
    ] = 0.0,
    wind_height: Annotated[
        WindHeight | None,
        typer.Option(
            help="Where that wind was taken: weather, 10 m up in open country, as a report has "
            "it; player, by hand 2 m up; ball, as the ball meets it; else as in settings.toml.",
            show_default=False,
        ),
    ] = None,
    air_temp_c: AirTempOption = None,
    air_pressure_hpa: AirPressureOption = None,
    humidity_pct: HumidityOption = None,
    altitude_m: AltitudeOption = None,
    distance_left_yd: Annotated[
        float | None,
        typer.Option(min=1.0, help="Play from the line of play with so much left to the flag."),
    ] = None,
    lie: Annotated[
        str | None, typer.Option(help="Lie of the ball; else as in the file, or fairway.")
    ] = None,
    strokes: Annotated[
        Path | None,
        typer.Option(help="Own table of strokes to hole out (.csv or .toml)."),
    ] = None,
    own_strokes: Annotated[
        bool,
        typer.Option(
            "--own-strokes", help="Work the strokes to hole out from the player's own clubs."
        ),
    ] = False,
    every_club: Annotated[
        bool,
        typer.Option("--every-club", help="List clubs too that are far behind the best."),
    ] = False,
    unit: Annotated[LengthUnit, typer.Option(help="Unit in sentences.")] = LengthUnit.YARDS,
    form: FormatOption = Format.TABLE,
) -> None:
    """Find where to aim with which club on a hole, in the day's wind and air.

    Strokes are expected ones: averages over the pattern of each club, mishits included; trees
    stop a ball that comes lower than their height_yd (15 where the file says nothing). A number
    is a tendency, not a promise; that nobody can be hit, local rules and judgement come first.

    Example:

    \b
    rangeledger target hole.toml --player Tamsin --wind-speed-mps 4 --wind-from-deg 30
    """
    from rangeledger.models.strategy.target_choice import SENSIBLE_STROKES, choose_target
    from rangeledger.pipelines.holes.course_file import read_hole
    from rangeledger.pipelines.holes.strokes_file import strokes_table
    from rangeledger.pipelines.holes.target_plan import day_conditions, options_of, placed
    from rangeledger.pipelines.holes.target_words import verdict
    from rangeledger.warehouse.settings import handicap_of

    hole = placed(read_hole(hole_file), distance_left_yd, lie)
    refuse_impossible(
        wind_speed_mps=wind_speed_mps,
        wind_from_deg=wind_from_deg,
        air_temp_c=air_temp_c,
        air_pressure_hpa=air_pressure_hpa,
        humidity_pct=humidity_pct,
        altitude_m=altitude_m,
    )
    air = (air_temp_c, air_pressure_hpa, humidity_pct, altitude_m)
    home = find_home(context.obj)
    height = wind_height.value if wind_height else read_settings(home).reading.wind_height
    conditions = day_conditions(hole, wind_speed_mps, wind_from_deg, air, height)
    name, options = options_of(home, player, ball)
    handicap = handicap_of(home, name) if own_strokes else None
    table = strokes_table(strokes, options if own_strokes else None, handicap)
    within = math.inf if every_club else SENSIBLE_STROKES
    choice = choose_target(hole, options, table, conditions, within=within)
    frame, note = _rows(rows, choice, options, table, conditions, home, name)
    print_message(CLEAR_PEOPLE)
    if form is not Format.TABLE:
        print_rows(frame, form)
        return
    lines = verdict(choice, table.source, unit.value)
    if wind_speed_mps:
        lines.append(f"The wind of {wind_speed_mps:g} m/s is taken {HEIGHT_WORDS[height]}.")
    for line in lines:
        to_stdout().print(line, markup=False, soft_wrap=True)
    _print_people(frame, rows, unit, note)


def _print_people(frame: pl.DataFrame, rows: Rows, unit: LengthUnit, note: str) -> None:
    """Print the rows asked for as a table that fits 100 characters."""
    from rangeledger.pipelines.holes.target_columns import TITLES, shown_columns, shown_rows
    from rangeledger.pipelines.output.neat_table import print_neat

    if frame.is_empty():
        to_stdout().print(_NOTHING[rows], markup=False, soft_wrap=True)
        return
    columns = shown_columns(rows.value, unit.value, frame)
    print_neat(shown_rows(frame), columns, TITLES[rows.value], most=_MOST_ROWS)
    for line in textwrap.wrap(note, _NOTE_WIDTH):
        to_stdout().print(line, markup=False, soft_wrap=True)


def _rows(
    rows: Rows,
    choice: TargetChoice,
    options: list[Option],
    table: StrokesToHoleOut,
    conditions: Conditions,
    home: Home,
    player: str,
) -> tuple[pl.DataFrame, str]:
    """The rows asked for, and what to know of them."""
    from rangeledger.pipelines.holes import target_rows
    from rangeledger.pipelines.holes.target_columns import NOTES
    from rangeledger.pipelines.holes.target_plan import fairway_answer, lay_ups
    from rangeledger.warehouse.published import published

    note = NOTES[rows.value]
    if rows is Rows.HAZARDS:
        return target_rows.hazard_rows(choice), note
    if rows is Rows.FAIRWAY:
        with published(home) as connection:
            frame, shape = fairway_answer(connection, player, choice, conditions)
        return frame, f"{shape} {note}"
    if rows is Rows.LAY_UP:
        return target_rows.lay_up_rows(lay_ups(choice.hole, options, table, conditions)), note
    return target_rows.option_rows(choice), note
