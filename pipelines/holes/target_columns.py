"""Which columns of a target plan a person is shown, under which headings; 100 characters wide."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rangeledger.pipelines.output.neat_table import Shown

if TYPE_CHECKING:
    import polars as pl

TITLES = {
    "options": "Clubs and swings, best first",
    "hazards": "Hazards on the lines of the best five",
    "fairway": "The fairway by aim",
    "lay-up": "Go for the green or lay up, from the fairway where nothing else is said",
}
NOTES = {
    "options": "behind: strokes behind the best, 90 % interval; clubs more than half a stroke "
    "behind are left out. land, start: where the usual shot lands and starts, right of the flag, "
    "or of its line where a club does not reach it.",
    "hazards": "begins, cleared: carry to reach and to clear it. clears: chance of the next shot.",
    "fairway": "aim: right of the flag's line where the ball lands. one shape: if one curve alone "
    "comes; both: if either may.",
    "lay-up": "leaves: what the lay-up leaves to the flag. gains: strokes saved by going, with its "
    "90 % interval.",
}
# Nothing to say where no row has a finish of that kind in one shot of two hundred.
_LEAST_CHANCE = 0.005


def shown_rows(rows: pl.DataFrame) -> pl.DataFrame:
    """Rows with a column `what`: the club, with the swing where that is not a full one.

    Parameters
    ----------
    rows : polars.DataFrame
        Rows of any kind.

    Returns
    -------
    polars.DataFrame
    """
    import polars as pl

    if "swing" not in rows.columns:
        return rows
    part = pl.format("{} {}", "club", "swing")
    full = pl.col("swing") == "full"
    return rows.with_columns(what=pl.when(full).then("club").otherwise(part))


def shown_columns(kind: str, unit: str, rows: pl.DataFrame) -> list[Shown]:
    """Columns for a kind of rows.

    Parameters
    ----------
    kind : str
        `options`, `hazards`, `fairway` or `lay-up`.
    unit : str
        `yd` or `m`.
    rows : polars.DataFrame
        The rows; a finish that none of them has any chance of is left out, and the lie where all
        are played from the fairway.

    Returns
    -------
    list of Shown
    """
    kinds = {"options": _options, "hazards": _hazards, "fairway": _fairway, "lay-up": _lay_up}
    columns = kinds[kind](unit)
    return [column for column in columns if not _never(column, rows)]


def _never(column: Shown, rows: pl.DataFrame) -> bool:
    if column.column == "lie":
        return bool((rows["lie"] == "fairway").all())
    if not column.column.startswith("chance_") or not column.heading.startswith(_FINISHES):
        return False
    return not (rows[column.column] >= _LEAST_CHANCE).any()


_FINISHES = ("green", "fairway", "rough", "bunker", "trees", "water", "out")


def _share(column: str, heading: str) -> Shown:
    return Shown(column, f"{heading}\n%", ".0f", 100.0)


def _options(unit: str) -> list[Shown]:
    return [
        Shown("what", "club"),
        Shown("expected_strokes", "strokes", ".2f"),
        Shown("strokes_behind_low", "behind\nfrom", ".2f"),
        Shown("strokes_behind_high", "\nto", ".2f"),
        Shown(f"land_right_{unit}", f"land\n{unit}", "+.0f"),
        Shown(f"start_right_{unit}", f"start\n{unit}", "+.0f"),
        Shown(f"carry_{unit}", f"carry\n{unit}", ".0f"),
        Shown(f"run_{unit}", f"run\n{unit}", ".0f"),
        Shown("descent_angle_deg", "down\ndeg", ".0f"),
        *(_share(f"chance_{word}", word) for word in _FINISHES[:-1]),
        _share("chance_out_of_bounds", "out"),
    ]


def _hazards(unit: str) -> list[Shown]:
    return [
        Shown("what", "club"),
        Shown("hazard", "hazard"),
        Shown("ground", "kind"),
        Shown(f"carry_to_reach_{unit}", f"begins\n{unit}", ".0f"),
        Shown(f"carry_to_clear_{unit}", f"cleared\n{unit}", ".0f"),
        _share("chance_to_clear", "clears"),
    ]


def _fairway(unit: str) -> list[Shown]:
    return [
        Shown("club", "club"),
        Shown(f"aim_at_carry_{unit}", f"aim\n{unit}", "+.0f"),
        _share("one_shape_chance_fairway", "one shape:\nhits fairway"),
        Shown("one_shape_expected_strokes", "one shape:\nstrokes", ".2f"),
        _share("two_way_chance_fairway", "both shapes:\nhits fairway"),
        Shown("two_way_expected_strokes", "both shapes:\nstrokes", ".2f"),
    ]


def _lay_up(unit: str) -> list[Shown]:
    return [
        Shown(f"distance_left_{unit}", f"left\n{unit}", ".0f"),
        Shown("lie", "from"),
        Shown("go_club", "go with"),
        Shown("go_strokes", "strokes", ".2f"),
        Shown("lay_up_club", "lay up with"),
        Shown(f"lay_up_leaves_{unit}", f"leaves\n{unit}", ".0f"),
        Shown("lay_up_strokes", "strokes", ".2f"),
        Shown("going_gains_strokes", "gains", "+.2f"),
        Shown("going_gains_low", "from", "+.2f"),
        Shown("going_gains_high", "to", "+.2f"),
        Shown("verdict", "verdict"),
    ]
