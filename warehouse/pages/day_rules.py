"""Rules for wind and air for a player's own clubs, flown with each club's own launch."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from rangeledger.models.air.air_conditions import air_density_of
from rangeledger.models.air.wind_profile import noted_profile
from rangeledger.models.flight.day_flight import Conditions, day_flight
from rangeledger.schemas.columns import WIND_HEIGHTS
from rangeledger.schemas.units import FOOT_M, MPH_MPS
from rangeledger.warehouse.pages.bag import BagClub
from rangeledger.warehouse.pages.units import PageUnit, club_words


@dataclass(frozen=True, slots=True)
class DayRule:
    """One change of the day.

    Parameters
    ----------
    words : str
        What it is.
    conditions : Conditions
        The day.
    sideways : bool
        Whether the push sideways is told rather than the change of carry.
    """

    words: str
    conditions: Conditions
    sideways: bool = False


def day_rules(unit: PageUnit, wind_height: str = WIND_HEIGHTS[0]) -> list[DayRule]:
    """Round changes of wind and air in the customary units of a page.

    Parameters
    ----------
    unit : PageUnit
        Yards go with miles an hour, degrees Fahrenheit and feet; metres with SI.
    wind_height : str
        Where the winds are taken, one of `WIND_HEIGHTS`.

    Returns
    -------
    list of DayRule
        Head, tail and cross wind, colder and higher.
    """
    customary = unit.symbol == "yd"
    wind = 10.0 * MPH_MPS if customary else 5.0
    colder_c = 20.0 / 1.8 if customary else 10.0
    higher_m = 1000.0 * FOOT_M if customary else 300.0
    wind_words = "10 mph" if customary else "5 m/s"
    reference = float(air_density_of().air_temp_c)
    cold = float(air_density_of(reference - colder_c).air_density_kgm3)
    high = float(air_density_of(altitude_m=higher_m).air_density_kgm3)
    profile = noted_profile(wind_height)
    head, tail, cross = (
        Conditions(wind, origin, wind_profile=profile) for origin in (0.0, 180.0, 270.0)
    )
    return [
        DayRule(f"{wind_words} head", head),
        DayRule(f"{wind_words} tail", tail),
        DayRule(f"{wind_words} cross", cross, sideways=True),
        DayRule("20 °F colder" if customary else "10 °C colder", Conditions(air_density_kgm3=cold)),
        DayRule("1,000 ft up" if customary else "300 m up", Conditions(air_density_kgm3=high)),
    ]


def by_hand_words(club: BagClub, unit: PageUnit) -> str:
    """What a head wind does to a club by where it was taken.

    Parameters
    ----------
    club : BagClub
        Club and swing.
    unit : PageUnit
        Unit of the answers.

    Returns
    -------
    str
        `Winds as a weather report has them; read by hand at head height, 10 mph head is ...`.
    """
    reported, by_hand = (day_rules(unit, height)[0] for height in ("weather", "player"))
    (report_cell,), (hand_cell,) = (rule_cells(club, [rule], unit) for rule in (reported, by_hand))
    return (
        f"Winds as a weather report has them; read by hand at head height, {by_hand.words} is "
        f"{hand_cell}, not {report_cell}, with the {club_words(club.pattern.club)}."
    )


def rule_cells(club: BagClub, rules: Sequence[DayRule], unit: PageUnit) -> list[str]:
    """What each change does to the stock shot of a club.

    Parameters
    ----------
    club : BagClub
        Club and swing.
    rules : sequence of DayRule
        Changes of the day.
    unit : PageUnit
        Unit of the answers.

    Returns
    -------
    list of str
        Change of carry with its sign; for a cross wind the push without one.
    """
    stock = (club.pattern.carry_m, club.pattern.side_m)
    cells = []
    for rule in rules:
        day = day_flight(club.launch.stock, rule.conditions)
        ((carry, side),) = day.landing(np.array([stock]), stock)
        if rule.sideways:
            cells.append(unit.whole(abs(float(side) - stock[1])))
        else:
            cells.append(unit.change(float(carry) - stock[0]))
    return cells
