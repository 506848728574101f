"""How the players of the sample exports strike the ball, and where it flies.

A visit is struck in four steps: what the club does, how the ball leaves it, how it flies in that
day's wind and air, and what the instruments read. All columns carry their
canonical names and units. The random numbers of a visit depend on its key alone, so adding a visit
changes no other.
"""

from __future__ import annotations

import zlib
from datetime import datetime, timedelta
from typing import Any

import numpy as np
from rangeledger.models.air.air_density import REFERENCE_AIR_DENSITY_KGM3, air_density_kgm3
from rangeledger.models.air.standard_atmosphere import standard_pressure_hpa
from rangeledger.models.arrays import FloatArray
from rangeledger.sample_exports.flight_again import fly_again
from rangeledger.sample_exports.players import CLUBS, DAY_DRIFT, PLAYERS, SWINGS, Club, Player
from rangeledger.sample_exports.scenario import (
    BALL_SPEED_SCALE,
    CARRY_SCALE,
    FIRST_DAY,
    SPIN_SCALE,
    Visit,
    Weather,
)

Columns = dict[str, Any]
"""Canonical column name to an array with one value a shot; text columns are lists."""

SEED = 20260314

# Spread of the instruments' readings around the truth: relative for speeds and spin, else in the
# column's unit. Common practice, no source.
RELATIVE_NOISE = {"ball_speed_mps": 0.004, "spin_rate_rpm": 0.025, "clubhead_speed_mps": 0.006}
NOISE = {
    "launch_angle_deg": 0.2,
    "launch_direction_deg": 0.3,
    "spin_axis_deg": 1.2,
    "angle_of_attack_deg": 0.3,
    "club_path_deg": 0.4,
    "face_angle_deg": 0.4,
    "dynamic_loft_deg": 0.4,
}
FLIGHT_NOISE = {
    "carry_m": 0.8,
    "carry_side_m": 0.6,
    "apex_m": 0.25,
    "descent_angle_deg": 0.4,
    "hang_time_s": 0.03,
}
LOST_SPIN_SHARE = 0.025  # spin readings lost on mats
CLUB_SHARE_OF_DRIFT = 0.35  # part of the day's drift that each club has for itself

# Correlations between ball speed, launch angle, spin, face and path within a visit.
_CORRELATION = np.array(
    [
        [1.0, -0.1, 0.2, 0.0, 0.0],
        [-0.1, 1.0, 0.35, 0.25, 0.0],
        [0.2, 0.35, 1.0, 0.2, 0.0],
        [0.0, 0.25, 0.2, 1.0, 0.45],
        [0.0, 0.0, 0.0, 0.45, 1.0],
    ]
)
_MIXING = np.linalg.cholesky(_CORRELATION)

PUTTING_DECELERATION_MPS2 = 1.83**2 / (2 * 3.048)  # a green of Stimp 10, release at 1.83 m/s
PUTT_LENGTHS_FT = (5.0, 8.0, 10.0)


def strike(visit: Visit) -> Columns:
    """Readings of all shots of a visit.

    Parameters
    ----------
    visit : Visit
        The visit of the scenario.

    Returns
    -------
    dict of str to array
        Canonical columns [canonical units], and `mishit` (bool), what really happened.
    """
    rng = np.random.default_rng([SEED, zlib.crc32(visit.key.encode())])
    blocks = [block for block in visit.plan for _ in range(block[2])]
    shots: Columns = {"club": [b[0] for b in blocks], "swing": [b[1] for b in blocks]}
    shots |= _putt(visit, rng, len(blocks)) if blocks[0][0] == "putter" else _hit(visit, rng, shots)
    shots["struck_at"] = _times(visit, rng, len(blocks))
    return shots


def _hit(visit: Visit, rng: np.random.Generator, shots: Columns) -> Columns:
    """Launch, flight and readings of full and partial swings."""
    player = PLAYERS[visit.player]
    launch = clean_launch(visit, rng, shots, _day_drift(rng, shots["club"]))
    launch |= _mishits(player, rng, launch)
    launch |= club_delivery(shots, launch)
    read = _readings(rng, launch)
    read |= (
        _flight_read(visit, rng, launch)
        if visit.flight_basis == "measured"
        else _flight_computed(read)
    )
    read |= _point_of_rest(rng, read)
    _lose_spin(visit, rng, read)
    read["mishit"] = launch["mishit"]
    for name in ("carry_m", "carry_side_m", "total_m", "total_side_m"):
        read[name] = read[name] * visit.distance_factor
    read["apex_m"] = read["apex_m"] * visit.height_factor
    return read


def clean_launch(
    visit: Visit, rng: np.random.Generator, shots: Columns, drift: FloatArray
) -> Columns:
    """How clean strikes leave the club: stock launch, the day's drift, the spread of the shots.

    Parameters
    ----------
    visit : Visit
        Player, day, ball and what was unusual.
    rng : numpy.random.Generator
        Source of the spread.
    shots : dict
        `club` and `swing` of each shot.
    drift : ndarray
        Day's shift of speed [1], launch [deg], spin [1], face [deg], path [deg]; shape (shots, 5).

    Returns
    -------
    dict of str to ndarray
        Ball speed [m/s], launch angle [deg], spin [rpm], face and path [deg], right positive.
    """
    player = PLAYERS[visit.player]
    clubs = [CLUBS[name] for name in shots["club"]]
    swings = [SWINGS[name] for name in shots["swing"]]
    z = rng.standard_normal((len(clubs), 5)) @ _MIXING.T
    speed_sd = player.speed_sd * _each(clubs, "speed_spread") * _each(swings, "speed_spread")
    weeks = (visit.started_at - FIRST_DAY).days / 7.0
    speed = (
        _each(clubs, "ball_speed_mps")
        * (player.driver_ball_speed_mps / CLUBS["driver"].ball_speed_mps)
        * _each(swings, "speed_share")
        * BALL_SPEED_SCALE[visit.ball]
        * (1.0 + player.gain_per_week * weeks)
        * visit.ball_speed_factor
        * np.exp(drift[:, 0] + speed_sd * z[:, 0])
    )
    angle = _each(clubs, "launch_angle_deg") + player.launch_shift_deg + visit.launch_shift_deg
    angle += _each(swings, "launch_shift_deg") + drift[:, 1] + player.launch_sd_deg * z[:, 1]
    spin = _each(clubs, "spin_rate_rpm") * player.spin_factor * SPIN_SCALE[visit.ball]
    spin *= _each(swings, "speed_share") * player.driver_ball_speed_mps / 70.0
    spin *= np.exp(drift[:, 2] + player.spin_sd * z[:, 2])
    wide = _each(clubs, "face_spread")
    face = player.face_deg + wide * (drift[:, 3] + player.face_sd_deg * z[:, 3])
    path = player.path_deg + wide * (drift[:, 4] + player.path_sd_deg * z[:, 4])
    return {
        "ball_speed_mps": speed,
        "launch_angle_deg": angle,
        "spin_rate_rpm": spin,
        "face_angle_deg": player.hand * face + visit.face_shift_deg,
        "club_path_deg": player.hand * path,
    }


def _each(things: list[Any], name: str) -> FloatArray:
    """One attribute of each club or swing, as an array."""
    return np.array([getattr(thing, name) for thing in things], dtype=float)


def _day_drift(rng: np.random.Generator, clubs: list[str]) -> FloatArray:
    """What the day adds to each shot: a part for the whole bag and a part for each club."""
    sd = np.array(
        [
            DAY_DRIFT.speed_sd,
            DAY_DRIFT.launch_sd_deg,
            DAY_DRIFT.spin_sd,
            DAY_DRIFT.face_sd_deg,
            DAY_DRIFT.path_sd_deg,
        ]
    )
    names = list(dict.fromkeys(clubs))
    shared = rng.standard_normal(5)
    own = dict(zip(names, rng.standard_normal((len(names), 5)), strict=True))
    return np.array([sd * (shared + CLUB_SHARE_OF_DRIFT * own[club]) for club in clubs])


def _mishits(player: Player, rng: np.random.Generator, launch: Columns) -> Columns:
    """Replace some strikes by thin, heavy and off-centre ones."""
    count = len(launch["ball_speed_mps"])
    mishit = rng.random(count) < player.mishit_rate
    kind = rng.integers(0, 3, count)
    loss, turn = rng.random(count), rng.standard_normal(count)
    speed = np.choose(kind, [0.85 + 0.08 * loss, 0.70 + 0.16 * loss, 0.86 + 0.08 * loss])
    angle = np.choose(kind, [0.60, 1.05, 0.97])
    spin = np.choose(kind, [0.75, 0.80, 0.90])
    face = np.choose(kind, [0.0, 0.0, 3.5]) * turn
    return {
        "mishit": mishit,
        "strike_quality": np.where(mishit, speed, 1.0),
        "ball_speed_mps": launch["ball_speed_mps"] * np.where(mishit, speed, 1.0),
        "launch_angle_deg": launch["launch_angle_deg"] * np.where(mishit, angle, 1.0),
        "spin_rate_rpm": launch["spin_rate_rpm"] * np.where(mishit, spin, 1.0),
        "face_angle_deg": launch["face_angle_deg"] + np.where(mishit, face, 0.0),
    }


def club_delivery(shots: Columns, launch: Columns) -> Columns:
    """Club speed and loft that fit the launch; start direction and axis that fit face and path.

    Parameters
    ----------
    shots : dict
        `club` of each shot.
    launch : dict
        Launch of the shots, as `clean_launch` gives it.

    Returns
    -------
    dict of str to ndarray
        Club speed [m/s]; attack angle, dynamic loft, start direction and spin axis [deg].

    Notes
    -----
    Common practice, no source: the ball starts mostly where the face points (about 85 % with a
    driver, 75 % with an iron), and the axis tilts by the angle between face and path over the
    sine of the spin loft.
    """
    clubs: list[Club] = [CLUBS[name] for name in shots["club"]]
    attack, weight = _each(clubs, "angle_of_attack_deg"), _each(clubs, "face_weight")
    face, path = launch["face_angle_deg"], launch["club_path_deg"]
    loft = (launch["launch_angle_deg"] - 0.15 * attack) / 0.85
    spin_loft = np.radians(np.maximum(loft - attack, 8.0))
    ratio = _each(clubs, "speed_ratio") * launch.get("strike_quality", 1.0)
    tilt = np.degrees(np.arctan(np.radians(face - path) / np.sin(spin_loft)))
    return {
        "clubhead_speed_mps": launch["ball_speed_mps"] / ratio,
        "angle_of_attack_deg": attack,
        "dynamic_loft_deg": loft,
        "launch_direction_deg": weight * face + (1.0 - weight) * path,
        "spin_axis_deg": tilt,
    }


def _readings(rng: np.random.Generator, launch: Columns) -> Columns:
    """Launch and club delivery as the instruments read them."""
    read: Columns = {}
    for name, share in RELATIVE_NOISE.items():
        read[name] = launch[name] * (1.0 + share * rng.standard_normal(len(launch[name])))
    for name, sd in NOISE.items():
        read[name] = launch[name] + sd * rng.standard_normal(len(launch[name]))
    return read


def _air_density(weather: Weather) -> float:
    """Density of the visit's air [kg/m3]."""
    pressure = standard_pressure_hpa(weather.altitude_m)
    return float(air_density_kgm3(weather.air_temp_c, pressure, weather.humidity_pct))


def _flight_read(visit: Visit, rng: np.random.Generator, launch: Columns) -> Columns:
    """The true flight in the day's gusty wind, as it was tracked."""
    count, weather = len(launch["ball_speed_mps"]), visit.weather
    gust = 1.0 + weather.gust_share * rng.standard_normal(count)
    veer = 40.0 * weather.gust_share * rng.standard_normal(count)
    flight: Columns = fly_again(
        launch,
        air_density_kgm3=_air_density(weather),
        wind_speed_mps=np.maximum(weather.wind_speed_mps * gust, 0.0),
        wind_from_deg=weather.wind_from_deg + veer,
    )._asdict()
    for name in ("carry_m", "carry_side_m"):
        flight[name] = flight[name] * CARRY_SCALE[visit.ball]
    for name, sd in FLIGHT_NOISE.items():
        flight[name] = flight[name] + sd * rng.standard_normal(count)
    return flight


def _flight_computed(read: Columns) -> Columns:
    """The flight that follows from the readings in calm reference air, nothing tracked."""
    density = REFERENCE_AIR_DENSITY_KGM3
    flight = fly_again(read, air_density_kgm3=density, wind_speed_mps=0.0, wind_from_deg=0.0)
    return flight._asdict()


def _point_of_rest(rng: np.random.Generator, read: Columns) -> Columns:
    """Bounce and roll: the flatter and faster the landing the longer; common practice."""
    fresh = 1.0 + 0.15 * rng.standard_normal(len(read["carry_m"]))
    level = read["landing_speed_mps"] * np.cos(np.radians(read["descent_angle_deg"]))
    roll = 17.0 * np.exp(-0.10 * (read["descent_angle_deg"] - 38.0)) * (level / 22.0) ** 1.5
    roll = 0.5 + 26.0 * np.tanh(roll * np.maximum(fresh, 0.2) / 26.0)
    heading = np.arctan2(1.3 * read["carry_side_m"], np.maximum(read["carry_m"], 1.0))
    return {
        "total_m": read["carry_m"] + roll * np.cos(heading),
        "total_side_m": read["carry_side_m"] + roll * np.sin(heading),
    }


def _lose_spin(visit: Visit, rng: np.random.Generator, read: Columns) -> None:
    """Spin and axis that the instruments could not read become NaN."""
    lost = rng.random(len(read["carry_m"])) < LOST_SPIN_SHARE
    if visit.surface == "mat" and visit.flight_basis == "measured":
        for name in ("spin_rate_rpm", "spin_axis_deg"):
            read[name] = np.where(lost, np.nan, read[name])


def _putt(visit: Visit, rng: np.random.Generator, count: int) -> Columns:
    """Putts on a level green; `putt_length_ft` is the aim, not a canonical column."""
    player = PLAYERS[visit.player]
    length = np.repeat(PUTT_LENGTHS_FT, -(-count // len(PUTT_LENGTHS_FT)))[:count]
    aim = length * 0.3048 + 0.45
    roll = aim * np.exp(0.08 * rng.standard_normal(count))
    direction = 0.2 + player.putt_direction_sd_deg * rng.standard_normal(count)
    return {
        "putt_length_ft": length,
        "ball_speed_mps": np.sqrt(2.0 * PUTTING_DECELERATION_MPS2 * roll),
        "launch_direction_deg": direction,
        "total_m": roll * np.cos(np.radians(direction)),
        "mishit": np.zeros(count, dtype=bool),
    }


def _times(visit: Visit, rng: np.random.Generator, count: int) -> list[datetime]:
    """Local times of the shots, 30 to 75 s apart."""
    seconds = np.concatenate([[0], np.cumsum(rng.integers(30, 76, count - 1))])
    return [visit.started_at + timedelta(seconds=int(second)) for second in seconds]
