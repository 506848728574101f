"""Players and clubs of the invented academy, as data tables.

Ball speeds, launch angles and spins by club are common practice, no source: irons spin about a
thousand turns a minute per club number, and ball speed falls by about five per cent a club.
"""

from __future__ import annotations

from dataclasses import dataclass

Plan = tuple[tuple[str, str, int], ...]
"""Blocks of a visit in the order they were struck: canonical club, swing, number of shots."""


@dataclass(frozen=True, slots=True)
class Club:
    """Stock launch of a club for a driver ball speed of 70 m/s, and how it meets the ball."""

    ball_speed_mps: float
    launch_angle_deg: float
    spin_rate_rpm: float
    speed_ratio: float
    angle_of_attack_deg: float
    speed_spread: float
    face_spread: float
    face_weight: float


CLUBS: dict[str, Club] = {
    "driver": Club(70.0, 12.0, 2650, 1.48, 1.5, 1.00, 1.35, 0.85),
    "3-wood": Club(65.6, 11.6, 3450, 1.46, -2.0, 1.05, 1.25, 0.85),
    "5-wood": Club(62.6, 13.2, 4150, 1.45, -2.5, 1.05, 1.20, 0.85),
    "7-wood": Club(60.0, 14.8, 4700, 1.44, -2.5, 1.05, 1.15, 0.85),
    "4-hybrid": Club(59.6, 14.4, 4600, 1.42, -3.0, 1.10, 1.10, 0.80),
    "5-hybrid": Club(57.8, 15.6, 5100, 1.41, -3.0, 1.10, 1.10, 0.80),
    "6-hybrid": Club(55.8, 16.8, 5600, 1.40, -3.0, 1.10, 1.05, 0.80),
    "4-iron": Club(58.4, 14.0, 4700, 1.41, -3.5, 1.20, 1.05, 0.75),
    "5-iron": Club(56.4, 15.2, 5300, 1.40, -3.8, 1.15, 1.00, 0.75),
    "6-iron": Club(54.3, 16.7, 6000, 1.38, -4.0, 1.15, 1.00, 0.75),
    "7-iron": Club(52.0, 18.3, 6700, 1.36, -4.2, 1.15, 1.00, 0.75),
    "8-iron": Club(49.6, 20.3, 7500, 1.33, -4.4, 1.15, 0.95, 0.75),
    "9-iron": Club(47.0, 22.6, 8200, 1.29, -4.5, 1.20, 0.95, 0.75),
    "pitching-wedge": Club(44.2, 25.2, 8800, 1.24, -4.8, 1.40, 0.90, 0.75),
    "gap-wedge": Club(41.2, 27.6, 9200, 1.19, -4.8, 1.70, 0.90, 0.75),
    "sand-wedge": Club(37.9, 30.2, 9500, 1.12, -5.0, 1.80, 0.90, 0.75),
    "lob-wedge": Club(34.6, 33.0, 9600, 1.05, -5.0, 1.90, 0.90, 0.75),
    "50-wedge": Club(41.4, 27.4, 9200, 1.19, -4.8, 1.70, 0.90, 0.75),
    "52-wedge": Club(40.2, 28.4, 9300, 1.17, -4.8, 1.70, 0.90, 0.75),
    "54-wedge": Club(38.6, 29.8, 9450, 1.13, -5.0, 1.80, 0.90, 0.75),
    "56-wedge": Club(37.3, 30.9, 9500, 1.11, -5.0, 1.80, 0.90, 0.75),
    "58-wedge": Club(35.6, 32.4, 9600, 1.07, -5.0, 1.90, 0.90, 0.75),
}


@dataclass(frozen=True, slots=True)
class SwingLength:
    """Share of full ball speed that a shortened swing gives, and its wider relative spread."""

    speed_share: float
    speed_spread: float
    launch_shift_deg: float


SWINGS: dict[str, SwingLength] = {
    "full": SwingLength(1.0, 1.0, 0.0),
    "10:30": SwingLength(0.895, 1.25, -0.5),
    "9:00": SwingLength(0.775, 1.40, -1.0),
    "7:30": SwingLength(0.645, 1.60, -1.5),
    "smooth": SwingLength(0.910, 1.20, -0.3),
    "soft": SwingLength(0.760, 1.45, -0.8),
}


@dataclass(frozen=True, slots=True)
class Player:
    """A golfer: speed, stock shape and spread; face and path count open and outward positive.

    `gain_per_week` is the relative growth of ball speed from the first day of the calendar.
    """

    name: str
    hand: int
    driver_ball_speed_mps: float
    launch_shift_deg: float
    spin_factor: float
    face_deg: float
    path_deg: float
    speed_sd: float
    launch_sd_deg: float
    spin_sd: float
    face_sd_deg: float
    path_sd_deg: float
    mishit_rate: float
    gain_per_week: float = 0.0
    putt_direction_sd_deg: float = 1.2


RIGHT_HANDED, LEFT_HANDED = 1, -1

PLAYERS: dict[str, Player] = {
    player.name: player
    for player in (
        # a scratch-like player who draws the ball a little
        Player("Tamsin Orrelle", RIGHT_HANDED, 66.5, 0.3, 1.00, 0.5, 1.1,
               0.018, 0.85, 0.050, 1.05, 1.20, 0.06, 0.0, 0.75),
        # a long hitter, good player, slight fade
        Player("Bram Ostervik", RIGHT_HANDED, 74.0, -0.4, 1.03, 0.3, -0.4,
               0.017, 0.80, 0.045, 0.95, 1.10, 0.05),
        # a mid handicap who trains speed and gains all spring
        Player("Nuria Castelvane", RIGHT_HANDED, 57.5, 0.6, 0.96, 0.9, 0.2,
               0.020, 1.05, 0.060, 1.50, 1.70, 0.08, 0.0032),
        # left-handed, mid to low handicap, fades (to the left)
        Player("Joakim Tveråsen", LEFT_HANDED, 63.0, 0.0, 1.04, 0.8, -0.2,
               0.021, 1.00, 0.055, 1.30, 1.50, 0.08),
        # new to the game, slices
        Player("Perrine Aubrac-Lys", RIGHT_HANDED, 46.5, 1.0, 1.05, 2.0, -1.2,
               0.032, 1.60, 0.085, 2.30, 2.50, 0.14, 0.0, 1.75),
    )
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class DayDrift:
    """Spread from visit to visit, shared by all clubs of a visit."""

    speed_sd: float = 0.006
    launch_sd_deg: float = 0.30
    spin_sd: float = 0.022
    face_sd_deg: float = 0.20
    path_sd_deg: float = 0.22


DAY_DRIFT = DayDrift()
