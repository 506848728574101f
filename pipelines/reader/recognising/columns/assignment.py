"""Which column is what: the candidates of the headings against the cells and each other."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from functools import cache

import numpy as np
from rangeledger.pipelines.reader.recognising.columns.judging import (
    MOSTLY_CLUBS,
    STRONG,
    judged_candidates,
)
from rangeledger.pipelines.reader.recognising.columns.profile import Profile
from rangeledger.schemas.compositions import (
    DATE,
    DATETIME,
    SHOT_NUMBER,
    SIDED,
    TIME,
    column_dimension,
)
from rangeledger.schemas.units import ONLY_STATED, UNITS

_FRACTION = re.compile(r"[.,]([0-9]+)(?![0-9.,])")
MODELLED = "modelled"  # tag of headings of what was reckoned
_UTC = re.compile(r"(?<![^\W_])(?:UTC|GMT)(?![^\W_])", re.I)
LEAST_WEIGHT = 0.6  # below this a heading's words alone don't make a column
_WISHED = frozenset({"reference", "target"})  # another distance than that of the shot
_LEAST_DOUBTFUL = 0.35  # below this not even fitting numbers help
_CLEAR_LEAD = 0.15
FLIGHT_COLUMNS = ("carry_m", "total_m", "apex_m", "hang_time_s", "descent_angle_deg")


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
    by_numbers : bool
        Whether its numbers decided; `weight` is then the probability that they are right.
    """

    profile: Profile
    column: str
    weight: float
    evidence: list[str] = field(default_factory=list)
    runner_up: str | None = None
    others: list[tuple[float, str, str]] = field(default_factory=list)
    by_numbers: bool = False


@dataclass(slots=True)
class Assignment:
    """All columns of a table: what was taken, what was left as it is, what is unclear."""

    by_column: dict[str, Assigned] = field(default_factory=dict)
    extras: list[tuple[Profile, str]] = field(default_factory=list)
    unclear: list[tuple[str, list[Profile]]] = field(default_factory=list)
    doubtful: list[Assigned] = field(default_factory=list)
    unread: list[Profile] = field(default_factory=list)


def assign(profiles: list[Profile]) -> Assignment:
    """Decide what each column is.

    Parameters
    ----------
    profiles : list of Profile
        All columns of a table.

    Returns
    -------
    Assignment
        One export column a canonical column; equal claims are left unclear, unless one
        states the same quantity in another unit: the better one is taken.
    """
    result = Assignment()
    claims: dict[str, list[Assigned]] = {}
    waiting: list[tuple[Profile, list[tuple[float, str, str]]]] = []
    for profile in profiles:
        judged = judged_candidates(profile)
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
    _part_starts(claims)
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
    if profile.empty or profile.heading.tags & _WISHED:
        return False
    best = profile.heading.best
    recognised = best is not None and best.weight >= STRONG and bool(column_dimension(best.column))
    return recognised or (bool(profile.heading.unknown) and profile.is_number)


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


def _part_starts(claims: dict[str, list[Assigned]]) -> None:
    """Of `Launch` and `Start` in one table, a direction has both sides or names them."""
    rivals = claims.get("launch_angle_deg", [])
    if len(rivals) < 2 or "launch_direction_deg" in claims:
        return
    signed = [r for r in rivals if _says_sides(r.profile) or r.profile.known.min(initial=0.0) < 0.0]
    if len(signed) != 1 or signed[0].profile.known.max(initial=0.0) <= 0.0:
        return
    start = signed[0]
    if start.profile.heading.tags <= {"launch", "ball"}:
        rivals.remove(start)
        start.column = "launch_direction_deg"
        start.evidence.append("the other column of the launch never falls below 0")
        claims["launch_direction_deg"] = [start]


def _measured_of(result: Assignment, column: str, rivals: list[Assigned]) -> list[Assigned]:
    """The measured ones of columns of which others are said to be reckoned."""
    reckoned = [r for r in rivals if MODELLED in r.profile.heading.tags]
    if not reckoned or len(reckoned) == len(rivals):
        return rivals
    for rival in reckoned:
        why = f"reads as {column} too, but is reckoned and not measured"
        result.extras.append((rival.profile, why))
    return [rival for rival in rivals if rival not in reckoned]


def _says_sides(profile: Profile) -> bool:
    """Whether the cells name sides, `0.9 push`."""
    return profile.has_sides or (profile.numbers is not None and profile.numbers.side is not None)


def _settle(result: Assignment, column: str, rivals: list[Assigned]) -> list[Assigned]:
    """Give a column to the best of its rivals; the others come back."""
    rivals.sort(key=_rank, reverse=True)
    if column in (DATE, TIME, DATETIME):  # of a local time and the same in UTC the zone is known
        rivals.sort(key=lambda r: r.profile.empty or not _UTC.search(r.profile.heading.text))
    if column == "club" and len(rivals) > 1:  # a column of heads names none of the known clubs
        rivals.sort(key=lambda r: r.profile.clubs_known() < MOSTLY_CLUBS)
    if column in SIDED and len(rivals) > 1:  # how large a miss was, beside where it went
        rivals.sort(key=lambda r: _has_no_side(r.profile))
        if not _has_no_side(rivals[0].profile):
            rest = [r for r in rivals if not _has_no_side(r.profile)]
            for size in (r for r in rivals if r not in rest):
                result.extras.append((size.profile, f"reads as {column} too, but has no side"))
            rivals = rest
    rivals = _measured_of(result, column, rivals)
    best = rivals[0]
    close = [r for r in rivals[1:] if _rank(best)[0] - _rank(r)[0] < _CLEAR_LEAD]
    if close and column not in (SHOT_NUMBER, "club", DATE, TIME, DATETIME):
        same = [r for r in close if same_quantity(best, r)]
        different = [r for r in close if r not in same and not r.profile.empty]
        if different and not _distinguishable(best, different):
            result.unclear.append((column, [best.profile, *(r.profile for r in different)]))
            return []
    result.by_column[column] = best
    for loser in rivals[1:]:
        reason = f"column {best.profile.heading.text!r} says it better"
        result.extras.append((loser.profile, f"reads as {column} too; {reason}"))
    return rivals[1:]


def _has_no_side(profile: Profile) -> bool:
    """Whether a column is a size: never below 0, with no word for a side."""
    known = profile.known
    return not profile.has_sides and known.size > 0 and float(known.min()) >= 0.0


def _rank(assigned: Assigned) -> tuple[float, int, int]:
    heading = assigned.profile.heading
    specificity = int(heading.along) - int(heading.straight)
    return (
        assigned.weight * (0.1 if assigned.profile.empty else 1.0),
        specificity,
        decimals(assigned.profile),
    )


def _distinguishable(best: Assigned, others: list[Assigned]) -> bool:
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
    a, b = (np.asarray(numbers.value.to_numpy(), np.float64) for numbers in (one, other))
    with np.errstate(invalid="ignore"):  # what is missing compares as no
        kept = np.flatnonzero((np.abs(a) > 1.0) & (np.abs(b) > 0.3))[:500]
    if not len(kept):
        return False
    a, b = a[kept], b[kept]
    ratio = a / b
    middle = float(np.median(ratio))
    if middle == 0.0:
        return False
    steady = np.count_nonzero(np.abs(ratio / middle - 1.0) < 0.06) >= 0.7 * len(kept)
    stated = _stated_ratio(first.profile, second.profile)
    if not steady and stated is None:
        return False
    factor = stated or min(_ratios(), key=lambda f: abs(abs(middle) / f - 1.0))
    if stated is None and abs(abs(middle) / factor - 1.0) >= 0.01:
        return False
    # Twice the same number differs by no more than the two roundings.
    rounding = 0.55 * (
        10.0 ** -decimals(first.profile) + factor * 10.0 ** -decimals(second.profile)
    )
    apart = np.abs(a - b * factor * (1.0 if middle > 0 else -1.0))
    return bool(np.count_nonzero(apart <= rounding) >= 0.8 * len(kept))


def _stated_ratio(first: Profile, second: Profile) -> float | None:
    """Ratio of the numbers of two columns by the units that both headings state."""
    units = [profile.cell_units or profile.heading.units for profile in (first, second)]
    if not all(len(symbols) == 1 for symbols in units):
        return None
    one, other = (UNITS[symbols[0]] for symbols in units)
    if one.dimension != other.dimension or one == other or one.offset or other.offset:
        return None
    return other.factor / one.factor


@cache
def _ratios() -> frozenset[float]:
    """Ratios of the units of one kind of quantity."""
    return frozenset(
        u.factor / v.factor
        for u in UNITS.values()
        for v in UNITS.values()
        if u.dimension == v.dimension and not {u.symbol, v.symbol} & ONLY_STATED
    )


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
