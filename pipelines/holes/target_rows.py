"""A choice of target as rows and as plain sentences."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import polars as pl
from rangeledger.models.strategy.aimed_option import OptionAtBestAim, advantage
from rangeledger.models.strategy.hole_geometry import Ground, Hole, hazards_on_line
from rangeledger.models.strategy.lay_up import GoOrLayUp
from rangeledger.models.strategy.target_choice import TargetChoice
from rangeledger.models.strategy.tee_shot import FairwayByAim
from rangeledger.schemas.units import YARD_M

# Options whose hazards are listed, and the least chance to come so far as a hazard [1].
_HAZARD_OPTIONS, _LEAST_CHANCE = 5, 0.005
# Share of the distance from which a stroke counts as reaching the flag.
_REACHES = 0.9


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


def offset_at_flag(hole: Hole, aim_rad: float) -> float:
    """Where a line of aim passes the flag [m], right of it positive."""
    turn = aim_rad - hole.flag_aim_rad
    return hole.distance_m * math.tan(max(min(turn, 1.4), -1.4))


def reaches_flag(hole: Hole, option: OptionAtBestAim) -> bool:
    """Whether the stock shot of the day comes to rest about as far as the flag is away."""
    return option.carry_m + option.run_m > _REACHES * hole.distance_m


def offset_of_heading(hole: Hole, option: OptionAtBestAim, heading_rad: float) -> float:
    """How far a heading leads right of the flag, or of its line where a club does not reach it.

    Parameters
    ----------
    hole : Hole
        The hole.
    option : OptionAtBestAim
        Club and swing: one that reaches the flag is measured there, another where it lands.
    heading_rad : float
        A direction from the ball [rad].

    Returns
    -------
    float
        Distance [m], right positive.
    """
    if reaches_flag(hole, option):
        return offset_at_flag(hole, heading_rad)
    return option.carry_m * math.sin(heading_rad - hole.flag_aim_rad)


def option_rows(choice: TargetChoice) -> pl.DataFrame:
    """One row a club and swing, best first.

    Parameters
    ----------
    choice : TargetChoice
        What was found.

    Returns
    -------
    polars.DataFrame
        Expected strokes, how far behind the best with its 90 % interval; the aim, which is the
        target line as at practice; where the stock shot starts and lands and what wind and curve
        bring, right positive, at the flag or, for a club that does not reach it, where it lands;
        the day's carry, run and angle of descent; the chance of each finish; what landing on the
        flag's line would cost, and between which landings the score stays within 0.02 strokes.
    """
    best = choice.options[0]
    return both_units(
        [_option_row(choice, best, option, rank) for rank, option in enumerate(choice.options, 1)]
    )


def _option_row(
    choice: TargetChoice, best: OptionAtBestAim, option: OptionAtBestAim, rank: int
) -> dict[str, Any]:
    behind = advantage(best, option)
    hole, pattern = choice.hole, option.option.pattern
    turn = option.land_rad - option.aim_rad
    left, right = (offset_of_heading(hole, option, aim + turn) for aim in option.as_good_rad)
    start, still, land = (
        offset_of_heading(hole, option, heading)
        for heading in (option.start_rad, option.still_land_rad, option.land_rad)
    )
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
        "aim_deg": math.degrees(option.aim_rad - hole.flag_aim_rad),
        "aim_right_of_flag_m": offset_at_flag(hole, option.aim_rad),
        "aim_right_at_carry_m": option.carry_m * math.sin(option.aim_rad - hole.flag_aim_rad),
        "start_right_m": start,
        "land_right_m": land,
        "wind_brings_m": land - still,
        "curve_brings_m": still - start,
        "as_good_from_m": left,
        "as_good_to_m": right,
        "flag_aim_cost_strokes": option.flag_cost,
        "carry_m": option.carry_m,
        "run_m": option.run_m,
        "descent_angle_deg": float(option.day.descent_angle_deg[0]),
        **{f"chance_{ground.word}": option.chance(ground) for ground in Ground},
    }


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
        chance that the next shot carries that far; hazards that no next shot comes to are left
        out.
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
        if option.chance_to_carry(hazard.reach_m - option.run_m) >= _LEAST_CHANCE
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
        The aim at the distance of the carry, right of the line to the flag positive; the chance
        of the fairway and the expected strokes as the player hits the club now, and which of the
        two that is: with one shape alone, or with both.
    """
    pattern = option.option.pattern
    turns = table.aims_rad - hole.flag_aim_rad
    own = (table.both, table.both_score) if table.own_is_both else (table.one, table.one_score)
    return both_units(
        [
            {
                "club": pattern.club,
                "swing": pattern.swing,
                "aim_deg": math.degrees(turn),
                "aim_at_carry_m": pattern.carry_m * math.tan(turn),
                "chance_fairway": float(own[0][row]),
                "expected_strokes": float(own[1][row]),
                "hits_now": "both shapes" if table.own_is_both else "one shape",
                "one_shape_chance_fairway": float(table.one[row]),
                "one_shape_expected_strokes": float(table.one_score[row]),
                "two_way_chance_fairway": float(table.both[row]),
                "two_way_expected_strokes": float(table.both_score[row]),
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
        The lie, the best club and the expected strokes of going and of laying up, carry and run
        of the lay-up and what it leaves, what going gains with its 90 % interval, the verdict.
    """
    return both_units([_lay_up_row(entry) for entry in found])


def _lay_up_row(entry: GoOrLayUp) -> dict[str, Any]:
    def name(option: OptionAtBestAim | None) -> str | None:
        return option.option.pattern.name if option else None

    gains, short = entry.going_gains, entry.lay_up
    return {
        "distance_left_m": entry.distance_m,
        "lie": entry.lie,
        "go_club": name(entry.go),
        "go_strokes": entry.go.score if entry.go else None,
        "lay_up_club": name(short),
        "lay_up_carry_m": short.carry_m if short else None,
        "lay_up_run_m": short.run_m if short else None,
        "lay_up_leaves_m": entry.lay_up_leaves_m,
        "lay_up_strokes": short.score if short else None,
        "going_gains_strokes": gains.strokes if gains else None,
        "going_gains_low": gains.low if gains else None,
        "going_gains_high": gains.high if gains else None,
        "verdict": entry.verdict,
    }
