"""The one dictionary of canonical shot columns.

Everything that speaks of a canonical column is derived from `CANONICAL`: the Arrow schema of the
lake, its column metadata, the SQL comments, the data dictionary page and the expectations that
screen a load. Units are SI, plus degrees and rpm; directions are seen from behind the ball
looking at the target and positive means right, for right- and left-handed players alike.

`low` and `high` are limits outside which a value can't be a golf shot at all (a typing error, a
wrong unit, a failed reading); they are wide on purpose. Unless a source is given they are
"common practice, no source".
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Kind(StrEnum):
    """Storage kind of a canonical column."""

    TEXT = "string"
    INTEGER = "int32"
    NUMBER = "double"
    INSTANT = "timestamp"


@dataclass(frozen=True, slots=True)
class Column:
    """One canonical column: its name, kind, unit, meaning and possible range."""

    name: str
    kind: Kind
    unit: str
    meaning: str
    low: float | None = None
    high: float | None = None
    choices: tuple[str, ...] = ()
    required: bool = False

    @property
    def comment(self) -> str:
        """Meaning, choices and unit in one sentence, as shown in SQL and the data dictionary."""
        if self.choices:
            return f"{self.meaning}: {', '.join(self.choices[:-1])} or {self.choices[-1]}"
        return f"{self.meaning} [{self.unit}]" if self.unit else self.meaning


BALLS = ("premium", "range", "limited-flight", "unknown")
SURFACES = ("grass", "mat", "tee", "unknown")
FLIGHT_BASES = ("measured", "modelled", "unknown")
WIND_HEIGHTS = ("weather", "player", "ball")
# The same in words, as people say it of a wind.
HEIGHT_WORDS = {
    "weather": "as a weather report has it (10 m up)",
    "player": "read by hand where the player stands (2 m up)",
    "ball": "as the ball meets it on its flight",
}
UNKNOWN_MONITOR = "unknown"


def _text(
    name: str, meaning: str, *, required: bool = True, choices: tuple[str, ...] = ()
) -> Column:
    return Column(name, Kind.TEXT, "", meaning, choices=choices, required=required)


def _number(name: str, unit: str, low: float, high: float, meaning: str) -> Column:
    return Column(name, Kind.NUMBER, unit, meaning, low, high)


CANONICAL: tuple[Column, ...] = (
    _text("shot_id", "Identity of the shot; the same row of the same file always gets the same"),
    _text("session_id", "Identity of the session: one player's continuous visit"),
    _text(
        "player", "Who struck the shot, as the export or its note says; 'unknown' if nobody says"
    ),
    Column("struck_at", Kind.INSTANT, "UTC", "When the shot was struck; NULL where unknown"),
    Column(
        "shot_number", Kind.INTEGER, "", "Order within the session, from 1", 1, None, required=True
    ),
    _text("club", "Canonical club, else the player's own word in lower case"),
    _text("swing", "'full', a clock position such as '9:00', or the player's own feel label"),
    _text("ball", "Kind of ball", choices=BALLS),
    _text("surface", "What the ball was struck from", choices=SURFACES),
    _number("ball_speed_mps", "m/s", 0.3, 105.0, "Speed of the ball just after impact"),
    _number(
        "launch_angle_deg", "deg", -20.0, 85.0, "Vertical launch angle of the ball, up positive"
    ),
    _number(
        "launch_direction_deg", "deg", -90.0, 90.0, "Start direction of the ball, right positive"
    ),
    _number("spin_rate_rpm", "rpm", 1.0, 20000.0, "Total spin of the ball just after impact"),
    _number(
        "spin_axis_deg", "deg", -90.0, 90.0, "Tilt of the spin axis; right (curves right) positive"
    ),
    _number("carry_m", "m", 0.0, 420.0, "Landing point at launch height, along the target line"),
    _number(
        "carry_side_m", "m", -250.0, 250.0, "Landing point across the target line, right positive"
    ),
    _number("total_m", "m", 0.0, 500.0, "Point of rest, along the target line"),
    _number(
        "total_side_m", "m", -300.0, 300.0, "Point of rest across the target line, right positive"
    ),
    _number("apex_m", "m", 0.0, 90.0, "Greatest height of the flight above the launch point"),
    _number("descent_angle_deg", "deg", 0.0, 90.0, "Angle of the flight below level at landing"),
    _number("hang_time_s", "s", 0.0, 15.0, "Time from launch to landing"),
    _number("clubhead_speed_mps", "m/s", 0.3, 75.0, "Speed of the club head just before impact"),
    _number(
        "angle_of_attack_deg",
        "deg",
        -25.0,
        25.0,
        "Vertical direction of the club head at impact, up positive",
    ),
    _number(
        "club_path_deg", "deg", -45.0, 45.0, "Horizontal direction of the club head, right positive"
    ),
    _number(
        "face_angle_deg", "deg", -60.0, 60.0, "Direction of the club face at impact, right positive"
    ),
    _number("dynamic_loft_deg", "deg", -15.0, 90.0, "Loft of the club face at impact"),
    _number("wind_speed_mps", "m/s", 0.0, 40.0, "Wind speed, at the height that wind_height names"),
    _number(
        "wind_from_deg",
        "deg",
        0.0,
        360.0,
        "Where the wind comes from, from the target clockwise: 0 in the face, 90 from the right",
    ),
    _text(
        "wind_height",
        "Where the wind was taken (10 m up in open country, 2 m up by hand, or the uniform wind "
        "that the ball meets)",
        required=False,
        choices=WIND_HEIGHTS,
    ),
    _number("air_temp_c", "degC", -30.0, 55.0, "Air temperature"),
    _number(
        "air_pressure_hpa", "hPa", 500.0, 1100.0, "Station air pressure, not reduced to sea level"
    ),
    _number("humidity_pct", "%", 0.0, 100.0, "Relative humidity"),
    _number("altitude_m", "m", -450.0, 4500.0, "Height of the place above sea level"),
    _text("monitor", "What measured, as export, note or settings name it; 'unknown' if none does"),
    _text(
        "site", "Place of the home that loaded the shot, as its settings name it", required=False
    ),
    _text(
        "flight_basis",
        "Whether the flight was tracked or computed from launch in calm air",
        choices=FLIGHT_BASES,
    ),
    _text("source_file", "SHA-256 of the original export, in hexadecimal"),
    Column(
        "source_row",
        Kind.INTEGER,
        "",
        "Line in the original export, counted from 1",
        1,
        None,
        required=True,
    ),
)

BY_NAME: dict[str, Column] = {column.name: column for column in CANONICAL}
NAMES: tuple[str, ...] = tuple(BY_NAME)
NUMBERS: tuple[str, ...] = tuple(c.name for c in CANONICAL if c.kind is Kind.NUMBER)
# A row without any of them says nothing of the club's or the ball's movement.
MOVEMENTS: tuple[str, ...] = (
    "clubhead_speed_mps",
    "ball_speed_mps",
    "launch_angle_deg",
    "launch_direction_deg",
    "spin_rate_rpm",
    "carry_m",
    "carry_side_m",
    "total_m",
    "total_side_m",
    "apex_m",
    "hang_time_s",
)
OF_THE_CLUB: tuple[str, ...] = ("clubhead_speed_mps",)  # a swing without a ball has these alone
# Wind, air and place: what may be said once of a visit, and is no measurement of the shot.
CONDITIONS: tuple[str, ...] = (
    "wind_speed_mps", "wind_from_deg", "air_temp_c", "air_pressure_hpa", "humidity_pct",
    "altitude_m",
)  # fmt: skip

# Names that columns had up to version 0.1: accepted in mappings and as SQL columns of `shots` until
# version 0.3.
FORMER_NAMES: dict[str, str] = {
    "club_speed_mps": "clubhead_speed_mps",
    "attack_angle_deg": "angle_of_attack_deg",
}

# Columns that an export may state about a shot; the others are ours to give.
ASSIGNED = ("shot_id", "session_id", "shot_number", "source_file", "source_row")
STATABLE: tuple[str, ...] = tuple(name for name in NAMES if name not in ASSIGNED)

# Kept beside the canonical columns in the lake: what an export said that we have no column for.
EXTRAS = Column(
    "extras", Kind.TEXT, "", "Columns of the export without a canonical meaning, as a JSON object"
)
