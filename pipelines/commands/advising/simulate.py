"""`rangeledger simulate`."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer
from rangeledger.pipelines.commands.common import (
    AirPressureOption,
    AirTempOption,
    AltitudeOption,
    FormatOption,
    HumidityOption,
    refuse_impossible,
)
from rangeledger.pipelines.output.printing import Format, print_message, print_rows
from rangeledger.schemas.cautions import CLEAR_PEOPLE
from rangeledger.warehouse.home import find_home


def simulate(
    context: typer.Context,
    player: Annotated[
        str | None, typer.Option(help="Whose clubs; may be left out if there is one player.")
    ] = None,
    club: Annotated[str | None, typer.Option(help="One club; else all.")] = None,
    swing: Annotated[str | None, typer.Option(help="One swing; else all.")] = None,
    ball: Annotated[str | None, typer.Option(help="Kind of ball; else the one hit most.")] = None,
    shots: Annotated[int, typer.Option(min=1, max=10_000_000, help="Shots of each club.")] = 10,
    seed: Annotated[int, typer.Option(min=0, help="Same seed, same shots.")] = 1,
    wind_speed_mps: Annotated[
        float, typer.Option(min=0.0, help="Wind that the ball meets [m/s].")
    ] = 0.0,
    wind_from_deg: Annotated[
        float, typer.Option(help="Where it comes from [deg]: 0 in the face, 90 from the right.")
    ] = 0.0,
    air_temp_c: AirTempOption = None,
    air_pressure_hpa: AirPressureOption = None,
    humidity_pct: HumidityOption = None,
    altitude_m: AltitudeOption = None,
    fitted: Annotated[
        bool,
        typer.Option("--fitted", help="Leave out the doubt about the player's model."),
    ] = False,
    feed: Annotated[
        Path | None, typer.Option(help="Read the models from an export (JSON), not the home.")
    ] = None,
    form: FormatOption = Format.TABLE,
) -> None:
    """Draw shots that a player might hit: launch and landing, in the day's wind and air.

    Landings keep the fitted dispersion, mishits included; the wind acts through the flight of
    each launch. A launch is drawn to suit its landing, but its flight meets that only within a
    residual: what launch data never told of a player's landings. Take the landing where the two
    differ. What they show is a tendency, not a promise.

    Example:

    \b
    rangeledger simulate --player Tamsin --club 7-iron --shots 1000 --format csv
    """
    from rangeledger.models.air.air_conditions import air_density_of
    from rangeledger.models.flight.day_flight import Conditions
    from rangeledger.pipelines.output.neat_table import print_neat
    from rangeledger.pipelines.simulating.simulated_shots import SHOWN, chosen, simulated
    from rangeledger.pipelines.simulating.simulator_feed import bag_in_feed
    from rangeledger.warehouse.pages.bag import bag_of, player_named
    from rangeledger.warehouse.published import published

    refuse_impossible(
        wind_speed_mps=wind_speed_mps,
        wind_from_deg=wind_from_deg,
        air_temp_c=air_temp_c,
        air_pressure_hpa=air_pressure_hpa,
        humidity_pct=humidity_pct,
        altitude_m=altitude_m,
    )
    air = (air_temp_c, air_pressure_hpa, humidity_pct, altitude_m)
    density = air_density_of(*(float("nan") if value is None else value for value in air))
    conditions = Conditions(wind_speed_mps, wind_from_deg, float(density.air_density_kgm3))
    if feed:
        name, bag = bag_in_feed(feed, player, ball)
    else:
        with published(find_home(context.obj)) as connection:
            name = player_named(connection, player)
            bag = bag_of(connection, name, ball)
    clubs = chosen(bag, club, swing)
    rows = simulated(name, clubs, shots, seed=seed, conditions=conditions, with_doubt=not fitted)
    print_message(CLEAR_PEOPLE)
    if form is Format.TABLE:
        print_neat(rows, SHOWN, f"Shots that {name} might hit", most=40)
    else:
        print_rows(rows, form)
