"""Which column is what: the candidates of the headings against the cells and each other."""

from __future__ import annotations

import re
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt
import polars as pl

from pipelines.normalising.swings import swing_of
from pipelines.normalising.words import flight_basis_of
from pipelines.recognising.heading import Candidate, read_heading
from pipelines.recognising.profile import Profile, mark_of
from schemas.columns import BY_NAME
from schemas.compositions import (
    BACK_SPIN,
    DATE,
    DATETIME,
    DROPPED,
    HEAD_WIND,
    KEPT,
    SHOT_COUNT,
    SHOT_NUMBER,
    SIDE_SPIN,
    SIDED,
    SMASH,
    TAIL_WIND,
    TIME,
    column_dimension,
)
from schemas.units import UNITS

_FRACTION = re.compile(r"[.,]([0-9]+)(?![0-9.,])")
LEAST_WEIGHT = 0.6  # below this a heading's words alone don't make a column
_STRONG = 0.9
_LEAST_DOUBTFUL = 0.35  # below this not even fitting numbers help
_CLEAR_LEAD = 0.15
_MOST_OUTSIDE = 0.5
_HELPER_RANGE = {
    BACK_SPIN: (-3000.0, 20000.0),
    SIDE_SPIN: (-9000.0, 9000.0),
    SMASH: (0.3, 2.0),
    "roll_m": (-60.0, 200.0),
    HEAD_WIND: (-40.0, 40.0),
    TAIL_WIND: (-40.0, 40.0),
}
_UNUSUAL_COST = 0.3
_MOST_SWINGS = 12
# Middle of the magnitudes, whatever the unit; common practice, no source.
_USUAL_MIDDLE = {
    "hang_time_s": (0.3, 9.5),
    "carry_m": (3.0, 1000.0),
    "total_m": (3.0, 1000.0),
    "attack_angle_deg": (0.0, 14.0),
    "descent_angle_deg": (12.0, 75.0),
    BACK_SPIN: (200.0, 15000.0),
    "spin_rate_rpm": (0.8, 15000.0),
}
FLIGHT_COLUMNS = ("carry_m", "total_m", "apex_m", "hang_time_s", "descent_angle_deg")
TEXT_COLUMNS = ("player", "club", "swing", "ball", "surface", "flight_basis")


@dataclass(slots=True)
class Assigned:
    """A column of the export and what it was taken for.

    Parameters
    ----------
    profile : Profile
        The column.
    column : str
        Canonical column or helper.
    weight : float
        How telling heading and cells are, 0 to 1.
    evidence : list[str]
        In plain words.
    runner_up : str or None
        What else it might have been.
    others : list of (float, str, str)
        Weight, column and reason of what else it might be, the most telling first.
    """

    profile: Profile
    column: str
    weight: float
    evidence: list[str] = field(default_factory=list)
    runner_up: str | None = None
    others: list[tuple[float, str, str]] = field(default_factory=list)


@dataclass(slots=True)
class Assignment:
    """All columns of a table: what was taken, what was left as it is, what is unclear."""

    by_column: dict[str, Assigned] = field(default_factory=dict)
    doubles: list[tuple[Assigned, Assigned]] = field(default_factory=list)
    extras: list[tuple[Profile, str]] = field(default_factory=list)
    unclear: list[tuple[str, list[Profile]]] = field(default_factory=list)
    doubtful: list[Assigned] = field(default_factory=list)
    unread: list[Profile] = field(default_factory=list)


def _possible_units(column: str, units: tuple[str, ...]) -> list[str]:
    dimension = column_dimension(column)
    if dimension in (None, "ratio"):
        return ["1"]
    given = [u for u in units if UNITS[u].dimension == dimension]
    return given or [symbol for symbol, unit in UNITS.items() if unit.dimension == dimension]


def _range(column: str) -> tuple[float, float]:
    if column in _HELPER_RANGE:
        return _HELPER_RANGE[column]
    known = BY_NAME[column]
    low = -90.0 if column == "descent_angle_deg" else known.low
    return (
        float("-inf") if low is None else low,
        float("inf") if known.high is None else known.high,
    )


def in_range_share(column: str, known: npt.NDArray[np.float64], unit: str) -> float:
    """Share of the numbers that are possible for a column if they are in `unit`.

    Parameters
    ----------
    column : str
        Canonical column or helper.
    known : numpy array
        Numbers as written, without missing ones.
    unit : str
        Unit symbol.

    Returns
    -------
    float
        0 to 1; 1 without numbers.
    """
    if not known.size:
        return 1.0
    low, high = _range(column)
    factor, offset = (1.0, 0.0) if column == SMASH else (UNITS[unit].factor, UNITS[unit].offset)
    converted = (known + offset) * factor
    inside = ((converted >= low) & (converted <= high)) | (known == 0.0)
    return float(inside.mean())


def _judge_number(candidate: Candidate, profile: Profile) -> tuple[float, str]:
    """Weight of a measured candidate in the light of its cells, and why."""
    if profile.empty:
        return candidate.weight * 0.9, "no values"
    if profile.numbers is None:
        return 0.0, "the cells are no numbers"
    dimension = column_dimension(candidate.column)
    units = profile.cell_units or profile.heading.units
    if profile.cell_units and dimension not in {UNITS[u].dimension for u in profile.cell_units}:
        if not (dimension == "temperature" and "deg" in profile.cell_units):
            return 0.0, f"the cells are in {profile.cell_units[0]}"
        units = ()
    known = profile.known
    shares = [
        in_range_share(candidate.column, known, unit)
        for unit in _possible_units(candidate.column, units)
    ]
    if max(shares) < 1.0 - _MOST_OUTSIDE:
        strong = candidate.weight >= _STRONG and not profile.heading.unknown
        # Plain words with impossible numbers are a mistake to be told, not a column to be dropped.
        return (candidate.weight * 0.7 if strong else 0.0), "the numbers are impossible for it"
    if (
        candidate.column == "attack_angle_deg"
        and candidate.weight < 0.66
        and not _downward(profile)
    ):
        return 0.0, "a club that strikes a ball mostly moves down"
    if not _usual(candidate.column, profile):
        return candidate.weight - _UNUSUAL_COST, "the numbers are unusual for it"
    return candidate.weight, "the numbers are possible"


def _downward(profile: Profile) -> bool:
    known = profile.known
    return bool(known.size) and float((known < 0).mean()) > 0.4


def _usual(column: str, profile: Profile) -> bool:
    """Whether the middle of the numbers, in whatever unit, is one that such a column has."""
    limits = _USUAL_MIDDLE.get(column)
    known = profile.known if limits else np.empty(0)
    return not limits or not known.size or limits[0] <= np.median(np.abs(known)) <= limits[1]


def _whole_numbers(profile: Profile) -> bool:
    if profile.numbers is None:
        return False
    known = profile.known
    return bool(known.size) and bool(((known == np.round(known)) & (known >= 0)).all())


def _judge_text(candidate: Candidate, profile: Profile) -> tuple[float, str]:
    column = candidate.column
    if profile.empty:
        return candidate.weight * 0.9, "no values"
    if column == "club":
        known = profile.clubs_known()
        if profile.is_number and known < 0.5 and not _whole_numbers(profile):
            return 0.0, "the cells are numbers"
        return candidate.weight, f"{known:.0%} of the cells name a known club"
    if column in (KEPT, DROPPED) and any(mark_of(cell, column) is None for cell in profile.sample):
        return 0.0, "its cells are no marks"
    if column == "swing" and profile.is_clock() and not looks_like_swings(profile):
        return 0.0, "the cells are times of day"
    if column in ("ball", "surface", "flight_basis") and profile.is_number:
        return 0.0, "the cells are numbers"
    if column == "flight_basis" and not any(flight_basis_of(c) for c in profile.sample[:20]):
        return 0.0, "no cell says measured or modelled"
    if column == "player" and profile.clubs_known() > 0.7 and candidate.weight < 0.8:
        return 0.0, "the cells name clubs"
    return candidate.weight, "the cells are words"


def looks_like_swings(profile: Profile) -> bool:
    """Whether cells are the clock positions or feel words of swings, and not times of day."""
    if not 0 < len(profile.sample) <= _MOST_SWINGS:
        return False
    positions = [swing_of(cell) or "" for cell in profile.sample]
    told = all(
        p == "full" or (len(p) <= 5 and p.endswith((":00", ":15", ":30", ":45"))) for p in positions
    )
    return told and any(":" in p for p in positions)


def _judge_time(candidate: Candidate, profile: Profile) -> tuple[float, str]:
    if profile.empty:
        return candidate.weight * 0.9, "no values"
    if profile.is_clock():
        return max(candidate.weight, 0.8), "the cells are dates or times"
    if profile.numbers is not None:
        known = profile.known
        if known.size and float(np.median(known)) > 30000:
            return candidate.weight, "the numbers count days or seconds"
    return 0.0, "the cells are no times"


def judge(candidate: Candidate, profile: Profile) -> tuple[float, str]:
    """Weight of a candidate in the light of the cells, and why.

    Parameters
    ----------
    candidate : Candidate
        What the heading may mean.
    profile : Profile
        What the cells look like.

    Returns
    -------
    tuple[float, str]
        0 where the cells rule the candidate out.
    """
    column = candidate.column
    if column in (DATE, DATETIME, TIME):
        return _judge_time(candidate, profile)
    if column in (SHOT_NUMBER, SHOT_COUNT):
        whole = profile.empty or _whole_numbers(profile)
        return (candidate.weight, "whole numbers") if whole else (0.0, "no whole numbers")
    if column in TEXT_COLUMNS or column_dimension(column) is None:
        return _judge_text(candidate, profile)
    return _judge_number(candidate, profile)


def _judged(profile: Profile) -> list[tuple[float, str, str]]:
    found = []
    for candidate in _sided(profile):
        weight, why = judge(candidate, profile)
        if weight > 0:
            found.append((weight, candidate.column, why))
    return sorted(found, key=lambda entry: -entry[0])


def _sided(profile: Profile) -> tuple[Candidate, ...]:
    """Candidates of a heading; where it or its cells tell left from right, only sided ones."""
    heading, numbers = profile.heading, profile.numbers
    told = heading.positive in ("left", "right") or (
        numbers is not None
        and numbers.side is not None
        and bool(numbers.side.is_in(["L", "R"]).any())
    )
    if not told or not heading.candidates or heading.candidates[0].column in SIDED:
        return heading.candidates
    if column_dimension(heading.candidates[0].column) is None:
        return heading.candidates
    again = read_heading(f"{heading.text} left right").candidates
    return tuple(candidate for candidate in again if candidate.column in SIDED)


def assign(profiles: list[Profile]) -> Assignment:
    """Decide what each column is.

    Parameters
    ----------
    profiles : list of Profile
        All columns of a table.

    Returns
    -------
    Assignment
        One export column a canonical column; equal claims are left unclear or, where one states
        the same quantity in another unit, kept as doubles.
    """
    result = Assignment()
    claims: dict[str, list[Assigned]] = {}
    waiting: list[tuple[Profile, list[tuple[float, str, str]]]] = []
    for profile in profiles:
        judged = _judged(profile)
        claim = _claim(profile, judged)
        if claim and _is_doubtful(profile, claim):
            result.doubtful.append(claim)
        elif claim and claim.weight >= LEAST_WEIGHT:
            claims.setdefault(claim.column, []).append(claim)
        elif judged:
            waiting.append((profile, judged))
        elif profile.heading.text or not profile.empty:
            result.extras.append((profile, _why_not(profile)))
            result.unread += [profile] if _is_unread(profile) else []
    losers: list[Assigned] = []
    for column, rivals in claims.items():
        losers += _settle(result, column, rivals)
    _second_choices(result, losers)
    _place_waiting(result, waiting)
    return result


def _is_doubtful(profile: Profile, claim: Assigned) -> bool:
    """Whether the numbers must bear a heading out: an unknown word, or no more than `angle`."""
    if profile.heading.unknown:
        return bool(column_dimension(claim.column))
    return claim.column == "launch_angle_deg" and profile.heading.tags == {"angle"}


def _is_unread(profile: Profile) -> bool:
    """Whether a column that is kept aside may be a measured one."""
    if profile.empty:
        return False
    best = profile.heading.best
    said = best is not None and best.weight >= _STRONG and bool(column_dimension(best.column))
    return said or (bool(profile.heading.unknown) and profile.is_number)


def _claim(profile: Profile, judged: list[tuple[float, str, str]]) -> Assigned | None:
    """The column that a heading with its cells most likely is."""
    if not judged or judged[0][0] < _LEAST_DOUBTFUL:
        return None
    weight, column, why = judged[0]
    runner_up = judged[1][1] if len(judged) > 1 else None
    return Assigned(profile, column, weight, [_words(profile), why], runner_up, judged[1:])


def _words(profile: Profile) -> str:
    tags = ", ".join(sorted(profile.heading.tags))
    return f"its words say {tags}" if tags else "the mapping says so"


def _why_not(profile: Profile) -> str:
    heading = profile.heading
    if heading.candidates:
        return f"reads as {heading.candidates[0].column}, but the cells rule that out"
    if heading.unknown:
        return f"no known word for {', '.join(heading.unknown)}"
    return "no column of its kind"


def _second_choices(result: Assignment, losers: list[Assigned]) -> None:
    """Offer a column that a better one outdid for the next thing it may be, if its numbers fit."""
    for loser in losers:
        free = [o for o in loser.others if o[1] not in result.by_column and o[0] >= LEAST_WEIGHT]
        if free and free[0][1] in FLIGHT_COLUMNS and loser.profile.is_number:
            weight, column, why = free[0]
            result.extras[:] = [e for e in result.extras if e[0] is not loser.profile]
            evidence = [_words(loser.profile), why]
            result.doubtful.append(Assigned(loser.profile, column, weight, evidence))


def _settle(result: Assignment, column: str, rivals: list[Assigned]) -> list[Assigned]:
    """Give a column to the best of its rivals; the others come back."""
    rivals.sort(key=_rank, reverse=True)
    best = rivals[0]
    close = [r for r in rivals[1:] if _rank(best)[0] - _rank(r)[0] < _CLEAR_LEAD]
    if close and column not in (SHOT_NUMBER, "club", DATE, TIME, DATETIME):
        same = [r for r in close if same_quantity(best, r)]
        different = [r for r in close if r not in same and not r.profile.empty]
        if different and not _told_apart(best, different):
            result.unclear.append((column, [best.profile, *(r.profile for r in different)]))
            return []
        result.doubles += [(best, r) for r in same]
    result.by_column[column] = best
    for loser in rivals[1:]:
        reason = f"column {best.profile.heading.text!r} says it better"
        result.extras.append((loser.profile, f"reads as {column} too; {reason}"))
    return rivals[1:]


def _rank(assigned: Assigned) -> tuple[float, int, int]:
    heading = assigned.profile.heading
    told = int(heading.along) - int(heading.straight)
    return (
        assigned.weight * (0.1 if assigned.profile.empty else 1.0),
        told,
        decimals(assigned.profile),
    )


def _told_apart(best: Assigned, others: list[Assigned]) -> bool:
    """Whether words on how the distance was measured part the rivals."""
    mine = (best.profile.heading.straight, best.profile.heading.along)
    theirs = {(o.profile.heading.straight, o.profile.heading.along) for o in others}
    return mine not in theirs


def decimals(profile: Profile) -> int:
    """Most decimals that a column prints."""
    found = (_FRACTION.search(cell) for cell in profile.sample[:50])
    return max((len(fraction[1]) for fraction in found if fraction), default=0)


def same_quantity(first: Assigned, second: Assigned) -> bool:
    """Whether two columns hold the same values in two units (a steady ratio) or twice."""
    one, other = first.profile.numbers, second.profile.numbers
    if one is None or other is None:
        return first.profile.text.equals(second.profile.text)
    frame = pl.DataFrame({"a": one.value, "b": other.value}).drop_nulls()
    frame = frame.filter((pl.col("a").abs() > 1.0) & (pl.col("b").abs() > 0.3)).head(500)
    if not frame.height:
        return False
    ratio = frame["a"] / frame["b"]
    middle = ratio.median()
    if not isinstance(middle, float) or middle == 0.0:
        return False
    units = {
        u.factor / v.factor
        for u in UNITS.values()
        for v in UNITS.values()
        if u.dimension == v.dimension
    }
    steady = ((ratio / middle - 1.0).abs() < 0.06).sum() >= 0.7 * frame.height
    factor = min(units, key=lambda f: abs(abs(middle) / f - 1.0))
    if not steady or abs(abs(middle) / factor - 1.0) >= 0.01:
        return False
    # Twice the same number differs by no more than the two roundings.
    rounding = 0.55 * (
        10.0 ** -decimals(first.profile) + factor * 10.0 ** -decimals(second.profile)
    )
    apart = (frame["a"] - frame["b"] * factor * (1.0 if middle > 0 else -1.0)).abs()
    return int((apart <= rounding).sum()) >= 0.8 * frame.height


def _place_waiting(
    result: Assignment, waiting: list[tuple[Profile, list[tuple[float, str, str]]]]
) -> None:
    """Give columns whose words say little a column that nobody else claims, if only one fits."""
    for profile, judged in waiting:
        free = [entry for entry in judged if entry[1] not in result.by_column]
        result.unread.append(profile)
        result.extras.append(
            (profile, "its words could mean " + " or ".join(entry[1] for entry in (free or judged)))
        )
