"""Wind with height: uniform, power law and logarithmic law.

A stated wind is one number; which height it was taken at decides what the ball meets. All winds
end on one scale, the *uniform wind that the ball meets* (`UNIFORM`): a wind recovered from shots is
exactly that, and a noted one is brought to it by `ball_wind_factor`. A weather report's wind
(`weather`) is taken at 10 m in open country, a reading by hand (`player`) 2 m above mown grass,
where a ball at 30 m meets 1.4 times as much.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum
from typing import Any, Final

import numpy as np
from numpy.typing import ArrayLike

WEATHER_HEIGHT_M: Final = 10.0  # height of a reported wind. Source: WMO No. 8, from memory
PLAYER_HEIGHT_M: Final = 2.0  # height of a reading by hand. Common practice, no source
OPEN_COUNTRY_EXPONENT: Final = 1.0 / 7.0  # common engineering value; IEC 61400-1 takes 0.2
OPEN_COUNTRY_ROUGHNESS_M: Final = 0.03  # open farmland. Source: Swiss wind atlas table
MOWN_GRASS_ROUGHNESS_M: Final = 0.0024  # mown grass. Source: Swiss wind atlas table
FELT_AT: Final = 0.5  # share of the apex at which the wind is as the ball meets it on the whole
LEAST_HEIGHT_M: Final = 0.1  # below this the laws, singular at the ground, are held constant


class ProfileKind(IntEnum):
    """Law of the wind's growth with height."""

    UNIFORM = 0
    POWER = 1
    LOG = 2


@dataclass(frozen=True, slots=True)
class WindProfile:
    """A law, the height at which the stated wind holds [m], and the law's one parameter."""

    kind: ProfileKind = ProfileKind.UNIFORM
    reference_height_m: float = WEATHER_HEIGHT_M
    parameter: float = 1.0


UNIFORM: Final = WindProfile()


def power_law(
    reference_height_m: float = WEATHER_HEIGHT_M, exponent: float = OPEN_COUNTRY_EXPONENT
) -> WindProfile:
    """Wind that grows with a power of the height.

    Parameters
    ----------
    reference_height_m : float
        Height at which the stated wind holds [m].
    exponent : float
        Power [1]; 1/7 in open country, 0.2 for wind turbines (IEC 61400-1).

    Returns
    -------
    WindProfile
        The profile [1].
    """
    return WindProfile(ProfileKind.POWER, reference_height_m, exponent)


def log_law(
    reference_height_m: float = WEATHER_HEIGHT_M, roughness_m: float = OPEN_COUNTRY_ROUGHNESS_M
) -> WindProfile:
    """Wind that grows with the logarithm of the height, in neutral air.

    Parameters
    ----------
    reference_height_m : float
        Height at which the stated wind holds [m].
    roughness_m : float
        Roughness length of the ground [m]; mown grass 0.0024, farmland 0.03, trees 0.4.

    Returns
    -------
    WindProfile
        The profile [1].
    """
    return WindProfile(ProfileKind.LOG, reference_height_m, roughness_m)


def at_player_height() -> WindProfile:
    """Wind read by hand beside the player: 2 m above mown grass, logarithmic law.

    Returns
    -------
    WindProfile
        The profile [1].
    """
    return log_law(PLAYER_HEIGHT_M, MOWN_GRASS_ROUGHNESS_M)


def noted_profile(height: str) -> WindProfile:
    """Profile of a wind by where it was taken.

    Parameters
    ----------
    height : str
        `weather`, `player` or `ball`, as in the canonical column `wind_height`.

    Returns
    -------
    WindProfile
        The profile [1].
    """
    return {"weather": log_law(), "player": at_player_height(), "ball": UNIFORM}[height]


def ball_wind_factor(apex_m: ArrayLike, profile: WindProfile) -> Any:
    """Uniform wind that moves a ball as much as a wind that grows with height.

    Parameters
    ----------
    apex_m : array_like
        Highest point of the flight [m].
    profile : WindProfile
        Law and reference height of the stated wind.

    Returns
    -------
    float or ndarray
        Factor on the stated wind [1], shape of the input.

    Notes
    -----
    The wind at half the apex. Against flights solved through the profile it is right within 3 % in
    cross and head winds of 4 m/s; a strong head wind counts a little more, a tail wind up to 12 %
    less, since they lift and press the flight itself.
    """
    return wind_factor(FELT_AT * np.asarray(apex_m, dtype=float), profile)


def wind_factor(height_m: ArrayLike, profile: WindProfile) -> Any:
    """Wind at a height as a multiple of the stated wind.

    Parameters
    ----------
    height_m : array_like
        Height above the ground [m]; held at 0.1 m below that.
    profile : WindProfile
        Law and reference height.

    Returns
    -------
    float or ndarray
        u(z) / u(reference) [1], shape of the input.

    Notes
    -----
    Power law u/u_r = (z/z_r)^a; logarithmic law u/u_r = ln(z/z_0)/ln(z_r/z_0), never below zero.
    The compiled loop of the flight holds the laws once more; the tests solve flights with this
    function too and compare.
    """
    z = np.maximum(np.asarray(height_m, dtype=float), LEAST_HEIGHT_M)
    if profile.kind is ProfileKind.POWER:
        return ((z / profile.reference_height_m) ** profile.parameter)[()]
    if profile.kind is ProfileKind.LOG:
        z0 = profile.parameter
        return np.maximum(np.log(z / z0) / np.log(profile.reference_height_m / z0), 0.0)[()]
    return np.where(np.isnan(z), np.nan, 1.0)[()]


def head_and_cross(wind_speed_mps: ArrayLike, wind_from_deg: ArrayLike) -> tuple[Any, Any]:
    """Components of a wind: against the player and to the right.

    Parameters
    ----------
    wind_speed_mps : array_like
        Wind speed [m/s].
    wind_from_deg : array_like
        Where it comes from, from the target clockwise [deg]: 0 in the face, 90 from the right.

    Returns
    -------
    tuple of float or ndarray
        Head component, against the player positive [m/s]; cross component, pushing the ball to
        the right positive [m/s].
    """
    speed = np.asarray(wind_speed_mps, dtype=float)
    angle = np.radians(np.asarray(wind_from_deg, dtype=float))
    return (speed * np.cos(angle))[()], (-speed * np.sin(angle))[()]


def speed_and_from(head_wind_mps: ArrayLike, cross_wind_mps: ArrayLike) -> tuple[Any, Any]:
    """Speed and origin of a wind given by its components; the inverse of `head_and_cross`.

    Parameters
    ----------
    head_wind_mps : array_like
        Head component, against the player positive [m/s].
    cross_wind_mps : array_like
        Cross component, pushing the ball to the right positive [m/s].

    Returns
    -------
    tuple of float or ndarray
        Wind speed [m/s] and where it comes from, 0 <= angle < 360 [deg].
    """
    head = np.asarray(head_wind_mps, dtype=float)
    cross = np.asarray(cross_wind_mps, dtype=float)
    angle = np.degrees(np.arctan2(-cross, head)) % 360.0
    return np.hypot(head, cross)[()], np.where(angle >= 360.0, 0.0, angle)[()]
