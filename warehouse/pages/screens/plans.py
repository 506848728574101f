"""Where each club's shots come down: one small plan a club, for a page that nobody can ask."""

from __future__ import annotations

import polars as pl
from rangeledger.warehouse.pages.plan_plots import dispersion_plan
from rangeledger.warehouse.pages.player_rows import usual_ball
from rangeledger.warehouse.pages.screens.parts import Drawings, Screen, ScreenRequest
from rangeledger.warehouse.pages.screens.today import CARRY_SQL
from rangeledger.warehouse.pages.units import club_label

_ELLIPSES_SQL = """
    SELECT club, swing, ball, level, centre_carry_m, centre_side_m, half_axis_long_m,
           half_axis_short_m, angle_deg
    FROM dispersion WHERE player = $1 ORDER BY club, swing, ball, level"""
_SHOTS_SQL = """
    SELECT club, swing, ball, still_carry_m, still_side_m, strike FROM shots
    WHERE player = $1 AND NOT excluded AND still_carry_m IS NOT NULL
    ORDER BY session_id, shot_number"""


def plans(request: ScreenRequest) -> Screen:
    """A plan of each club and swing.

    Parameters
    ----------
    request : ScreenRequest
        Whose, in which unit.

    Returns
    -------
    Screen
    """
    carry = request.rows(CARRY_SQL)
    ellipses, shots, usual = (
        request.rows(_ELLIPSES_SQL),
        request.rows(_SHOTS_SQL),
        usual_ball(carry),
    )
    items = []
    for row in carry.to_dicts():
        same = [pl.col(name) == row[name] for name in ("club", "swing", "ball")]
        own = shots.filter(same)
        if own["still_side_m"].is_not_null().any():
            label = club_label(row["club"], row["swing"], row["ball"], usual)
            items.append(
                (label, dispersion_plan(label, ellipses.filter(same), own, request.unit), "")
            )
    about = (
        f"From above, the target straight up, still air, {request.unit.word}. Dots are clean "
        "strikes, crosses mishits. Ellipses hold half (whole line), 80 % (dashes) and 90 % "
        "(points) of next shots."
    )
    return Screen("Dispersion", "", (Drawings(items, about),))
