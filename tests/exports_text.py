"""Small exports as text, of our own devising, for tests of what comes after reading."""

from __future__ import annotations

HEADING = (
    "Player,Date and time,Club,Ball speed (mph),Launch angle (deg),Launch direction (deg),"
    "Spin (rpm),Spin axis (deg),Carry (yd),Side (yd)"
)
# Ball speed, launch, direction, spin, axis and the landing that the flight model gives them.
_SEVEN_IRONS = (
    "108.4,18.0,0.4,6420,1.1,150.6,2.9",
    "110.0,17.6,-0.8,6310,-1.9,154.0,-5.1",
    "106.9,18.4,1.5,6650,0.7,147.2,5.0",
    "109.2,17.9,-0.1,6500,-0.4,152.1,-0.9",
    "107.7,18.2,0.9,6380,2.4,149.4,6.3",
    "108.8,17.7,0.2,6290,-2.2,151.8,-2.8",
)
# Settles headings that tell nothing, `Aa,Bb,Cc,Dd`, whatever their dress.
MAPPING = """\
[match]
headings = ["aa", "BB", "cc!", "Dd"]
[columns."Aa"]
column = "club"
[columns."Bb"]
column = "ball_speed_mps"
unit = "m/s"
[columns."Cc"]
column = "launch_angle_deg"
unit = "deg"
[columns."Dd"]
column = "carry_m"
unit = "yd"
[constants]
ball = "range"
"""


def seven_irons(player: str = "Ada Brook", day: str = "2026-05-02", club: str = "7 iron") -> str:
    """A plain export of six shots with one club."""
    rows = [f"{player},{day} 09:0{n}:00,{club},{values}" for n, values in enumerate(_SEVEN_IRONS)]
    return "\n".join([HEADING, *rows]) + "\n"
