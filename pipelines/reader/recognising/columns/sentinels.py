"""Numbers that stand for no measurement: `-999`, `9999`, or what a line of the export says."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from functools import cache

import numpy as np
import numpy.typing as npt
import polars as pl
from rangeledger.pipelines.reader.recognising.columns.profile import Profile, stripped
from rangeledger.pipelines.reader.recognising.words.heading_tags import tag_readings, words_in
from rangeledger.pipelines.reader.recognising.words.remark import Remark
from rangeledger.schemas.compositions import SIDE_SPIN, SIDED, column_dimension
from rangeledger.schemas.words import fold, words_of

_NUMBER = re.compile(r"(?<![\w.,])[-+−]?[0-9]+(?:[.,][0-9]+)?(?![\w%]|[.,][0-9])")
_NINES = re.compile(r"^-?9+(?:\.9+|\.0+)?$")
# A line that says so is short; a longer one tells a story in which a number may be anything.
_LONGEST_LINE = 160
# Ends of the ranges of integers of 16 bits, which programs write where there is no value.
_ENDS = frozenset({32767.0, -32768.0, 65535.0, -32767.0})
_SHORTEST_PHRASE = 5
_BRACKETED = r"^\s*[(\[]\s*[0-9.,']+\s*[)\]]\s*$"
_NEVER_NEGATIVE = frozenset({
    "ball_speed_mps", "clubhead_speed_mps", "spin_rate_rpm", "carry_m", "total_m", "apex_m",
    "hang_time_s", "descent_angle_deg", "speed_ratio",
})  # fmt: skip
_FEWEST_OTHERS, _MOST_HITS = 3, 0.6
# How far beyond the other values of its club a sentinel lies: their whole span again, and more
# than a strange shot is off. Common practice, no source.
_BEYOND_SPAN, _BEYOND_MIDDLE = 1.0, 0.3


def stated_sentinels(lines: Iterable[str]) -> dict[float, str]:
    """Numbers of which a line says that they mean no measurement.

    Parameters
    ----------
    lines : iterable of str
        Lines beside the table: `-999 = not measured`, `Werte von 0: nicht gemessen`.

    Returns
    -------
    dict of float to str
        Number -> the line that says so.
    """
    found: dict[float, str] = {}
    for line in lines:
        # `missing = -999, out of range = 888` says two things.
        clauses = re.split(r"[;,]\s", line) if line.count("=") > 1 else [line]
        for clause in clauses:
            if len(clause) <= _LONGEST_LINE and _speaks_of_no_measurement(clause):
                for number in _numbers_meant(clause):
                    found.setdefault(number, line.strip())
    return found


def _speaks_of_no_measurement(line: str) -> bool:
    folded = f" {fold(line)} "
    return any(f" {phrase} " in folded for phrase in _phrases())


@cache
def _phrases() -> tuple[str, ...]:
    phrases = (*words_of("missing"), *words_of("unmeasured"))
    return tuple(phrase for phrase in phrases if len(phrase) >= _SHORTEST_PHRASE)


def _numbers_meant(line: str) -> list[float]:
    """Numbers of a line that may be meant: written like a sentinel, or the only one, with a sign.

    `Shot 4 was not measured` speaks of a shot.
    """
    texts = _NUMBER.findall(line)
    numbers = [(text, float(text.replace("−", "-").replace(",", "."))) for text in texts]
    typical = [value for text, value in numbers if value == 0.0 or _is_typical(value)]
    if typical:
        return typical
    return [numbers[0][1]] if len(numbers) == 1 and re.search("[=:]", line) else []


def _is_typical(value: float) -> bool:
    text = f"{abs(value):g}"
    return value == -1.0 or value in _ENDS or (bool(_NINES.match(text)) and abs(value) >= 99.0)


def without_sentinels(profiles: Sequence[Profile], stated: Mapping[float, str]) -> list[Remark]:
    """Take numbers that stand for no measurement out of the columns of a table.

    Parameters
    ----------
    profiles : sequence of Profile
        Their numbers are replaced.
    stated : dict of float to str
        As `stated_sentinels` gives them.

    Returns
    -------
    list of Remark
        Which numbers were taken for no measurement.
    """
    clubs = _clubs(profiles)
    measured = [p for p in profiles if p.numbers is not None and _is_measured(p)]
    remarks, gone = [], dict[float, npt.NDArray[np.bool_]]()
    for profile in measured:
        assert profile.numbers is not None
        values = np.asarray(profile.numbers.value.to_numpy(), np.float64)
        for value in _candidates(values, stated):
            hits = values == value
            if value in stated and _is_spoken_of(profile, stated[value], profiles):
                why = f"the export says so: {stated[value]!r}"
            elif _stands_apart(value, hits, values, clubs, profile):
                why = "it lies far from the club's other values and is written like no measurement"
                gone[value] = gone.get(value, np.zeros(len(hits), np.bool_)) | hits
            else:
                continue
            remarks.append(_taken_out(profile, value, hits, why))
            values = np.where(hits, np.nan, values)
    for profile in measured if gone else ():
        remarks += _beside_others(profile, gone)
    return remarks


def _beside_others(
    profile: Profile, gone: Mapping[float, npt.NDArray[np.bool_]]
) -> Iterator[Remark]:
    """A sentinel of other columns in the same rows, where it looks like a value: 9999 as a spin."""
    for value, rows in gone.items():
        assert profile.numbers is not None
        hits = np.asarray((profile.numbers.value == value).fill_null(False).to_numpy())
        if hits.any() and rows[hits].all():
            why = "other columns of the same rows have it for no measurement"
            yield _taken_out(profile, value, hits, why)


def _taken_out(profile: Profile, value: float, hits: npt.NDArray[np.bool_], why: str) -> Remark:
    _take_out(profile, hits)
    count = int(hits.sum())
    return Remark(
        f"column {profile.heading.text!r}",
        f"{value:g} was taken for no measurement in {count} row{'s'[: count != 1]}; {why}.",
    )


def _is_spoken_of(profile: Profile, line: str, profiles: Sequence[Profile]) -> bool:
    """Whether a line means a column: one that it names, or any where it names none."""
    readings = tag_readings(tuple(words_in(line)))
    tags = readings[0][0] if readings else frozenset[str]()
    named = [p for p in profiles if p.heading.tags and p.heading.tags <= tags]
    return not named or any(p is profile for p in named)


def _is_measured(profile: Profile) -> bool:
    best = profile.heading.best
    return best is None or column_dimension(best.column) is not None


def _candidates(values: npt.NDArray[np.float64], stated: Mapping[float, str]) -> list[float]:
    """Values of a column that may be sentinels."""
    known = values[np.isfinite(values)]
    if not known.size:
        return []
    ends = {float(known.min()), float(known.max())}
    likely = np.unique(known[(known == -1.0) | (np.abs(known) >= 99.0)])
    found = [v for v in likely.tolist() if _is_typical(v)] if len(likely) < known.size else []
    return list(dict.fromkeys([*(v for v in stated if (known == v).any()), *found,
                               *(v for v in ends if _is_typical(v))]))  # fmt: skip


def _stands_apart(
    value: float,
    hits: npt.NDArray[np.bool_],
    values: npt.NDArray[np.float64],
    clubs: npt.NDArray[np.int64],
    profile: Profile,
) -> bool:
    """Whether a value that looks like a sentinel is far from all others of its club, each time."""
    best = profile.heading.best
    column = best.column if best else None
    if column == SIDE_SPIN or (value == -1.0 and column in (*SIDED, "launch_angle_deg")):
        return False
    others = np.isfinite(values) & ~hits
    if hits.sum() > _MOST_HITS * (hits.sum() + others.sum()):
        return False
    for club in np.unique(clubs[hits]):
        of_club = values[others & (clubs == club)]
        near = of_club if of_club.size >= _FEWEST_OTHERS else values[others]
        if near.size < _FEWEST_OTHERS:
            return False
        low, high = float(near.min()), float(near.max())
        beyond = max(_BEYOND_SPAN * (high - low), _BEYOND_MIDDLE * abs(float(np.median(near))))
        if low - beyond <= value <= high + beyond:
            return False
    return True


def _clubs(profiles: Sequence[Profile]) -> npt.NDArray[np.int64]:
    """Number of each row's club, all alike where no heading names clubs."""
    for profile in profiles:
        if profile.heading.best is not None and profile.heading.best.column == "club":
            rank = stripped(profile.text).rank("dense").cast(pl.Int64)
            return np.asarray(rank.to_numpy())
    return np.zeros(len(profiles[0].text) if profiles else 0, np.int64)


def _take_out(profile: Profile, hits: npt.NDArray[np.bool_]) -> None:
    numbers = profile.numbers
    assert numbers is not None
    absent = pl.Series(hits)
    profile.numbers = replace(
        numbers, value=numbers.value.set(absent, None), missing=numbers.missing | absent
    )


def without_bracketed(profiles: Sequence[Profile]) -> list[Remark | str]:
    """Leave numbers in brackets empty where they can be no negative ones, `(6083)` of a spin.

    Parameters
    ----------
    profiles : sequence of Profile
        All columns of a table; the numbers of some are replaced.

    Returns
    -------
    list of Remark or str
        A remark for each such column.
    """
    remarks: list[Remark | str] = []
    for profile in profiles:
        best = profile.heading.best
        if best is None or best.column not in _NEVER_NEGATIVE or profile.numbers is None:
            continue
        bracketed = profile.text.str.contains(_BRACKETED).fill_null(False)
        rows = bracketed & (profile.numbers.value < 0.0).fill_null(False)
        if not rows.any() or rows.all():
            continue
        _take_out(profile, rows.to_numpy())
        remarks.append(
            Remark(
                f"column {profile.heading.text!r}",
                f"{int(rows.sum())} numbers of column {profile.heading.text!r} stand in brackets, "
                "as if they were in doubt; they were left empty.",
            )
        )
    return remarks
