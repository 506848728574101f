"""Which parts of a heading make which column.

A heading is understood from the set of its tags (see `schemas.headings`), whatever their order
and language: `ball` and `speed` make `ball_speed_mps`. A composition fits if all its `needs` are
there and nothing is there beyond `needs` and `may`. `weight` says how telling the parts are by
themselves; weak ones need the help of units, values or of the other columns.

Beside the canonical columns there are *helpers*: columns from which canonical ones are computed
or that serve as a check.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from rangeledger.schemas.units import dimension_of

BACK_SPIN = "back_spin_rpm"
SIDE_SPIN = "side_spin_rpm"
LANDING_BEARING = "landing_bearing_deg"  # of the landing point, from the target line
SPEED_RATIO = "speed_ratio"
ROLL = "roll_m"
DATE = "date"
TIME = "time_of_day"
DATETIME = "date_and_time"
SHOT_NUMBER = "shot_number"
SHOT_COUNT = "shot_count"
ZONE = "time_zone"
HEAD_WIND, TAIL_WIND = "head_wind_mps", "tail_wind_mps"
GIVEN_NAME, FAMILY_NAME = "given_name", "family_name"
KEPT, DROPPED = "kept", "dropped"  # what the export says of a shot: it counts, it does not
HELPERS = (
    BACK_SPIN, SIDE_SPIN, LANDING_BEARING, SPEED_RATIO, ROLL, DATE, TIME, DATETIME, SHOT_NUMBER,
    SHOT_COUNT, ZONE, HEAD_WIND, TAIL_WIND, GIVEN_NAME, FAMILY_NAME, KEPT, DROPPED,
)  # fmt: skip
# Names of version 0.1, accepted in mappings until version 0.3.
FORMER_HELPERS = {"smash_factor": SPEED_RATIO}
# Columns that have a left and a right.
SIDED = (
    "launch_direction_deg", "spin_axis_deg", SIDE_SPIN, "carry_side_m", "total_side_m",
    "club_path_deg", "face_angle_deg", LANDING_BEARING,
)  # fmt: skip
HELPER_DIMENSIONS = {
    BACK_SPIN: "rotation", SIDE_SPIN: "rotation", ROLL: "length", SPEED_RATIO: "ratio",
    HEAD_WIND: "speed", TAIL_WIND: "speed", LANDING_BEARING: "angle",
}  # fmt: skip

# Tags that say how a distance was measured; they may stand beside any length.
STRAIGHT, ALONG = "straight", "along"
# `Deviation (absolute value)`: a size, whose side something else may say.
SIZE = "size"
# `Off line`: how far beside the line a ball ended, which no start direction is.
OFF = "off"
# `Estimated`: it counts for less than the same heading without the word.
MODELLED = "modelled"


@dataclass(frozen=True, slots=True)
class Composition:
    """A set of parts that makes a column.

    Parameters
    ----------
    column : str
        Canonical column or helper.
    needs, may : frozenset[str]
        Tags that must and that may be in the heading.
    weight : float
        How telling the parts are by themselves, 0 to 1.
    when : str or None
        Dimension of the unit that must be stated for this composition, None for any.
    """

    column: str
    needs: frozenset[str]
    may: frozenset[str]
    weight: float = 1.0
    when: str | None = None


def _c(
    column: str, needs: str, may: str = "", weight: float = 1.0, when: str | None = None
) -> Composition:
    return Composition(column, frozenset(needs.split()), frozenset(may.split()), weight, when)


def column_dimension(column: str) -> str | None:
    """Dimension of a canonical column or helper, None for text, times and counts."""
    return HELPER_DIMENSIONS.get(column) or dimension_of(column)


COMPOSITIONS: tuple[Composition, ...] = (
    # speeds
    _c("ball_speed_mps", "ball speed", "launch flight rate impact"),
    _c("ball_speed_mps", "launch speed", "flight ball", 0.95),
    _c("ball_speed_mps", "ball", "launch", 0.85, "speed"),
    _c("ball_speed_mps", "launch", "ball", 0.8, "speed"),
    _c("ball_speed_mps", "speed", "", 0.5),
    _c("clubhead_speed_mps", "club speed", "swing rate"),
    _c("clubhead_speed_mps", "swing speed", "", 0.95),
    _c("clubhead_speed_mps", "club", "swing", 0.85, "speed"),
    _c("clubhead_speed_mps", "swing", "", 0.8, "speed"),
    _c("clubhead_speed_mps", "speed", "", 0.3),
    # launch
    _c("launch_angle_deg", "launch angle", "ball vertical flight height"),
    _c("launch_angle_deg", "launch vertical", "ball angle flight direction"),
    _c("launch_angle_deg", "ball vertical", "angle flight direction", 0.8),
    _c("launch_angle_deg", "vertical angle", "ball", 0.8),
    _c("launch_angle_deg", "vertical", "ball", 0.8, "angle"),
    _c("launch_angle_deg", "vertical", "", 0.61),
    _c("launch_angle_deg", "launch", "ball", 0.75),
    _c("launch_angle_deg", "launch height", "ball", 0.7, "angle"),
    _c("launch_angle_deg", "ball angle", "", 0.6),
    _c("launch_angle_deg", "angle", "", 0.62),  # its numbers must bear it out
    _c("launch_direction_deg", "launch direction", "ball horizontal angle side flight line"),
    _c("launch_direction_deg", "launch horizontal", "ball angle side flight direction"),
    _c("launch_direction_deg", "launch side", "ball angle direction flight", 0.95),
    _c("launch_direction_deg", "launch line", "ball direction", 0.9),
    _c("launch_direction_deg", "ball horizontal", "angle direction flight", 0.85),
    _c("launch_direction_deg", "ball direction", "flight angle side", 0.9),
    _c("launch_direction_deg", "flight direction", "angle horizontal", 0.75),
    _c("launch_direction_deg", "horizontal angle", "direction side ball", 0.85),
    _c("launch_direction_deg", "horizontal direction", "ball", 0.8),
    _c("launch_direction_deg", "horizontal", "", 0.65, "angle"),
    _c("launch_direction_deg", "side angle", "ball direction", 0.8),
    _c("launch_direction_deg", "side direction", "ball", 0.75),
    _c("launch_direction_deg", "side", "", 0.65, "angle"),
    _c("launch_direction_deg", "direction", "angle line target", 0.7),
    _c("launch_direction_deg", "line", "ball side direction", 0.62, "angle"),
    # spin
    _c("spin_rate_rpm", "spin", "rate total ball launch"),
    _c("spin_rate_rpm", "spin speed", "rate total ball", 0.95),
    _c("spin_rate_rpm", "rate", "ball", 0.6, "rotation"),
    _c("spin_rate_rpm", "", "ball launch rate", 0.7, "rotation"),
    _c("spin_rate_rpm", "total", "ball rate", 0.7, "rotation"),
    _c("spin_rate_rpm", "number", "ball", 0.7, "rotation"),  # `n [1/min]`, as engineers write it
    _c("spin_axis_deg", "axis", "spin angle ball"),
    _c("spin_axis_deg", "axis side", "spin ball", 0.9, "angle"),
    _c("spin_axis_deg", "axis curve", "spin ball", 0.9),
    _c("spin_axis_deg", "spin angle", "ball", 0.65),
    _c("spin_axis_deg", "spin", "ball direction", 0.65, "angle"),
    _c("spin_rate_rpm", "back spin total", "rate ball", 0.95),
    _c(BACK_SPIN, "back spin", "rate ball"),
    _c(BACK_SPIN, "back", "rate ball", 0.8, "rotation"),
    _c(BACK_SPIN, "back", "rate ball", 0.6),
    _c(SIDE_SPIN, "side spin", "rate ball"),
    _c(SIDE_SPIN, "side", "rate ball", 0.8, "rotation"),
    # where the ball goes
    _c("carry_m", "carry", "distance flight ball landing point line shot impact"),
    _c("carry_m", "flight distance", "ball landing point shot", 0.95),
    _c("carry_m", "landing distance", "ball point", 0.95),
    _c("carry_m", "landing", "ball point", 0.7, "length"),
    _c("carry_m", "flight", "ball", 0.75, "length"),
    _c("carry_m", "flight", "ball", 0.61),
    _c("carry_m", "distance", "ball", 0.35),
    _c("carry_side_m", "carry side", "distance landing point ball flight line target from"),
    _c("carry_side_m", "landing side", "distance point ball line target flight from"),
    _c("carry_side_m", "flight side", "distance ball line target", 0.9),
    _c("carry_side_m", "side", "distance line target ball point", 0.85),
    _c("carry_side_m", "target line distance", "ball", 0.7),
    _c("carry_side_m", "side horizontal", "distance ball target line", 0.75, "length"),
    _c("total_m", "total", "distance ball point", 0.95),
    _c("total_m", "carry roll", "distance ball total", 0.95),
    _c("total_m", "flight roll", "distance ball total", 0.9),
    _c("total_m", "distance", "ball", 0.3),
    _c("total_side_m", "total side", "distance point ball line target roll from"),
    _c(ROLL, "roll", "distance ball"),
    # flight
    _c("apex_m", "apex", "height flight ball point max"),
    _c("apex_m", "max height", "flight ball point"),
    _c("apex_m", "max point", "flight ball height", 0.9),
    _c("apex_m", "flight height", "max ball point"),
    _c("apex_m", "ball height", "max flight point", 0.85),
    _c("apex_m", "height", "", 0.75),
    _c("apex_m", "max flight", "ball", 0.6, "length"),
    _c("apex_m", "max altitude", "ball flight"),
    _c("apex_m", "max vertical", "ball flight", 0.8),
    _c("apex_m", "apex altitude", "ball flight max"),
    # `Landing direction` may be the way in which the ball comes down.
    _c(LANDING_BEARING, "landing point direction", "angle horizontal ball target line from side"),
    _c(LANDING_BEARING, "landing point side angle", "ball target line from"),
    _c(LANDING_BEARING, "carry direction", "angle horizontal point ball target line from side"),
    _c("descent_angle_deg", "landing angle", "point descent vertical ball flight"),
    _c("descent_angle_deg", "descent angle", "ball flight vertical impact"),
    _c("descent_angle_deg", "descent", "ball landing impact flight", 0.85),
    _c("descent_angle_deg", "landing", "ball descent vertical", 0.7, "angle"),
    _c("descent_angle_deg", "impact angle", "ball vertical", 0.62),
    _c("descent_angle_deg", "landing impact angle", "ball vertical"),
    _c("descent_angle_deg", "impact angle surface", "ball vertical landing", 0.9),
    _c("hang_time_s", "carry time", "ball", 0.9),
    _c("hang_time_s", "flight time", "ball carry total launch landing"),
    _c("hang_time_s", "carry time", "ball", 0.9),
    _c("hang_time_s", "flight", "ball", 0.85, "time"),
    _c("hang_time_s", "flight", "ball", 0.6),
    _c("hang_time_s", "time", "ball total", 0.6, "time"),
    _c("hang_time_s", "time", "ball", 0.6),
    _c(SPEED_RATIO, "smash", "factor ratio efficiency ball club speed"),
    _c(SPEED_RATIO, "ball club ratio", "speed"),
    _c(SPEED_RATIO, "speed ratio", "", 0.8),
    _c(SPEED_RATIO, "ball club speed", "", 0.64),  # `ball speed / club speed`, by its numbers
    # club delivery
    _c("angle_of_attack_deg", "attack", "angle club vertical swing head"),
    _c("angle_of_attack_deg", "impact angle", "club vertical shot", 0.64),
    _c("angle_of_attack_deg", "landing angle club", "vertical", 0.7),
    _c("angle_of_attack_deg", "shot angle", "club vertical", 0.62),
    _c("angle_of_attack_deg", "club vertical", "angle direction", 0.75),
    _c("club_path_deg", "path", "club swing angle horizontal direction"),
    _c("club_path_deg", "club direction", "angle horizontal side", 0.85),
    _c("club_path_deg", "club horizontal", "angle side", 0.75),
    _c(
        "face_angle_deg",
        "face",
        "angle club target direction line horizontal impact distance dynamic",
    ),
    _c("dynamic_loft_deg", "dynamic loft", "angle club face impact"),
    _c("dynamic_loft_deg", "loft impact", "angle club face dynamic", 0.95),
    # air
    _c("wind_speed_mps", "wind speed", "flight"),
    _c("wind_speed_mps", "wind", "flight", 0.7),
    _c("wind_speed_mps", "wind mean", "speed flight"),
    _c(HEAD_WIND, "head_wind", "speed wind"),
    _c(HEAD_WIND, "head_wind tail_wind", "speed wind"),
    _c(TAIL_WIND, "tail_wind", "speed wind"),
    # A direction alone may be where the wind blows to: only one that says `from` counts.
    _c("wind_from_deg", "wind from", "angle direction flight"),
    _c("air_temp_c", "temperature", "flight"),
    _c("air_temp_c", "flight", "", 0.6, "temperature"),
    _c("air_pressure_hpa", "pressure", "flight"),
    _c("humidity_pct", "humidity", "flight"),
    _c("altitude_m", "altitude", "height distance"),
    _c("altitude_m", "vertical", "height", 0.7, "length"),
    # who, when, with what
    _c("player", "player", "name number"),
    _c("player", "name", "", 0.6),
    _c(GIVEN_NAME, "given", "name player"),
    _c(FAMILY_NAME, "family", "name player"),
    _c(DATE, "date", "shot session"),
    _c(DATETIME, "date time", "shot session"),
    _c(TIME, "time", "shot", 0.7),
    _c(ZONE, "zone", "time"),
    _c(KEPT, "kept", "shot ball"),
    _c(DROPPED, "dropped", "shot ball player"),
    _c("club", "club", "type name shot ball number"),
    _c("club", "club swing", "type name"),  # of one cell that says both, as its cells tell
    _c("swing", "swing", "type name distance shot club height time point"),
    _c("flight_basis", "basis", "flight ball type"),
    _c("flight_basis", "flight", "ball type", 0.62),
    _c("swing", "type shot", "", 0.6),
    _c("ball", "ball", "type name", 0.9),
    _c("surface", "surface", "type shot ball name"),
    _c(SHOT_NUMBER, "shot number", "ball"),
    _c(SHOT_NUMBER, "number", "ball", 0.8),
    _c(SHOT_NUMBER, "shot", "", 0.7),
    _c(SHOT_NUMBER, "swing", "", 0.6),
    _c(SHOT_NUMBER, "swing number", ""),
    _c(SHOT_COUNT, "count", "shot ball number"),
)


@cache
def compositions_for(tags: frozenset[str]) -> tuple[Composition, ...]:
    """Compositions that fit a set of tags, the most telling first.

    Parameters
    ----------
    tags : frozenset[str]
        Tags of a heading, without filler and without words on how a distance was measured.

    Returns
    -------
    tuple[Composition, ...]
        All that fit; empty if the parts make no known column.
    """
    fitting = [c for c in COMPOSITIONS if c.needs <= tags <= (c.needs | c.may)]
    return tuple(sorted(fitting, key=lambda c: (-c.weight, -len(c.needs))))


@cache
def partly_made(tags: frozenset[str]) -> frozenset[str]:
    """Columns whose compositions have all of these tags, and perhaps need more.

    Parameters
    ----------
    tags : frozenset[str]
        Tags of a heading, of whose words some may be unknown.

    Returns
    -------
    frozenset[str]
        Canonical columns and helpers that the tags do not speak against.
    """
    return frozenset(c.column for c in COMPOSITIONS if tags <= (c.needs | c.may) and tags & c.needs)
