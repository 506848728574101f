"""A choice of target in plain sentences."""

from __future__ import annotations

import math

from rangeledger.models.strategy.hole_geometry import HAZARDS, Ground, Hole
from rangeledger.models.strategy.target_choice import AS_GOOD_STROKES, OptionAtBestAim, TargetChoice
from rangeledger.pipelines.holes.target_rows import beside_flag, stock_carry
from rangeledger.schemas.units import YARD_M

LENGTH_WORDS = {"yd": YARD_M, "m": 1.0}
# Share of the distance from which a stroke counts as reaching the flag.
_REACHES = 0.9
# Share of the distance beyond which a swing is too long for it.
_TOO_LONG = 1.05


def aim_words(hole: Hole, option: OptionAtBestAim, aim_rad: float, unit: str) -> str:
    """An aim in words: beside the flag where the club reaches it, else where the ball lands."""
    per = LENGTH_WORDS[unit]
    turn = aim_rad - hole.flag_aim_rad
    carry = stock_carry(option)
    reaches = carry + float(option.day.run_m[0]) > _REACHES * hole.distance_m
    off = (beside_flag(hole, aim_rad) if reaches else carry * math.sin(turn)) / per
    if abs(off) < 0.75:
        return "at the flag"
    side = "right" if off > 0 else "left"
    if reaches:
        return f"{abs(off):.0f} {unit} {side} of the flag"
    return f"{abs(off):.0f} {unit} {side} of the flag's line where it lands"


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
    best = choice.options[0]
    per = LENGTH_WORDS[unit]
    lines = [
        f"{choice.hole.name}: {choice.hole.distance_m / per:.0f} {unit} to the flag, "
        f"from {_lie_words(choice.hole.lie)}.",
        f"{best.option.pattern.name}, aimed {aim_words(choice.hole, best, best.aim_rad, unit)}: "
        f"{best.score:.2f} strokes to hole out on average. It carries "
        f"{stock_carry(best) / per:.0f} {unit} today.",
        _finishes(best),
        _flag_words(choice.hole, best, unit),
    ]
    lines += _nothing_shorter(choice, unit)
    if len(choice.options) > 1:
        lines.append(_runner_up(choice))
    lines += _worse_lie(choice.hole.lie)
    lines.append(f"Strokes to hole out: {source}.")
    return lines


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
    left, right = option.as_good_rad
    ends = [aim_words(hole, option, aim, unit) for aim in (left, right)]
    flat = f"As good within {AS_GOOD_STROKES} strokes: {span_words(*ends)}."
    if ends[0] == ends[1]:
        flat = f"Stay on it: a step to either side costs {AS_GOOD_STROKES} strokes or more."
    if option.flag_cost < 0.005:
        return f"Aiming at the flag costs nothing. {flat}"
    return f"Aiming at the flag would cost {option.flag_cost:.2f} strokes. {flat}"


def _nothing_shorter(choice: TargetChoice, unit: str) -> list[str]:
    """Say that every swing with a model is too long, which makes the answer too dark."""
    shortest = min(stock_carry(option) for option in choice.options)
    if shortest <= _TOO_LONG * choice.hole.distance_m:
        return []
    return [
        f"No swing with a model is so short: the shortest carries "
        f"{shortest / LENGTH_WORDS[unit]:.0f} {unit} today. Ingest shots with shorter swings "
        "before you count on this."
    ]


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
