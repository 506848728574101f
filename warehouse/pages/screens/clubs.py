"""Every club, swing and ball of a player, with the bag from above."""

from __future__ import annotations

import polars as pl
from rangeledger.warehouse.pages.carry_plots import carry_bands
from rangeledger.warehouse.pages.plan_plots import bag_plan
from rangeledger.warehouse.pages.player_rows import usual_ball
from rangeledger.warehouse.pages.screens.parts import (
    Drawings,
    Row,
    Screen,
    ScreenRequest,
    Shown,
    Table,
)
from rangeledger.warehouse.pages.screens.today import CARRY_SQL, band_words, club_address
from rangeledger.warehouse.pages.shape_words import degrees_words
from rangeledger.warehouse.pages.units import club_label, percent

# Two-sided 90 % of a normal.
_NORMAL_90 = 1.645
_BAG_SQL = """
    SELECT club, swing, ball, level, centre_carry_m, centre_side_m, half_axis_long_m,
           half_axis_short_m, angle_deg
    FROM dispersion WHERE player = $1 AND ball = $2 AND swing = 'full' AND level = 0.8"""
_SHAPE_SQL = """
    SELECT club, shots, stock_shape, share_stock_shape, share_stock_low, share_stock_high,
           share_curving_left, share_straight, share_curving_right, start_direction_deg,
           start_direction_sd_deg, curve_deg, curve_sd_deg, width_m, width_yd, two_way
    FROM shot_shape AS s
    LEFT JOIN (SELECT club, max(carry_m) AS carry_m FROM carry_by_club
               WHERE player = $1 AND swing = 'full' GROUP BY club) AS c USING (club)
    WHERE player = $1 ORDER BY c.carry_m DESC NULLS LAST, club"""


def clubs(request: ScreenRequest) -> Screen:
    """Carry, spread, side and shape of each club.

    Parameters
    ----------
    request : ScreenRequest
        Whose, in which unit.

    Returns
    -------
    Screen
    """
    carry = request.rows(CARRY_SQL)
    usual = usual_ball(carry)
    bands = carry_bands(carry, usual, request.unit)
    bag = bag_plan(request.rows(_BAG_SQL, usual), request.unit)
    drawings = [
        (
            "Bands",
            bands,
            "Bar: eight of ten next shots, mishits included. Stroke: centre of clean strikes.",
        )
    ]
    if bag:
        drawings.append(
            ("From above", bag, "Full swings; each ellipse holds eight of ten next shots.")
        )
    parts = (
        _carry_table(request, carry, usual),
        _shape_table(request),
        Drawings(drawings, wide=True),
    )
    return Screen("Clubs", f"Still air, {request.unit.word}.", parts)


def _carry_table(request: ScreenRequest, carry: pl.DataFrame, usual: str) -> Table:
    unit = request.unit
    return Table(
        "carry_by_club",
        f"Carry in still air, {unit.word}. “±”: how surely the centre is known (90 % interval). "
        "Spread: standard deviation of clean strikes, made of that within a visit and that of the "
        "centres between visits. * one session only.",
        (
            Shown(
                "Club",
                lambda row: (
                    club_label(row["club"], row["swing"], row["ball"], usual)
                    + ("*" if row["provisional"] else "")
                ),
                to=lambda row: club_address("dispersion", row),
            ),
            Shown("Carry", lambda row: unit.whole(row["carry_m"])),
            Shown("±", lambda row: unit.tenth(_wide(row["carry_se_m"]))),
            Shown("Spread", lambda row: unit.tenth(row["carry_sd_m"])),
            Shown("In a visit", lambda row: unit.tenth(row["carry_within_sd_m"])),
            Shown("Between visits", lambda row: unit.tenth(row["carry_between_sd_m"])),
            Shown("8 of 10", lambda row: band_words(row, unit)),
            Shown("Side", lambda row: unit.signed(row["side_m"])),
            Shown("Side spread", lambda row: unit.tenth(row["side_sd_m"])),
            Shown("Mishits", lambda row: percent(row["mishit_rate"])),
            Shown("Shots", lambda row: str(row["shots"])),
            Shown("Sessions", lambda row: str(row["sessions"])),
        ),
        carry,
        soft=lambda row: bool(row["provisional"]),
    )


def _wide(standard_error: float | None) -> float | None:
    return None if standard_error is None else _NORMAL_90 * standard_error


def _shape_table(request: ScreenRequest) -> Table:
    unit = request.unit
    return Table(
        "shot_shape",
        "Shape of clean full swings, seen from behind the ball. Of this shape: how often a shot "
        "curves as the stock shape does, and the 90 % interval. Starts and curves: middle ± spread "
        f"in degrees. Width: {unit.word} across that hold eight of ten.",
        (
            Shown("Club", lambda row: club_label(row["club"], "full")),
            Shown("Stock shape", lambda row: row["stock_shape"] or "–", words=True),
            Shown("Of this shape", _share),
            Shown("Left", lambda row: percent(row["share_curving_left"])),
            Shown("Straight", lambda row: percent(row["share_straight"])),
            Shown("Right", lambda row: percent(row["share_curving_right"])),
            Shown(
                "Starts",
                lambda row: degrees_words(
                    row["start_direction_deg"], row["start_direction_sd_deg"]
                ),
            ),
            Shown("Curves", lambda row: degrees_words(row["curve_deg"], row["curve_sd_deg"])),
            Shown("Width", lambda row: unit.whole(row["width_m"])),
            Shown(
                "Both ways", lambda row: "misses both ways" if row["two_way"] else "", words=True
            ),
        ),
        request.rows(_SHAPE_SQL),
    )


def _share(row: Row) -> str:
    low, high = (percent(row[f"share_stock_{end}"]).removesuffix(" %") for end in ("low", "high"))
    return f"{percent(row['share_stock_shape'])} ({low}–{high})"
