"""What the cells of a column say of what its heading may mean."""

from __future__ import annotations

import re

import numpy as np
import numpy.typing as npt
from rangeledger.pipelines.reader.normalising.balls import ball_and_surface
from rangeledger.pipelines.reader.normalising.swings import swing_of
from rangeledger.pipelines.reader.normalising.words import flight_basis_of
from rangeledger.pipelines.reader.recognising.columns.profile import Profile, mark_of
from rangeledger.pipelines.reader.recognising.words.compass_words import is_target_bearing
from rangeledger.pipelines.reader.recognising.words.heading import Candidate, Heading, read_heading
from rangeledger.pipelines.reader.recognising.words.heading_tags import words_in
from rangeledger.schemas.columns import BY_NAME
from rangeledger.schemas.compositions import (
    BACK_SPIN,
    DATE,
    DATETIME,
    DROPPED,
    HEAD_WIND,
    KEPT,
    LANDING_BEARING,
    SHOT_COUNT,
    SHOT_NUMBER,
    SIDE_SPIN,
    SIDED,
    SPEED_RATIO,
    TAIL_WIND,
    TIME,
    column_dimension,
)
from rangeledger.schemas.limits import RANGE_OF_SPEED_RATIOS
from rangeledger.schemas.units import ONLY_STATED, UNITS
from rangeledger.schemas.words import fold, words_of

STRONG = 0.9
_MOST_OUTSIDE = 0.5
_FEWEST_COUNTED = 4
MOSTLY_CLUBS = 0.7

_HELPER_RANGE = {
    BACK_SPIN: (-3000.0, 20000.0),
    SIDE_SPIN: (-9000.0, 9000.0),
    LANDING_BEARING: (-90.0, 90.0),
    SPEED_RATIO: RANGE_OF_SPEED_RATIOS,
    "roll_m": (-60.0, 200.0),
    HEAD_WIND: (-40.0, 40.0),
    TAIL_WIND: (-40.0, 40.0),
}
_UNUSUAL_COST = 0.3
_MOST_SWINGS = 12
_CLOCK_WORDS = frozenset({
    "kl", "klockan", "klockslag", "klokken", "klokkeslaet", "klokkeslett", "uhrzeit", "orario",
})  # fmt: skip
_DOTTED_CLOCK = re.compile(r"^\s*(?:[01]?[0-9]|2[0-3])\.[0-5][0-9]\s*$")

# Middle of the magnitudes, whatever the unit; common practice, no source.
_USUAL_MIDDLE = {
    "hang_time_s": (0.3, 9.5),
    "carry_m": (3.0, 1000.0),
    "total_m": (3.0, 1000.0),
    "angle_of_attack_deg": (0.0, 14.0),
    "descent_angle_deg": (12.0, 75.0),
    BACK_SPIN: (200.0, 15000.0),
    "spin_rate_rpm": (0.8, 15000.0),
}

TEXT_COLUMNS = (
    "player", "club", "swing", "ball", "surface", "flight_basis", "wind_height", "monitor", "site",
)  # fmt: skip


def _possible_units(column: str, units: tuple[str, ...]) -> list[str]:
    dimension = column_dimension(column)
    if dimension in (None, "ratio"):
        return ["1"]
    given = [u for u in units if UNITS[u].dimension == dimension]
    return given or [
        symbol
        for symbol, unit in UNITS.items()
        if unit.dimension == dimension and symbol not in ONLY_STATED
    ]


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
    factor, offset = (
        (1.0, 0.0) if column == SPEED_RATIO else (UNITS[unit].factor, UNITS[unit].offset)
    )
    converted = (known + offset) * factor
    inside = ((converted >= low) & (converted <= high)) | (known == 0.0)
    return float(inside.mean())


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
    if column in SIDED and is_target_bearing(profile.heading.text, profile.heading.tags):
        return 0.0, "it tells where the target lies"
    if column == HEAD_WIND and not _head_is_positive(profile.heading):
        return 0.0, "it does not say whether head or tail winds are positive"
    if column in (DATE, DATETIME, TIME):
        return _judge_time(candidate, profile)
    if column in (SHOT_NUMBER, SHOT_COUNT):
        whole = profile.empty or _whole_numbers(profile)
        return (candidate.weight, "whole numbers") if whole else (0.0, "no whole numbers")
    if column in TEXT_COLUMNS or column_dimension(column) is None:
        return _judge_text(candidate, profile)
    return _judge_number(candidate, profile)


def _head_is_positive(heading: Heading) -> bool:
    """`Headwind (+) / tailwind (-)`: of two winds in a heading, the first one has the plus."""
    if "tail_wind" not in heading.tags:
        return True
    order = re.sub(r"[^+-]", "", re.sub(r"(?<=\w)-(?=\w)", "", heading.text.replace("−", "-")))
    first = read_heading(re.split(r"[/,;|]", heading.text)[0]).tags
    return order in ("+-", "+") and "head_wind" in first and "tail_wind" not in first


def judged_candidates(profile: Profile) -> list[tuple[float, str, str]]:
    """Weight, column and reason of all that a column may be, the most telling first."""
    found = []
    for candidate in _sided(profile):
        weight, why = judge(candidate, profile)
        if weight > 0:
            found.append((weight, candidate.column, why))
    return sorted(found, key=lambda entry: -entry[0])


def _sided(profile: Profile) -> tuple[Candidate, ...]:
    """Candidates of a heading; where it or its cells tell left from right, only sided ones."""
    heading, numbers = profile.heading, profile.numbers
    tells_sides = heading.positive in ("left", "right") or (
        numbers is not None
        and numbers.side is not None
        and bool(numbers.side.is_in(["L", "R"]).any())
    )
    first = heading.candidates[0].column if heading.candidates else None
    if not tells_sides or first in SIDED or (first and column_dimension(first) is None):
        return heading.candidates
    if first is None and (heading.unknown or not heading.tags):
        return ()
    again = read_heading(f"{heading.text} left right").candidates
    return tuple(candidate for candidate in again if candidate.column in SIDED)


def _judge_number(candidate: Candidate, profile: Profile) -> tuple[float, str]:
    """Weight of a measured candidate in the light of its cells, and why."""
    if profile.empty:
        return candidate.weight * 0.9, "no values"
    if profile.numbers is None:
        return 0.0, "the cells are no numbers"
    if _runs_on(profile):
        return 0.0, "its numbers run on from row to row"
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
        strong = candidate.weight >= STRONG and not profile.heading.unknown
        # Plain words with impossible numbers are a mistake to be told, not a column to be dropped.
        return (candidate.weight * 0.7 if strong else 0.0), "the numbers are impossible for it"
    if (
        candidate.column == "angle_of_attack_deg"
        and candidate.weight < 0.66
        and not _downward(profile)
    ):
        return 0.0, "a club that strikes a ball mostly moves down"
    if not _usual(candidate.column, profile):
        return candidate.weight - _UNUSUAL_COST, "the numbers are unusual for it"
    return candidate.weight, "the numbers are possible"


def _runs_on(profile: Profile) -> bool:
    """Whether numbers without a unit count the rows, from 1 on: `Run`, `Launch`."""
    known = profile.known
    if known.size < _FEWEST_COUNTED or profile.cell_units or profile.heading.units:
        return False
    return known[0] in (0.0, 1.0) and bool((np.diff(known) == 1.0).all())


def _downward(profile: Profile) -> bool:
    known = profile.known
    return bool(known.size) and float((known < 0).mean()) > 0.4


def _usual(column: str, profile: Profile) -> bool:
    """Whether the middle of the numbers, in whatever unit, is one that such a column has."""
    limits = _USUAL_MIDDLE.get(column)
    known = profile.known if limits else np.empty(0)
    if not limits or not known.size:
        return True
    thousandth = "ms" in (profile.cell_units or profile.heading.units)
    middle = float(np.median(np.abs(known))) * (1e-3 if thousandth else 1.0)
    return limits[0] <= middle <= limits[1]


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
    if column == "swing" and profile.sample and all(_is_strike(cell) for cell in profile.sample):
        return 0.0, "the cells say how balls were met"
    if column == "swing" and _counts_on(profile):
        return 0.0, "the cells count on by ones"
    if column == "swing" and profile.clubs_known() > MOSTLY_CLUBS:
        return 0.0, "the cells name clubs"
    if column in ("ball", "surface", "flight_basis") and profile.is_number:
        return 0.0, "the cells are numbers"
    if column == "flight_basis" and not any(flight_basis_of(c) for c in profile.sample[:20]):
        return 0.0, "no cell says measured or modelled"
    if column == "player" and profile.sample and all(map(ball_and_surface, profile.sample)):
        return 0.0, "the cells are balls or what they lie on"
    if column == "player" and profile.is_number and not _whole_numbers(profile):
        return 0.0, "the cells are numbers"
    if column == "player" and profile.clubs_known() > MOSTLY_CLUBS and candidate.weight < 0.8:
        return 0.0, "the cells name clubs"
    return candidate.weight, "the cells are words"


def _counts_on(profile: Profile) -> bool:
    """Whether whole numbers go on by ones, from group to group anew: `Swing` 1, 2, 3, Average."""
    known = profile.known
    steps = np.diff(known)
    ones = (steps == 1.0) | (known[1:] == 1.0)
    return bool(known.size >= _FEWEST_COUNTED and _whole_numbers(profile) and ones.all())


def _is_strike(cell: str) -> bool:
    """Whether a cell says how a ball was met, or that none was: `thin`, `practice swing`."""
    return fold(cell) in words_of("strikes") or fold(cell) in words_of("no_shots")


def looks_like_swings(profile: Profile) -> bool:
    """Whether cells are the clock positions or feel words of swings, and not times of day."""
    if not 0 < len(profile.sample) <= _MOST_SWINGS:
        return False
    positions = [swing_of(cell) or "" for cell in profile.sample]
    all_clock = all(
        p == "full" or (len(p) <= 5 and p.endswith((":00", ":15", ":30", ":45"))) for p in positions
    )
    return all_clock and any(":" in p for p in positions)


def _is_dotted_clock(profile: Profile) -> bool:
    """`9.05` below a word that means a time of day and never a duration, such as `Klockan`."""
    clock_words = set(words_in(profile.heading.text)) & _CLOCK_WORDS
    return bool(clock_words) and all(_DOTTED_CLOCK.match(cell) for cell in profile.sample)


def _judge_time(candidate: Candidate, profile: Profile) -> tuple[float, str]:
    if profile.empty:
        return candidate.weight * 0.9, "no values"
    if profile.is_clock():
        return max(candidate.weight, 0.8), "the cells are dates or times"
    if candidate.column == TIME and _is_dotted_clock(profile):
        return max(candidate.weight, 0.8), "the cells are hours and minutes"
    if profile.numbers is not None:
        known = profile.known
        if known.size and float(np.median(known)) > 30000:
            return candidate.weight, "the numbers count days or seconds"
    return 0.0, "the cells are no times"
