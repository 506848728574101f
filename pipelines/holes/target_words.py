"""A choice of target in plain sentences."""

from __future__ import annotations

import math

from rangeledger.models.strategy.aimed_option import AS_GOOD_STROKES, OptionAtBestAim
from rangeledger.models.strategy.hole_geometry import HAZARDS, Ground, Hole
from rangeledger.models.strategy.target_choice import TargetChoice
from rangeledger.models.strategy.tee_shot import StockShape
from rangeledger.pipelines.holes.target_rows import offset_of_heading, reaches_flag
from rangeledger.schemas.units import YARD_M

UNIT_LENGTHS = {"yd": YARD_M, "m": 1.0}
# Share of the distance beyond which a swing is too long for it.
_TOO_LONG = 1.05


def place_words(hole: Hole, option: OptionAtBestAim, heading_rad: float, unit: str) -> str:
    """A heading in words: beside the flag where the club reaches it, else beside its line."""
    off = _rounded(offset_of_heading(hole, option, heading_rad), unit)
    mark = "the flag" if reaches_flag(hole, option) else "the flag's line"
    return f"{_side_words(off, unit)} of {mark}" if off else f"at {mark}"


def _rounded(length_m: float, unit: str) -> int:
    return round(length_m / UNIT_LENGTHS[unit])


def _side_words(off: int, unit: str = "") -> str:
    """`15 yd left`, or `15 left` where the unit is clear."""
    return " ".join(filter(None, (f"{abs(off)}", unit, "right" if off > 0 else "left")))


def _landing_words(hole: Hole, option: OptionAtBestAim, unit: str) -> str:
    """Where to land it, where to start it, and what brings it from one to the other."""
    start, still, land = (
        _rounded(offset_of_heading(hole, option, heading), unit)
        for heading in (option.start_rad, option.still_land_rad, option.land_rad)
    )
    place = place_words(hole, option, option.land_rad, unit)
    if start == land:
        return f"Land it {place}, started on the same line."
    where = _side_words(start, unit) if start else "straight at it"
    parts = (("the wind", land - still), ("the curve", still - start))
    causes = [(cause, by) for cause, by in parts if by]
    if len(causes) == 1:
        why = f"{causes[0][0]} brings {abs(causes[0][1])}"
    else:
        (first, one), (second, other) = causes
        why = f"{first} brings {_side_words(one)}, {second} {_side_words(other)}"
    return f"Land it {place}, start it {where}: {why}."


def span_words(first: str, last: str) -> str:
    """Two aims as a span, what they share said once: `from 37 to 22 yd left of the flag`."""
    start, _, shared = first.partition(" ")
    end, _, rest = last.partition(" ")
    if shared == rest:
        return f"from {start} to {end} {rest}"
    return f"from {first.removeprefix('at ')} to {last.removeprefix('at ')}"


def verdict(choice: TargetChoice, source: str, unit: str) -> list[str]:
    """The choice in a few sentences.

    Parameters
    ----------
    choice : TargetChoice
        What was found.
    source : str
        Where the strokes to hole out come from.
    unit : str
        `yd` or `m`.

    Returns
    -------
    list of str
        Sentences for a person, the caution last.
    """
    best, hole = choice.options[0], choice.hole
    lines = [
        f"{hole.name}: {_rounded(hole.distance_m, unit)} {unit} to the flag, "
        f"from {_lie_words(hole.lie)}.",
        f"{best.option.pattern.name}: {best.score:.2f} strokes to hole out on average. "
        f"{_flight_words(best, unit)}",
        _landing_words(hole, best, unit),
        _finishes(best),
        _flag_words(hole, best, unit),
    ]
    lines += _nothing_shorter(choice, unit)
    if len(choice.options) > 1:
        lines.append(_runner_up(choice))
    lines += _worse_lie(hole.lie)
    lines.append(f"Strokes to hole out: {source}.")
    return lines


def _flight_words(option: OptionAtBestAim, unit: str) -> str:
    """Carry, descent and run of the stock shot of the day."""
    carry, run = _rounded(option.carry_m, unit), _rounded(option.run_m, unit)
    runs = f"runs {run}" if run > 0 else f"spins back {-run}" if run < 0 else "stops there"
    descent = float(option.day.descent_angle_deg[0])
    down = f", comes down at {descent:.0f}°" if math.isfinite(descent) else ""
    return f"It carries {carry} {unit} today{down} and {runs}."


def _lie_words(lie: str) -> str:
    return {
        "tee": "the tee",
        "fairway": "the fairway",
        "rough": "the rough",
        "sand": "sand",
        "recovery": "a recovery",
        "green": "the green",
    }[lie]


def _finishes(option: OptionAtBestAim) -> str:
    """The likelier finishes, and every penalty that has a chance of one in two hundred."""
    words = []
    for ground in sorted(Ground, key=option.chance, reverse=True):
        chance = option.chance(ground)
        least = 0.005 if ground in HAZARDS else 0.03
        if chance >= least:
            words.append(f"{ground.word.replace('_', ' ')} {100.0 * chance:.0f} %")
    return f"Finishes: {', '.join(words)}."


def _flag_words(hole: Hole, option: OptionAtBestAim, unit: str) -> str:
    turn = option.land_rad - option.aim_rad
    ends = [place_words(hole, option, aim + turn, unit) for aim in option.as_good_rad]
    flat = f"As good within {AS_GOOD_STROKES} strokes: {span_words(*ends)}."
    if ends[0] == ends[1]:
        flat = f"Stay on it: a step to either side costs {AS_GOOD_STROKES} strokes or more."
    at = "at the flag" if reaches_flag(hole, option) else "on the flag's line"
    if option.flag_cost < 0.005:
        return f"Landing it {at} costs nothing. {flat}"
    return f"Landing it {at} would cost {option.flag_cost:.2f} strokes. {flat}"


def _nothing_shorter(choice: TargetChoice, unit: str) -> list[str]:
    """Say that every swing with a model is too long, which makes the answer too dark."""
    if choice.shortest_m <= _TOO_LONG * choice.hole.distance_m:
        return []
    return [
        f"No swing with a model is so short: the shortest carries "
        f"{_rounded(choice.shortest_m, unit)} {unit} today. Ingest shots with shorter swings "
        "before you count on this."
    ]


def shape_words(club: str, stock_shape: StockShape | None) -> str:
    """Which of the two the player hits with a club now, for the table of the fairway by aim."""
    if stock_shape is None:
        return f"The {club} shows one curve with its scatter: 'one shape' is how it is hit now."
    return (
        f"The {club} shows two curves: 'both shapes' is how it is hit now, 'one shape' what the "
        f"{stock_shape.word} alone would give."
    )


def _worse_lie(lie: str) -> list[str]:
    """Say that the patterns were not recorded from such a lie."""
    if lie not in ("rough", "sand", "recovery"):
        return []
    return [
        f"The patterns are those of shots off grass, mats and tees: from {_lie_words(lie)} expect "
        "them shorter and wider, and these chances too bright."
    ]


def _runner_up(choice: TargetChoice) -> str:
    second = choice.options[1].option.pattern.name
    behind = choice.advantage(1)
    interval = f"{behind.low:+.2f} to {behind.high:+.2f}"
    if behind.too_close_to_call:
        return (
            f"Too close to call against the {second}: {behind.strokes:.2f} strokes behind, and the "
            f"shots so far allow {interval}."
        )
    return f"The {second} is {behind.strokes:.2f} strokes behind ({interval})."
