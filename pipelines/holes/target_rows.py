"""A choice of target as rows and as plain sentences."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import numpy as np
import polars as pl
from rangeledger.models.strategy.hole_geometry import Ground, Hole, hazards_on_line
from rangeledger.models.strategy.lay_up import GoOrLayUp
from rangeledger.models.strategy.target_choice import OptionAtBestAim, TargetChoice, advantage
from rangeledger.models.strategy.tee_shot import FairwayByAim
from rangeledger.schemas.units import YARD_M

# Options whose hazards are listed.
_HAZARD_OPTIONS = 5


def both_units(rows: Sequence[dict[str, Any]]) -> pl.DataFrame:
    """Rows as a frame, each length in metres followed by its twin in yards.

    Parameters
    ----------
    rows : sequence of dict
        Rows; names of lengths end in `_m`.

    Returns
    -------
    polars.DataFrame
    """
    frame = pl.DataFrame(list(rows), infer_schema_length=None)
    columns: list[pl.Expr] = []
    for name in frame.columns:
        columns.append(pl.col(name))
        if name.endswith("_m"):
            length = pl.col(name).cast(pl.Float64)
            columns.append((length / YARD_M).alias(f"{name[:-2]}_yd"))
    return frame.select(columns)


def beside_flag(hole: Hole, aim_rad: float) -> float:
    """Where a line of aim passes the flag [m], right of it positive."""
    turn = aim_rad - hole.flag_aim_rad
    return hole.distance_m * math.tan(max(min(turn, 1.4), -1.4))


def beside_line(hole: Hole, option: OptionAtBestAim) -> float:
    """Where the best aim passes the line to the flag at the day's carry [m], right positive."""
    return stock_carry(option) * math.sin(option.aim_rad - hole.flag_aim_rad)


def option_rows(choice: TargetChoice) -> pl.DataFrame:
    """One row a club and swing, best first.

    Parameters
    ----------
    choice : TargetChoice
        What was found.

    Returns
    -------
    polars.DataFrame
        Expected strokes, how far behind the best with its 90 % interval, the aim at the flag's
        distance, the day's carry, the chance of each finish, what aiming at the flag would
        cost, and between which aims the score stays within 0.02 strokes.
    """
    best = choice.options[0]
    return both_units(
        [_option_row(choice, best, option, rank) for rank, option in enumerate(choice.options, 1)]
    )


def _option_row(
    choice: TargetChoice, best: OptionAtBestAim, option: OptionAtBestAim, rank: int
) -> dict[str, Any]:
    behind = advantage(best, option)
    left, right = (beside_flag(choice.hole, aim) for aim in option.as_good_rad)
    pattern = option.option.pattern
    return {
        "rank": rank,
        "club": pattern.club,
        "swing": pattern.swing,
        "ball": pattern.ball,
        "expected_strokes": option.score,
        "strokes_behind": behind.strokes,
        "strokes_behind_low": behind.low if rank > 1 else 0.0,
        "strokes_behind_high": behind.high if rank > 1 else 0.0,
        "too_close_to_call": rank > 1 and behind.too_close_to_call,
        "aim_deg": math.degrees(option.aim_rad - choice.hole.flag_aim_rad),
        "aim_right_of_flag_m": beside_flag(choice.hole, option.aim_rad),
        "aim_right_at_carry_m": beside_line(choice.hole, option),
        "as_good_from_m": left,
        "as_good_to_m": right,
        "flag_aim_cost_strokes": option.flag_cost,
        "carry_m": stock_carry(option),
        **{f"chance_{ground.word}": option.chance(ground) for ground in Ground},
    }


def stock_carry(option: OptionAtBestAim) -> float:
    """Carry of the stock shot in the day's wind and air [m]."""
    stock = (option.option.pattern.carry_m, option.option.pattern.side_m)
    return float(option.day.landing(np.array([stock]), stock)[0, 0])


def hazard_rows(choice: TargetChoice) -> pl.DataFrame:
    """One row a hazard on the line of each of the best options.

    Parameters
    ----------
    choice : TargetChoice
        What was found.

    Returns
    -------
    polars.DataFrame
        The carries to reach and to clear the hazard within 10 m of the line of aim, and the
        chance that the next shot carries that far.
    """
    rows = [
        {
            "club": option.option.pattern.club,
            "swing": option.option.pattern.swing,
            "hazard": hazard.area.name,
            "ground": hazard.area.ground.word,
            "carry_to_reach_m": hazard.reach_m,
            "carry_to_clear_m": hazard.clear_m,
            "chance_to_clear": option.chance_to_carry(hazard.clear_m),
        }
        for option in choice.options[:_HAZARD_OPTIONS]
        for hazard in hazards_on_line(choice.hole, option.aim_rad)
    ]
    if rows:
        return both_units(rows)
    texts = dict.fromkeys(("club", "swing", "hazard", "ground"), pl.String)
    numbers = ("carry_to_reach_m", "carry_to_reach_yd", "carry_to_clear_m", "carry_to_clear_yd",
               "chance_to_clear")  # fmt: skip
    return pl.DataFrame(schema=texts | dict.fromkeys(numbers, pl.Float64))


def fairway_rows(hole: Hole, option: OptionAtBestAim, table: FairwayByAim) -> pl.DataFrame:
    """One row an aim of the tee shot.

    Parameters
    ----------
    hole : Hole
        The hole.
    option : OptionAtBestAim
        The club of the tee shot.
    table : FairwayByAim
        Chances by aim.

    Returns
    -------
    polars.DataFrame
        The aim at the distance of the carry, right of the line to the flag positive, and the
        chance of the fairway and the expected strokes with the own pattern and a two-way one.
    """
    pattern = option.option.pattern
    turns = table.aims_rad - hole.flag_aim_rad
    return both_units(
        [
            {
                "club": pattern.club,
                "swing": pattern.swing,
                "aim_deg": math.degrees(turn),
                "aim_at_carry_m": pattern.carry_m * math.tan(turn),
                "chance_fairway": float(table.stock[row]),
                "expected_strokes": float(table.stock_score[row]),
                "two_way_chance_fairway": float(table.two_way[row]),
                "two_way_expected_strokes": float(table.two_way_score[row]),
            }
            for row, turn in enumerate(turns)
        ]
    )


def lay_up_rows(found: Sequence[GoOrLayUp]) -> pl.DataFrame:
    """One row a distance left.

    Parameters
    ----------
    found : sequence of GoOrLayUp
        Both ways at each distance.

    Returns
    -------
    polars.DataFrame
        The best club and the expected strokes of going and of laying up, what going gains with
        its 90 % interval, and the verdict.
    """
    return both_units([_lay_up_row(entry) for entry in found])


def _lay_up_row(entry: GoOrLayUp) -> dict[str, Any]:
    def name(option: OptionAtBestAim | None) -> str | None:
        return option.option.pattern.name if option else None

    gains = entry.going_gains
    return {
        "distance_left_m": entry.distance_m,
        "go_club": name(entry.go),
        "go_strokes": entry.go.score if entry.go else None,
        "lay_up_club": name(entry.lay_up),
        "lay_up_carry_m": stock_carry(entry.lay_up) if entry.lay_up else None,
        "lay_up_strokes": entry.lay_up.score if entry.lay_up else None,
        "going_gains_strokes": gains.strokes if gains else None,
        "going_gains_low": gains.low if gains else None,
        "going_gains_high": gains.high if gains else None,
        "verdict": entry.verdict,
    }
