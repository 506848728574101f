"""The report of one player: everything that the ledger knows, on one page that needs no network."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import polars as pl
from rangeledger.models.strategy.practice_gain import PracticeAdvice
from rangeledger.schemas.units import counted
from rangeledger.warehouse.pages.bag import BagClub
from rangeledger.warehouse.pages.carry_plots import carry_bands, carry_over_time
from rangeledger.warehouse.pages.change_words import change_sentences, monitor_sentences
from rangeledger.warehouse.pages.conditions_words import air_words, wind_words
from rangeledger.warehouse.pages.day_rules import by_hand_words, day_rules, rule_cells
from rangeledger.warehouse.pages.plan_plots import bag_plan, dispersion_plan
from rangeledger.warehouse.pages.player_rows import PlayerRows, usual_ball
from rangeledger.warehouse.pages.practice_words import advice, not_judged, stands_out
from rangeledger.warehouse.pages.putting_words import putting_words
from rangeledger.warehouse.pages.rendering import rendered
from rangeledger.warehouse.pages.shape_words import shape_rows
from rangeledger.warehouse.pages.units import PageUnit, club_label, club_words, day, percent
from rangeledger.warehouse.pages.wedge_tables import (
    swing_cells,
    swing_matrix,
    wedge_rows,
    wedges_that_fit,
)

# Two-sided 90 % of a normal.
_NORMAL_90 = 1.645


def report_page(
    rows: PlayerRows,
    bag: Sequence[BagClub],
    practice: PracticeAdvice,
    strokes_source: str,
    unit: PageUnit,
) -> str:
    """The report as HTML that needs nothing else.

    Parameters
    ----------
    rows : PlayerRows
        What the database holds of the player.
    bag : sequence of BagClub
        The player's clubs with their launches.
    practice : PracticeAdvice
        What stands out and is worth practising.
    strokes_source : str
        Where the strokes to hole out come from.
    unit : PageUnit
        Unit of lengths.

    Returns
    -------
    str
        One self-contained page.
    """
    return rendered("report.html", report_values(rows, bag, practice, strokes_source, unit))


def report_values(
    rows: PlayerRows,
    bag: Sequence[BagClub],
    practice: PracticeAdvice,
    strokes_source: str,
    unit: PageUnit,
) -> dict[str, Any]:
    """What the report's templates show; parameters as for `report_page`."""
    usual = usual_ball(rows.carry)
    full = [club for club in bag if club.pattern.swing == "full"]
    values = {
        "player": rows.player,
        "unit": unit,
        "lead": _lead(rows),
        "advice": advice(practice),
        "not_judged": not_judged(practice),
        "stands_out": stands_out(rows.flags),
        "judged": len(bag) > len(practice.too_few) + len(practice.loft_unknown),
        "bands_plot": carry_bands(rows.carry, usual, unit),
        "bag_plot": bag_plan(rows.ellipses.filter(pl.col("ball") == usual), unit),
        "carry": [_carry_row(row, unit, usual) for row in rows.carry.to_dicts()],
        "plans": _plans(rows, unit, usual),
        "trends": _trends(rows, unit, usual),
        "changes": [*change_sentences(rows.changes), *monitor_sentences(rows.monitors)],
        "shape": shape_rows(rows.shape, rows.carry, unit),
        "gaps": [_gap_row(row, unit, usual) for row in rows.gaps.to_dicts()],
        "wedges": _wedges(rows, usual, unit),
        "wind": wind_rows(bag, unit),
        "wind_words": [rule.words for rule in day_rules(unit)],
        "by_hand": by_hand_words(full[0], unit) if full else "",
        "flags": _flag_rows(rows.flags),
        "putting": putting_words(rows.putting),
        "sessions": [_session_row(row, unit) for row in rows.sessions.to_dicts()],
        "strokes_source": strokes_source,
        "model_version": rows.carry["model_version"][0] if rows.carry.height else "–",
    }
    values["parts"] = _parts(values)
    return values


def _parts(values: dict[str, Any]) -> list[tuple[str, str]]:
    """Sections that the page has."""
    words = {
        "practice": "Practice", "carry": "Carry", "gaps": "Gaps", "wedges": "Wedges",
        "dispersion": "Dispersion", "shape": "Shape", "wind": "Wind and air", "time": "Over time",
        "putting": "Putting", "sessions": "Sessions",
    }  # fmt: skip
    optional = {"gaps", "wedges", "wind", "putting"}
    return [(key, word) for key, word in words.items() if key not in optional or values[key]]


def _lead(rows: PlayerRows) -> str:
    """How much the page rests on."""
    sessions = rows.sessions.filter(~pl.col("excluded"))
    starts = sessions["started_at"].drop_nulls()
    first, last = day(starts.min()), day(starts.max())
    when = f", {first}" if first == last else f", {first} to {last}"
    when = when if len(starts) else ""
    return (
        f"{counted(rows.shots.height, 'shot')} in {counted(sessions.height, 'session')}{when}; "
        f"{counted(rows.carry.height, 'combination')} of club, swing and ball."
    )


def _carry_row(row: dict[str, Any], unit: PageUnit, usual: str) -> dict[str, Any]:
    sure = row["carry_se_m"]
    return {
        "label": club_label(row["club"], row["swing"], row["ball"], usual),
        "carry": unit.whole(row["carry_m"]),
        "sure": unit.tenth(None if sure is None else _NORMAL_90 * sure),
        "spread": unit.tenth(row["carry_sd_m"]),
        "within": unit.tenth(row["carry_within_sd_m"]),
        "band": f"{unit.whole(row['carry_p10_m'])}–{unit.whole(row['carry_p90_m'])}",
        "side": unit.signed(row["side_m"]),
        "side_spread": unit.tenth(row["side_sd_m"]),
        "mishits": percent(row["mishit_rate"]),
        "shots": row["shots"],
        "sessions": row["sessions"],
        "provisional": row["provisional"],
    }


def _wedges(rows: PlayerRows, usual: str, unit: PageUnit) -> list[dict[str, Any]]:
    """Tables of the wedges for each ball, apart, the usual one first."""
    balls = sorted(set(rows.wedges["ball"]), key=lambda ball: (ball != usual, ball))
    tables = []
    for ball in balls:
        own = pl.col("ball") == ball
        swings = swing_matrix(rows.carry.filter(own))
        picks = wedges_that_fit(wedge_rows(rows.wedges.filter(own), unit))
        if picks or swings.rows:
            name = "" if ball == "unknown" else f"{ball.capitalize()} ball"
            tables.append({
                "name": name, "swings": swings.swings, "swing_rows": swing_cells(swings, unit),
                "picks": picks,
            })  # fmt: skip
    return tables


def _same_club(frame: pl.DataFrame, row: dict[str, Any]) -> pl.DataFrame:
    return frame.filter(
        (pl.col("club") == row["club"])
        & (pl.col("swing") == row["swing"])
        & (pl.col("ball") == row["ball"])
    )


def _plans(rows: PlayerRows, unit: PageUnit, usual: str) -> list[dict[str, Any]]:
    """A dispersion plan a club and swing."""
    plans = []
    for row in rows.carry.to_dicts():
        label = club_label(row["club"], row["swing"], row["ball"], usual)
        ellipses, shots = _same_club(rows.ellipses, row), _same_club(rows.shots, row)
        if shots["still_side_m"].is_null().all():
            continue
        plot = dispersion_plan(label, ellipses, shots, unit)
        plans.append({"label": label, "plot": plot, "caption": _tested(ellipses)})
    return plans


def _tested(ellipses: pl.DataFrame) -> str:
    """How the 80 % ellipse, as it was before each session, did on that session."""
    held = ellipses.filter((pl.col("level") == 0.8) & pl.col("share_inside").is_not_null())
    if held.is_empty():
        return "Not tested on a later session yet."
    share, shots = held["share_inside"][0], held["shots_held_out"][0]
    return (
        f"The 80 % ellipse, drawn before each session, held {round(share * shots)} of "
        f"{counted(shots, 'shot')} ({percent(share)}) that followed."
    )


def _gap_row(row: dict[str, Any], unit: PageUnit, usual: str) -> dict[str, str]:
    """A gap between two neighbours in words."""
    remarks = {"large": "large for these lofts", "small": "small for these lofts"}
    longer = club_label(row["longer_club"], "full")
    shorter = club_label(row["shorter_club"], "full", row["ball"], usual)
    return {
        "label": f"{longer} to {shorter}",
        "gap": unit.whole(row["gap_m"]),
        "interval": f"{unit.whole(row['gap_low_m'])} to {unit.whole(row['gap_high_m'])}",
        "overlap": percent(row["overlap_probability"]),
        "remark": remarks.get(row["verdict"] or "", ""),
    }


def wind_rows(bag: Sequence[BagClub], unit: PageUnit) -> list[dict[str, Any]]:
    """What wind and air do to each full swing."""
    rules = day_rules(unit)
    return [
        {
            "label": club_label(club.pattern.club, club.pattern.swing),
            "cells": rule_cells(club, rules, unit),
        }
        for club in bag
        if club.pattern.swing == "full"
    ]


def _flag_rows(flags: pl.DataFrame) -> list[dict[str, str]]:
    """One row a session and cause, with all the clubs that show it."""
    rows = []
    for _, group in flags.group_by("session_id", "cause", maintain_order=True):
        first = group.to_dicts()[0]
        clubs = {club_label(row["club"], row["swing"]): None for row in group.to_dicts()}
        started = first["started_at"]
        rows.append(
            {
                "session": day(started) if started else first["session_id"][:10],
                "label": ", ".join(clubs),
                "probability": _one_in(group["probability"].drop_nulls().to_list()),
                "cause": first["cause"],
            }
        )
    return rows


def _one_in(chances: list[float]) -> str:
    """The least of some chances, as `1 in 250`."""
    least = min(chances, default=math.nan)
    if not least > 1e-6:
        return "–" if math.isnan(least) else "less than 1 in 1,000,000"
    return f"1 in {float(f'{1.0 / least:.2g}'):,.0f}"


def _trends(rows: PlayerRows, unit: PageUnit, usual: str) -> list[dict[str, Any]]:
    """Carry over time of each club and swing with two sessions or more."""
    trends = []
    for row in rows.carry.to_dicts():
        own = _same_club(rows.trend, row)
        if own.height < 2:
            continue
        label = club_label(row["club"], row["swing"], row["ball"], usual)
        plot = carry_over_time(label, own, _flagged(rows.flags, row), unit)
        trends.append({"label": label, "plot": plot, "change": _change_words(own, unit)})
    return trends


def _change_words(own: pl.DataFrame, unit: PageUnit) -> str:
    """How a club's level has changed since its first session with a date."""
    dated = own.drop_nulls("change_m")
    if dated.height < 2:
        return ""
    first = dated.row(0, named=True)
    change, low, high = (unit.change(first[f"change_{end}m"]) for end in ("", "low_", "high_"))
    sure = "" if first["changed"] else ", so no sure change"
    return f"{change} {unit.symbol} since {day(first['started_at'])} (90 %: {low} to {high}){sure}."


def _flagged(flags: pl.DataFrame, row: dict[str, Any]) -> frozenset[str]:
    return frozenset(_same_club(flags, row)["session_id"])


def _session_row(row: dict[str, Any], unit: PageUnit) -> dict[str, Any]:
    when = day(row["started_at"]) if row["started_at"] else row["session_id"][:10]
    return {
        "when": f"{when} (left out)" if row["excluded"] else when,
        "shots": row["shots"],
        "clubs": ", ".join(club_words(club) for club in row["clubs"].split(", ")),
        "air": air_words(row, unit),
        "wind": wind_words(row, unit),
    }
