"""`rangeledger flight`."""

from __future__ import annotations

import json
import math
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer
from rangeledger.pipelines.commands.common import (
    AirPressureOption,
    AirTempOption,
    AltitudeOption,
    FormatOption,
    HumidityOption,
    WindHeight,
    WindHeightOption,
    refuse_impossible,
)
from rangeledger.pipelines.output.printing import (
    Format,
    print_rows,
    to_stderr,
    to_stdout,
    write_result,
)
from rangeledger.schemas.columns import HEIGHT_WORDS
from rangeledger.schemas.errors import UsageError
from rangeledger.schemas.units import YARD_M

if TYPE_CHECKING:
    from rangeledger.models.air.air_conditions import AirConditions
    from rangeledger.models.flight.trajectory import FlightPath


# What each figure is called on the screen, its unit, and whether it is also shown in yards.
_LINES = (
    ("carry_m", "carry", "m", True),
    ("carry_side_m", "side", "m", True),
    ("apex_m", "apex", "m", True),
    ("descent_angle_deg", "descent angle", "deg", False),
    ("hang_time_s", "hang time", "s", False),
    ("landing_speed_mps", "landing speed", "m/s", False),
    ("landing_spin_rpm", "landing spin", "rpm", False),
)
_HEIGHT_M = (-100.0, 100.0)


def flight(
    ball_speed_mps: Annotated[float, typer.Option(help="Ball speed [m/s].", show_default=False)],
    launch_angle_deg: Annotated[
        float, typer.Option(help="Vertical launch angle, up positive [deg].", show_default=False)
    ],
    spin_rate_rpm: Annotated[float, typer.Option(help="Total spin [rpm].", show_default=False)],
    launch_direction_deg: Annotated[
        float, typer.Option(help="Start direction, right positive [deg].")
    ] = 0.0,
    spin_axis_deg: Annotated[
        float, typer.Option(help="Tilt of the spin axis, right positive [deg].")
    ] = 0.0,
    wind_speed_mps: Annotated[float, typer.Option(help="Wind speed [m/s].")] = 0.0,
    wind_from_deg: Annotated[
        float,
        typer.Option(help="Where the wind comes from [deg]: 0 in the face, 90 from the right."),
    ] = 0.0,
    wind_height: WindHeightOption = WindHeight.WEATHER,
    air_temp_c: AirTempOption = None,
    air_pressure_hpa: AirPressureOption = None,
    humidity_pct: HumidityOption = None,
    altitude_m: AltitudeOption = None,
    landing_height_m: Annotated[
        float, typer.Option(help="Height of the landing above the ball [m].")
    ] = 0.0,
    aerodynamics: Annotated[
        str, typer.Option(help="Set of drag and lift coefficients.")
    ] = "spin-ratio-law",
    plot: Annotated[bool, typer.Option("--plot", help="Draw side and plan view.")] = False,
    svg: Annotated[
        Path | None, typer.Option("--svg", help="Write the drawing to this SVG file.")
    ] = None,
    form: FormatOption = Format.TABLE,
) -> None:
    """Fly one shot from its launch through wind and air to its landing.

    Still air, shown beside it, is 75 degF, 30.00 inHg, 50 % humidity, sea level and no wind.

    Example:

    \b
    rangeledger flight --ball-speed-mps 74.5 --launch-angle-deg 11 --spin-rate-rpm 2700
    """
    launch = {
        "ball_speed_mps": ball_speed_mps,
        "launch_angle_deg": launch_angle_deg,
        "launch_direction_deg": launch_direction_deg,
        "spin_rate_rpm": spin_rate_rpm,
        "spin_axis_deg": spin_axis_deg,
    }
    wind = {"wind_speed_mps": wind_speed_mps, "wind_from_deg": wind_from_deg}
    air = {
        "air_temp_c": air_temp_c,
        "air_pressure_hpa": air_pressure_hpa,
        "humidity_pct": humidity_pct,
        "altitude_m": altitude_m,
    }
    _check({**launch, **wind, **air}, landing_height_m)
    answer, path = _fly(launch, wind, air, landing_height_m, wind_height, aerodynamics)
    _print(answer, form)
    if svg is not None:
        from rangeledger.pipelines.output.flight_drawing import svg_views

        write_result(svg, svg_views(path).encode())
    if plot:
        from rangeledger.pipelines.output.flight_drawing import text_views

        (to_stdout() if form is Format.TABLE else to_stderr()).print(text_views(path), markup=False)


def _check(values: dict[str, float | None], landing_height_m: float) -> None:
    """Refuse a value that can't belong to a golf shot."""
    refuse_impossible(**values)
    if not _HEIGHT_M[0] <= landing_height_m <= _HEIGHT_M[1]:
        raise UsageError(
            f"--landing-height-m {landing_height_m:g} can't be; "
            f"give {_HEIGHT_M[0]:g} to {_HEIGHT_M[1]:g} m."
        )


def _fly(
    launch: dict[str, Any],
    wind: dict[str, float],
    air: dict[str, float | None],
    landing_height_m: float,
    wind_height: WindHeight,
    name: str,
) -> tuple[dict[str, Any], FlightPath]:
    """Fly the shot in the stated air and in still air; the answer under canonical names."""
    from rangeledger.models.air.air_conditions import air_density_of
    from rangeledger.models.air.wind_profile import UNIFORM, noted_profile
    from rangeledger.models.flight.aerodynamics import aerodynamics_by_name
    from rangeledger.models.flight.trajectory import fly, fly_path

    chosen = aerodynamics_by_name(name)
    conditions = air_density_of(**{k: math.nan if v is None else v for k, v in air.items()})
    day: dict[str, Any] = {
        **wind,
        "air_density_kgm3": float(conditions.air_density_kgm3),
        "landing_height_m": landing_height_m,
        # Without a wind no profile is flown through, so that calm is still air to the last digit.
        "wind_profile": noted_profile(wind_height.value) if wind["wind_speed_mps"] else UNIFORM,
        "aerodynamics": chosen,
    }
    found = fly(**launch, **day)
    if math.isnan(found.carry_m):
        raise UsageError(
            f"The ball never comes down to a landing {landing_height_m:g} m above its start; "
            "give a lower --landing-height-m or a higher launch."
        )
    still = fly(*launch.values(), landing_height_m=landing_height_m, aerodynamics=chosen)
    _warn(launch, float(conditions.air_density_kgm3), name)
    answer = {**launch, **wind, "wind_height": wind_height.value, **_air_used(conditions)}
    answer |= {key: float(getattr(found, key)) for key, *_ in _LINES}
    answer |= {_still(key): float(getattr(still, key)) for key, *_ in _LINES}
    return answer, fly_path(**launch, **day, points=121)


def _still(name: str) -> str:
    """Name of a figure in still air: still_carry_m, still_side_m, still_apex_m."""
    return f"still_{name.removeprefix('carry_') if name == 'carry_side_m' else name}"


def _air_used(conditions: AirConditions) -> dict[str, Any]:
    """The air that was reckoned with, and what of it was assumed."""
    numbers = {
        name: float(value) for name, value in conditions._asdict().items() if name != "assumed"
    }
    return numbers | {"assumed": str(conditions.assumed)}


def _warn(launch: dict[str, float], density: float, name: str) -> None:
    """Say on standard error where a shot starts outside the range of its coefficients."""
    from rangeledger.models.air.standard_atmosphere import dynamic_viscosity_pas
    from rangeledger.models.flight.aerodynamics import (
        aerodynamics_by_name,
        reynolds_number,
        spin_ratio,
    )

    chosen = aerodynamics_by_name(name)
    S = float(spin_ratio(launch["spin_rate_rpm"], launch["ball_speed_mps"]))
    Re = float(reynolds_number(launch["ball_speed_mps"], density, dynamic_viscosity_pas()))
    if chosen.outside(S, Re):
        sys.stderr.write(
            f"rangeledger: The launch (spin ratio {S:.2f}, Reynolds number {Re:.0f}) lies outside "
            f"the range that {name} was stated for; take the result as a guess.\n"
        )


def _print(answer: dict[str, Any], form: Format) -> None:
    """Print the answer: a table for people, else all figures under their canonical names."""
    if form is Format.JSON:
        sys.stdout.write(json.dumps(answer, ensure_ascii=False, indent=1) + "\n")
        return
    import polars as pl

    if form is not Format.TABLE:
        print_rows(pl.DataFrame([answer]), form)
        return
    rows = [
        {
            "": label,
            "in this air": _figure(answer[key], unit, yards),
            "in still air": _figure(answer[_still(key)], unit, yards),
        }
        for key, label, unit, yards in _LINES
    ]
    print_rows(pl.DataFrame(rows), form)
    line = f"air density {answer['air_density_kgm3']:.4f} kg/m3"
    if answer["wind_speed_mps"]:
        line = f"wind {HEIGHT_WORDS[answer['wind_height']]}; {line}"
    to_stdout().print(f"{line}; {answer['assumed']}" if answer["assumed"] else line, markup=False)


def _figure(value: float, unit: str, yards: bool) -> str:
    """A figure with its unit, and in yards where those are usual."""
    digits = 0 if unit == "rpm" else 2 if unit == "s" else 1
    text = f"{value + 0.0:.{digits}f} {unit}"
    return f"{text:>9}  {value / YARD_M + 0.0:>6.1f} yd" if yards else text
