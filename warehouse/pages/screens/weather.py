"""What each club carries in a day's wind and air, as the coach enters them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from rangeledger.models.air.wind_profile import (
    ball_wind_factor,
    head_and_cross,
    noted_profile,
)
from rangeledger.schemas.columns import HEIGHT_WORDS, WIND_HEIGHTS
from rangeledger.schemas.units import FOOT_M, MPH_MPS
from rangeledger.warehouse.pages.player_rows import usual_ball
from rangeledger.warehouse.pages.screens.parts import Screen, ScreenRequest, Shown, Table
from rangeledger.warehouse.pages.screens.today import CARRY_SQL
from rangeledger.warehouse.pages.units import PageUnit, club_label

_SQL = """
    SELECT n.club, c.swing, c.ball, n.carry_m AS still_carry_m, n.carry_yd AS still_carry_yd,
           c.carry_m, c.carry_yd, c.carry_m - n.carry_m AS change_m,
           c.carry_yd - n.carry_yd AS change_yd, c.side_m - n.side_m AS push_m,
           c.side_yd - n.side_yd AS push_yd, c.carry_sd_m, c.carry_sd_yd, c.held
    FROM carry_by_club AS n,
        LATERAL (FROM carry_in(n.player, n.club, headwind := $3::DOUBLE, crosswind := $4::DOUBLE,
                               air_temp := $5::DOUBLE, altitude := $6::DOUBLE)) AS c
    WHERE n.player = $1 AND n.ball = $2 AND c.swing = n.swing AND c.ball = n.ball
    ORDER BY n.carry_m DESC, n.club, n.swing"""
_RULES_SQL = """
    SELECT w.club, w.swing, w.headwind_carry_m, w.headwind_carry_yd, w.tailwind_carry_m,
           w.tailwind_carry_yd, w.crosswind_side_m, w.crosswind_side_yd, w.cold_carry_m,
           w.cold_carry_yd, w.altitude_carry_m, w.altitude_carry_yd
    FROM wind_response AS w
    INNER JOIN (SELECT club, swing, max(carry_m) AS carry_m FROM carry_by_club
                WHERE player = $1 GROUP BY ALL) AS c USING (club, swing)
    WHERE w.player = $1 ORDER BY c.carry_m DESC, w.club, w.swing"""
# How high full shots fly, for what they meet of a wind taken at one height; common practice, no
# source.
_APEX_M = 27.0
# The reference air of still-air carries [degC].
_STILL_C = 23.9
# What the form takes at most; the answers hold at 12 m/s, -5 to 40 degC and 2,500 m anyway.
_MOST_WIND_MPS, _LEAST_C, _MOST_C, _MOST_UP_M = 40.0, -30.0, 55.0, 4500.0


@dataclass(frozen=True, slots=True)
class Weather:
    """Wind and air of a day: speed [m/s], where from [deg], air [degC], height [m], wind height."""

    speed_mps: float = 0.0
    from_deg: float = 0.0
    air_temp_c: float = _STILL_C
    altitude_m: float = 0.0
    wind_height: str = WIND_HEIGHTS[0]

    @property
    def ball_speed_mps(self) -> float:
        """The wind as a full shot meets it [m/s]."""
        return self.speed_mps * float(ball_wind_factor(_APEX_M, noted_profile(self.wind_height)))


def asked_weather(request: ScreenRequest) -> Weather:
    """Wind and air as the address has them, in the customary units of the page.

    Parameters
    ----------
    request : ScreenRequest
        With `wind` (mph or m/s), `from` (hours of a clock, 12 in the face), `wind_height`, `temp`
        (°F or °C) and `up` (ft or m).

    Returns
    -------
    Weather
    """
    yards = request.unit.symbol == "yd"
    wind = _number(request.one("wind"), 0.0) * (MPH_MPS if yards else 1.0)
    still = 32.0 + 1.8 * _STILL_C if yards else _STILL_C
    temp = _number(request.one("temp"), still)
    temp = (temp - 32.0) / 1.8 if yards else temp
    up = _number(request.one("up"), 0.0) * (FOOT_M if yards else 1.0)
    return Weather(
        float(np.clip(wind, 0.0, _MOST_WIND_MPS)),
        clock_deg(request.one("from")),
        float(np.clip(temp, _LEAST_C, _MOST_C)),
        float(np.clip(up, 0.0, _MOST_UP_M)),
        asked_height(request.one("wind_height")),
    )


def asked_height(text: str) -> str:
    """Where a wind was taken; a weather report's if nothing that is known was said."""
    return text if text in WIND_HEIGHTS else WIND_HEIGHTS[0]


def clock_deg(hour: str) -> float:
    """Where a wind comes from by the hours of a clock: 12 in the face, 3 from the right [deg]."""
    return 30.0 * (_number(hour, 12.0) % 12.0)


def _number(text: str, otherwise: float) -> float:
    try:
        value = float(text.strip().replace(",", "."))
    except ValueError:
        return otherwise
    return value if np.isfinite(value) else otherwise


def weather(request: ScreenRequest) -> Screen:
    """Carry of each club on the day.

    Parameters
    ----------
    request : ScreenRequest
        Whose, in which unit, in which weather.

    Returns
    -------
    Screen
    """
    unit, day = request.unit, asked_weather(request)
    head, cross = (float(part) for part in head_and_cross(day.ball_speed_mps, day.from_deg))
    usual = usual_ball(request.rows(CARRY_SQL))
    rows = request.rows(_SQL, usual, head, cross, day.air_temp_c, day.altitude_m)
    table = Table(
        "carry_in",
        f"Carry on the day, {unit.word}; change against still air; push: how far the wind moves "
        "the ball to the side.",
        (
            Shown("Club", lambda row: club_label(row["club"], row["swing"])),
            Shown("Today", lambda row: unit.whole(row["carry_m"])),
            Shown("Still air", lambda row: unit.whole(row["still_carry_m"])),
            Shown("Change", lambda row: unit.change(row["change_m"])),
            Shown("Push", lambda row: unit.signed(row["push_m"])),
            Shown("Spread", lambda row: unit.tenth(row["carry_sd_m"])),
        ),
        rows,
    )
    held = next((row["held"] for row in rows.to_dicts() if row["held"]), "")
    lead = _lead(day, unit) + (f" Beyond what was worked out: {held}." if held else "")
    return Screen("Wind and air", lead, (table, rules(request)), _form(day, unit))


def rules(request: ScreenRequest) -> Table:
    """What round changes of wind and air do to each club.

    Parameters
    ----------
    request : ScreenRequest
        Whose, in which unit.

    Returns
    -------
    Table
    """
    unit = request.unit
    return Table(
        "wind_response",
        f"By heart: change of carry in {unit.word} in a wind of 11 mph (5 m/s) as the ball meets "
        "it, 18 °F (10 °C) colder, and 3,300 ft (1,000 m) up; across: the push to the side.",
        (
            Shown("Club", lambda row: club_label(row["club"], row["swing"])),
            Shown("Head", lambda row: unit.change(row["headwind_carry_m"])),
            Shown("Tail", lambda row: unit.change(row["tailwind_carry_m"])),
            Shown("Across", lambda row: unit.whole(abs(row["crosswind_side_m"]))),
            Shown("Colder", lambda row: unit.change(row["cold_carry_m"])),
            Shown("Higher", lambda row: unit.change(row["altitude_carry_m"])),
        ),
        request.rows(_RULES_SQL),
    )


def _lead(day: Weather, unit: PageUnit) -> str:
    wind = (
        f"wind {day.speed_mps / MPH_MPS:.0f} mph ({day.speed_mps:.1f} m/s) from "
        f"{clock_hour(day.from_deg)} o’clock, {HEIGHT_WORDS[day.wind_height]}"
        if day.speed_mps
        else "no wind"
    )
    up = f"{day.altitude_m / FOOT_M:,.0f} ft" if unit.symbol == "yd" else f"{day.altitude_m:,.0f} m"
    return (
        f"{wind[:1].upper()}{wind[1:]}; "
        f"{32 + 1.8 * day.air_temp_c:.0f} °F ({day.air_temp_c:.0f} °C), {up} up."
    )


def clock_hour(from_deg: float) -> int:
    """The hour of a clock from which a wind comes, 12 in the face."""
    return round(from_deg / 30.0) % 12 or 12


def _form(day: Weather, unit: PageUnit) -> dict[str, object]:
    yards = unit.symbol == "yd"
    return {
        "wind": f"{day.speed_mps / (MPH_MPS if yards else 1.0):.3g}",
        "wind_unit": "mph" if yards else "m/s",
        "from": clock_hour(day.from_deg),
        "wind_height": day.wind_height,
        "heights": HEIGHT_WORDS,
        "temp": f"{32.0 + 1.8 * day.air_temp_c if yards else day.air_temp_c:.3g}",
        "temp_unit": "°F" if yards else "°C",
        "up": round(day.altitude_m / (FOOT_M if yards else 1.0)),
        "up_unit": "ft" if yards else "m",
    }
