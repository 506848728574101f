"""The invented academy: its players, its clubs, its weather and its calendar of spring 2026.

Everything here is made up. The tables below are the truth of the sample exports: what a ledger
should find again is written in them. `swings.py` strikes the shots, `layouts.py` says how each
export prints them.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime

from rangeledger.sample_exports.players import Plan

ACADEMY_ALTITUDE_M = 40.0
MOUNTAIN_ALTITUDE_M = 1640.0

# Carry of a ball of this kind over the carry that the flight model gives it.
CARRY_SCALE = {"premium": 1.0, "range": 0.975}
# A range ball leaves the face a little slower and with less spin than a premium ball.
BALL_SPEED_SCALE = {"premium": 1.0, "range": 0.985}
SPIN_SCALE = {"premium": 1.0, "range": 0.94}


@dataclass(frozen=True, slots=True)
class Weather:
    """Air and wind of a visit; the wind comes from `wind_from_deg`, 0 being in the face."""

    air_temp_c: float
    wind_speed_mps: float = 0.0
    wind_from_deg: float = 0.0
    altitude_m: float = ACADEMY_ALTITUDE_M
    humidity_pct: float = 55.0
    gust_share: float = 0.12


@dataclass(frozen=True, slots=True)
class Visit:
    """One player's continuous visit, and what was unusual about it."""

    player: str
    started_at: datetime
    plan: Plan
    weather: Weather
    ball: str = "premium"
    surface: str = "grass"
    flight_basis: str = "measured"
    ball_speed_factor: float = 1.0
    launch_shift_deg: float = 0.0
    face_shift_deg: float = 0.0
    distance_factor: float = 1.0
    height_factor: float = 1.0

    @property
    def key(self) -> str:
        """Name of the visit; the random numbers of its shots depend on nothing else."""
        return f"{self.player} {self.started_at:%Y-%m-%d %H:%M}"


@dataclass(frozen=True, slots=True)
class Export:
    """One file: its layout, the visits in it, and what it says besides the shots.

    `states` holds what the preamble of the layout prints, `note` what the TOML file beside it says.
    """

    file_name: str
    layout: str
    visits: tuple[Visit, ...]
    states: dict[str, str] = field(default_factory=dict)
    note: dict[str, object] = field(default_factory=dict)


def _at(month: int, day: int, hour: int, minute: int = 0) -> datetime:
    """Local time in the spring of 2026."""
    return datetime(2026, month, day, hour, minute)


def _full(**shots: int) -> Plan:
    """Blocks of full swings; `iron_7=8` is eight shots with the 7-iron."""
    return tuple((_CLUB_WORDS.get(club, club), "full", count) for club, count in shots.items())


_CLUB_WORDS = {
    "wood_3": "3-wood",
    "wood_5": "5-wood",
    "wood_7": "7-wood",
    "hybrid_4": "4-hybrid",
    "hybrid_5": "5-hybrid",
    "hybrid_6": "6-hybrid",
    **{f"iron_{number}": f"{number}-iron" for number in range(4, 10)},
    "pitching": "pitching-wedge",
    "gap": "gap-wedge",
    "sand": "sand-wedge",
    "lob": "lob-wedge",
    **{f"wedge_{loft}": f"{loft}-wedge" for loft in (50, 52, 54, 56, 58)},
}

TAMSIN, BRAM, NURIA = "Tamsin Orrelle", "Bram Ostervik", "Nuria Castelvane"
JOAKIM, PERRINE = "Joakim Tveråsen", "Perrine Aubrac-Lys"

TAMSIN_BAG = _full(
    wedge_58=4, wedge_54=4, wedge_50=4, pitching=4, iron_9=5, iron_8=4, iron_7=7, iron_6=4,
    iron_5=5, hybrid_4=4, wood_3=4, driver=9,
)  # fmt: skip
TAMSIN_SHORT = _full(wedge_54=5, pitching=6, iron_8=6, iron_7=7, iron_5=6, driver=8)
TAMSIN_CLOCK: Plan = tuple(
    (wedge, swing, 5)
    for wedge in ("58-wedge", "54-wedge", "50-wedge")
    for swing in ("7:30", "9:00", "10:30", "full")
)
BRAM_BAG = _full(
    lob=5, sand=5, gap=5, pitching=5, iron_9=5, iron_7=8, iron_5=6, iron_4=4, wood_3=5, driver=10
)
BRAM_STUDIO = _full(pitching=6, iron_7=10, iron_5=6, driver=12)
NURIA_BAG = _full(
    wedge_56=5, pitching=5, iron_9=5, iron_7=8, iron_6=5, hybrid_5=5, wood_5=4, driver=8
)
NURIA_FEEL: Plan = tuple(
    (wedge, swing, 6) for wedge in ("56-wedge", "52-wedge") for swing in ("soft", "smooth", "full")
)
JOAKIM_BAG = _full(sand=5, pitching=6, iron_8=7, iron_6=7, iron_4=5, wood_3=5, driver=9)
PERRINE_BAG = _full(sand=4, iron_9=6, iron_7=9, hybrid_6=6, wood_7=5, driver=7)
OPEN_DAY = _full(pitching=4, iron_7=6, driver=6)
PUTTS: Plan = (("putter", "full", 30),)

CLINIC_WIND = Weather(13.0, 2.6, 320.0)
OPEN_DAY_WIND = Weather(22.0, 3.4, 150.0)

TAMSIN_VISITS = {
    "mats": Visit(TAMSIN, _at(3, 14, 9, 10), TAMSIN_BAG, Weather(8.0, 0.3, 90.0), surface="mat"),
    "grass": Visit(TAMSIN, _at(3, 21, 9, 5), TAMSIN_BAG, Weather(12.0, 0.4, 200.0)),
    "clock": Visit(TAMSIN, _at(4, 4, 10, 30), TAMSIN_CLOCK, Weather(13.0, 0.5, 30.0)),
    "clinic": Visit(TAMSIN, _at(4, 18, 14, 0), TAMSIN_SHORT, CLINIC_WIND),
    "windy": Visit(TAMSIN, _at(4, 25, 9, 20), TAMSIN_BAG, Weather(14.0, 6.0, 40.0)),
    "wrong unit": Visit(
        TAMSIN, _at(5, 2, 9, 15), TAMSIN_SHORT, Weather(15.0, 0.3, 10.0), distance_factor=0.9144
    ),
    "clock again": Visit(TAMSIN, _at(5, 16, 10, 40), TAMSIN_CLOCK, Weather(18.0, 0.4, 300.0)),
    "late May": Visit(TAMSIN, _at(5, 23, 9, 0), TAMSIN_BAG, Weather(19.0, 0.3, 120.0)),
    "recorded wind": Visit(TAMSIN, _at(6, 6, 9, 30), TAMSIN_BAG, Weather(22.0, 5.5, 205.0)),
    "open day": Visit(TAMSIN, _at(6, 13, 13, 0), OPEN_DAY, OPEN_DAY_WIND),
    "putting": Visit(TAMSIN, _at(5, 30, 17, 0), PUTTS, Weather(20.0)),
}
BRAM_VISITS = {
    "studio": Visit(
        BRAM, _at(3, 17, 18, 0), BRAM_STUDIO, Weather(20.0), surface="mat", flight_basis="modelled"
    ),
    "cold": Visit(BRAM, _at(3, 28, 8, 0), BRAM_BAG, Weather(3.0, 0.4, 350.0)),
    "crosswind": Visit(BRAM, _at(4, 11, 16, 0), BRAM_BAG, Weather(12.0, 4.6, 95.0)),
    "reference": Visit(BRAM, _at(4, 24, 17, 30), BRAM_BAG, Weather(16.0, 0.4, 45.0)),
    "bad day": Visit(
        BRAM, _at(5, 9, 8, 30), BRAM_BAG, Weather(15.0, 0.3, 180.0),
        ball_speed_factor=0.94, launch_shift_deg=0.8,
    ),
    "studio again": Visit(
        BRAM, _at(5, 22, 18, 0), BRAM_STUDIO, Weather(20.0), surface="mat", flight_basis="modelled"
    ),
    "mountain": Visit(
        BRAM, _at(5, 30, 11, 0), BRAM_BAG, Weather(11.0, 0.4, 70.0, MOUNTAIN_ALTITUDE_M, 40.0)
    ),
    "open day": Visit(BRAM, _at(6, 13, 13, 25), OPEN_DAY, OPEN_DAY_WIND),
}  # fmt: skip


def _nuria(month: int, day: int, hour: int, temp: float, plan: Plan = NURIA_BAG) -> Visit:
    """A visit of the player who gains speed: range balls off mats, hardly any wind."""
    weather = Weather(temp, 0.4, float(37 * day % 360))
    return Visit(NURIA, _at(month, day, hour, 15), plan, weather, "range", "mat")


NURIA_VISITS = {
    "march": (_nuria(3, 16, 17, 9.0), _nuria(3, 24, 17, 11.0), _nuria(3, 31, 17, 12.0)),
    "april": (_nuria(4, 13, 17, 14.0), _nuria(4, 21, 18, 13.0), _nuria(4, 29, 17, 17.0)),
    "may": (_nuria(5, 13, 18, 18.0), _nuria(5, 20, 17, 21.0), _nuria(5, 28, 18, 20.0)),
    "feel": (_nuria(4, 7, 12, 12.0, NURIA_FEEL),),
    "feel again": (_nuria(5, 5, 12, 17.0, NURIA_FEEL),),
    "open day": (Visit(NURIA, _at(6, 13, 13, 50), OPEN_DAY, OPEN_DAY_WIND),),
}
JOAKIM_VISITS = {
    "march": Visit(JOAKIM, _at(3, 19, 12, 0), JOAKIM_BAG, Weather(10.0, 0.4, 15.0)),
    "april": Visit(JOAKIM, _at(4, 2, 12, 0), JOAKIM_BAG, Weather(9.0, 0.3, 250.0)),
    "clinic": Visit(
        JOAKIM, _at(4, 18, 14, 2), _full(pitching=6, iron_8=8, iron_4=6, driver=8), CLINIC_WIND
    ),
    "tailwind": Visit(JOAKIM, _at(4, 30, 12, 10), JOAKIM_BAG, Weather(16.0, 5.4, 195.0)),
    "short scale": Visit(
        JOAKIM, _at(5, 14, 12, 0), JOAKIM_BAG, Weather(18.0, 0.3, 60.0),
        distance_factor=0.92, height_factor=0.92,
    ),
    "off line": Visit(
        JOAKIM, _at(5, 27, 12, 0), JOAKIM_BAG, Weather(19.0, 0.4, 100.0), face_shift_deg=4.0
    ),
    "june": Visit(JOAKIM, _at(6, 4, 12, 5), JOAKIM_BAG, Weather(21.0, 0.4, 280.0)),
    "open day": Visit(JOAKIM, _at(6, 13, 14, 15), OPEN_DAY, OPEN_DAY_WIND),
}  # fmt: skip


def _perrine(month: int, day: int, temp: float) -> Visit:
    """A visit of the beginner: range balls off mats, hardly any wind."""
    weather = Weather(temp, 0.4, float(53 * day % 360))
    return Visit(PERRINE, _at(month, day, 19, 0), PERRINE_BAG, weather, "range", "mat")


PERRINE_VISITS = {
    "spring": (_perrine(3, 25, 10.0), _perrine(4, 8, 12.0)),
    "clinic": (
        Visit(PERRINE, _at(4, 18, 14, 4), _full(sand=5, iron_7=10, driver=8), CLINIC_WIND, "range"),
    ),
    "may": (_perrine(5, 6, 16.0), _perrine(5, 21, 19.0)),
    "june": (_perrine(6, 3, 21.0),),
    "putting": (Visit(PERRINE, _at(6, 10, 18, 0), PUTTS, Weather(22.0)),),
    "open day": (Visit(PERRINE, _at(6, 13, 14, 40), OPEN_DAY, OPEN_DAY_WIND, "range"),),
}

_T, _B, _N, _J, _P = TAMSIN_VISITS, BRAM_VISITS, NURIA_VISITS, JOAKIM_VISITS, PERRINE_VISITS
_CALM = {"wind": "0.3"}
_MEASURED = {"flight_basis": "measured"}

EXPORTS: tuple[Export, ...] = (
    Export("bag-check-2026-03-14.csv", "hash-notes", (_T["mats"],), _CALM),
    Export("bag-check-2026-03-21.csv", "hash-notes", (_T["grass"],)),
    Export("bag-check-2026-04-25.csv", "hash-notes", (_T["windy"],)),
    Export("bag-check-2026-05-02.csv", "hash-notes", (_T["wrong unit"],)),
    Export("bag-check-2026-05-23.csv", "hash-notes", (_T["late May"],)),
    Export("breezy-saturday.csv", "units-below", (_T["recorded wind"],)),
    Export(
        "wedges-by-the-clock-april.csv", "wedge-clock", (_T["clock"],),
        note={"player": TAMSIN, "date": "2026-04-04", "ball": "premium", "surface": "grass",
              "air_temp_c": 13.0, "altitude_m": 40, "wind_speed_mps": 0.5, "wind_from_deg": 30,
              **_MEASURED},
    ),
    Export(
        "wedges-by-the-clock-may.csv", "wedge-clock", (_T["clock again"],),
        note={"player": TAMSIN, "date": "2026-05-16", "ball": "premium", "surface": "grass",
              "air_temp_c": 18.0, "altitude_m": 40, "wind_speed_mps": 0.4, "wind_from_deg": 300,
              **_MEASURED},
    ),
    Export(
        "green-reading-tamsin.csv", "putts", (_T["putting"],),
        note={"player": TAMSIN, "date": "2026-05-30", "surface": "grass"},
    ),
    Export(
        "studio-2026-03-17.csv", "flight-first", (_B["studio"],),
        note={"surface": "mat", "ball": "premium", "flight_basis": "modelled"},
    ),
    Export("platz-2026-03-28.csv", "schlagliste", (_B["cold"],)),
    Export("platz-2026-04-11.csv", "schlagliste", (_B["crosswind"],), {"wind": "4,6"}),
    Export(
        "evening-2026-04-24.csv", "flight-first", (_B["reference"],),
        note={"surface": "grass", "ball": "premium", "air_temp_c": 16.0, "altitude_m": 40,
              "wind_speed_mps": 0.4, "wind_from_deg": 45, **_MEASURED},
    ),
    Export("platz-2026-05-09.csv", "schlagliste", (_B["bad day"],)),
    Export(
        "studio-2026-05-22.csv", "flight-first", (_B["studio again"],),
        note={"surface": "mat", "ball": "premium", "flight_basis": "modelled"},
    ),
    Export(
        "mountain-range.csv", "left-is-plus", (_B["mountain"],),
        note={"player": BRAM, "date": "2026-05-30", "ball": "premium", "surface": "grass",
              "air_temp_c": 11.0, "humidity_pct": 40, "altitude_m": 1640,
              "wind_speed_mps": 0.4, "wind_from_deg": 70, **_MEASURED},
    ),
    Export("golpes-marzo.csv", "golpes", _N["march"]),
    Export("golpes-abril.csv", "golpes", _N["april"]),
    Export("golpes-mayo.csv", "golpes", _N["may"]),
    Export("wedge-feel-april.csv", "feel-words", _N["feel"]),
    Export("wedge-feel-may.csv", "feel-words", _N["feel again"]),
    *(
        Export(
            f"slaglista-{visit.started_at:%Y-%m-%d}.csv", "slaglista", (visit,),
            note={"ball": "premium", "surface": "grass",
                  "air_temp_c": visit.weather.air_temp_c, **_MEASURED},
        )
        for visit in (_J["march"], _J["april"], _J["tailwind"], _J["off line"])
    ),
    Export("lunch-session-0514.csv", "back-and-side-spin", (_J["short scale"],)),
    Export("lunch-session-0604.csv", "left-right-words", (_J["june"],)),
    Export("seances-printemps.csv", "seances", _P["spring"]),
    Export("seances-mai.csv", "seances", _P["may"]),
    Export(
        "no-units-2026-06-03.csv", "bare-headings", _P["june"],
        note={"ball": "range", "surface": "mat", "air_temp_c": 21.0, **_MEASURED},
    ),
    Export(
        "green-reading-perrine.csv", "putts", _P["putting"],
        note={"player": PERRINE, "date": "2026-06-10", "surface": "grass"},
    ),
    Export("clinic-2026-04-18.csv", "shared-bay", (_T["clinic"], _J["clinic"], *_P["clinic"])),
    Export(
        "open-day-2026-06-13.csv", "shared-bay",
        (_T["open day"], _B["open day"], *_N["open day"], _J["open day"], *_P["open day"]),
    ),
)  # fmt: skip

FIRST_DAY = _at(3, 14, 0)
