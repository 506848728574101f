"""Which columns of a target plan a person is shown, under which headings."""

from __future__ import annotations

from pipelines.neat_table import Shown

TITLES = {
    "options": "Clubs and swings, best first; aims and carries in {unit}",
    "hazards": "Hazards on the lines of the best five; carries in {unit}",
    "fairway": "The fairway by aim, right of the flag's line positive; aims in {unit} at the carry",
    "lay-up": "Go for the green or lay up, from the fairway; distances in {unit}",
}


def shown_columns(rows: str, unit: str) -> list[Shown]:
    """Columns for a kind of rows.

    Parameters
    ----------
    rows : str
        `options`, `hazards`, `fairway` or `lay-up`.
    unit : str
        `yd` or `m`.

    Returns
    -------
    list of Shown
    """
    club = [Shown("club", "club"), Shown("swing", "swing")]
    kinds = {
        "options": [*club, *_options(unit)],
        "hazards": [*club, *_hazards(unit)],
        "fairway": _fairway(unit),
        "lay-up": _lay_up(unit),
    }
    return kinds[rows]


def _share(column: str, heading: str) -> Shown:
    return Shown(column, heading, ".0f", 100.0)


def _options(unit: str) -> list[Shown]:
    return [
        Shown("expected_strokes", "strokes", ".2f"),
        Shown("strokes_behind", "behind", ".2f"),
        Shown("strokes_behind_low", "from", "+.2f"),
        Shown("strokes_behind_high", "to", "+.2f"),
        Shown(f"carry_{unit}", "carry", ".0f"),
        Shown(f"aim_right_at_carry_{unit}", "aim", "+.0f"),
        Shown("flag_aim_cost_strokes", "flag costs", ".2f"),
        _share("chance_green", "green %"),
        _share("chance_fairway", "fairway %"),
        _share("chance_rough", "rough %"),
        _share("chance_bunker", "bunker %"),
        _share("chance_trees", "trees %"),
        _share("chance_water", "water %"),
        _share("chance_out_of_bounds", "out %"),
    ]


def _hazards(unit: str) -> list[Shown]:
    return [
        Shown("hazard", "hazard"),
        Shown("ground", "kind"),
        Shown(f"carry_to_reach_{unit}", "begins", ".0f"),
        Shown(f"carry_to_clear_{unit}", "to clear", ".0f"),
        _share("chance_to_clear", "clears %"),
    ]


def _fairway(unit: str) -> list[Shown]:
    return [
        Shown("club", "club"),
        Shown(f"aim_at_carry_{unit}", "aim", "+.0f"),
        _share("chance_fairway", "fairway %"),
        Shown("expected_strokes", "strokes", ".2f"),
        _share("two_way_chance_fairway", "both shapes: fairway %"),
        Shown("two_way_expected_strokes", "both shapes: strokes", ".2f"),
    ]


def _lay_up(unit: str) -> list[Shown]:
    return [
        Shown(f"distance_left_{unit}", "left", ".0f"),
        Shown("go_club", "go with"),
        Shown("go_strokes", "strokes", ".2f"),
        Shown("lay_up_club", "lay up with"),
        Shown("lay_up_strokes", "strokes", ".2f"),
        Shown("going_gains_strokes", "going gains", "+.2f"),
        Shown("going_gains_low", "from", "+.2f"),
        Shown("going_gains_high", "to", "+.2f"),
        Shown("verdict", "verdict"),
    ]
