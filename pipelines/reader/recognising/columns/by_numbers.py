"""Columns whose words say little or nothing, found by how their numbers follow the others.

A reading gives each open column a quantity with a unit, or none. Its log odds are those of the
words, which are neutral where no vocabulary has them, and of the numbers: how much better a
column is foretold, row by row, by the flights of the other columns than by its own mean. Ball
speed, launch angle and spin may be open themselves; then the flights are computed under each
choice. A column is taken where the best reading is far likelier than every one in which it is
something else.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import product

import numpy as np
import numpy.typing as npt
from rangeledger.models.arrays import FloatArray
from rangeledger.pipelines.reader.recognising.columns.assignment import (
    Assigned,
    Assignment,
    same_quantity,
)
from rangeledger.pipelines.reader.recognising.columns.consistency import sample_rows
from rangeledger.pipelines.reader.recognising.columns.following import (
    FEWEST_ROWS,
    FLIGHT,
    INPUTS,
    Values,
    by_line,
    follows,
    predictions,
    terms,
)
from rangeledger.pipelines.reader.recognising.columns.profile import Profile
from rangeledger.pipelines.reader.recognising.words.heading import UNKNOWN_WORD_COST, Heading
from rangeledger.schemas.compositions import (
    ALONG,
    BACK_SPIN,
    MODELLED,
    OFF,
    SIDE_SPIN,
    SIDED,
    SPEED_RATIO,
    STRAIGHT,
    column_dimension,
    partly_made,
)
from rangeledger.schemas.units import UNITS

_PLAIN = (*FLIGHT, *INPUTS, "spin_rate_rpm", "clubhead_speed_mps", SPEED_RATIO)
FOUND = (*_PLAIN, BACK_SPIN)
_MOST_ROWS = 40
_MOST_OPEN = 8
_LEAST_ODDS, _LEAST_LEAD = 4.0, 3.0  # log odds over no reading at all, and over the next one
_WORD_ODDS = 6.0  # log odds of a heading that is fully telling
# Log odds that the one angle of a table, of which nothing else is said, is that of the launch:
# most tables have no other angle than that; common practice, no source.
_LONE_ANGLE = 4.0
_TOTAL_ALONE = 4.0  # log odds against a total where no column is the carry
_UNITS = {
    "length": ("m", "yd", "ft"),
    "speed": ("mph", "m/s", "km/h"),
    "time": ("s", "ms"),
    "angle": ("deg",),
    "rotation": ("rpm", "krpm"),
    "ratio": ("1",),
}
_DISTANCES = ("carry_m", "total_m")
_NEUTRAL = frozenset({OFF, MODELLED, STRAIGHT, ALONG})
_PERCENTILE = re.compile(r"[pq][0-9]{2}")  # `P90`, `q25`: of a group of shots, and of no one shot


@dataclass(slots=True)
class _Open:
    """A column to be found: its numbers in the sampled rows and the log odds of its words."""

    profile: Profile
    claim: Assigned | None
    numbers: FloatArray
    words: dict[str, float]
    units: tuple[str, ...]
    lone: bool = False  # the one angle of its table

    def readings(self, quantity: str) -> Iterator[FloatArray]:
        """Its numbers as a quantity in each unit that is possible."""
        dimension = column_dimension(quantity) or ""
        stated = [u for u in self.units if UNITS[u].dimension == dimension]
        for unit in stated or (() if self.units else _UNITS.get(dimension, ())):
            yield self.numbers * (1.0 if dimension == "ratio" else UNITS[unit].factor)


@dataclass(slots=True)
class _Reading:
    """What each open column is, with the log odds of all of it."""

    odds: float = 0.0
    columns: dict[int, str] = field(default_factory=dict)


def _word_odds(heading: Heading, claim: Assigned | None) -> dict[str, float]:
    """Log odds that a heading's words give each quantity; unknown words say neither yes nor no."""
    unknown = UNKNOWN_WORD_COST * len(heading.unknown)

    def odds(column: str, weight: float) -> float:
        """Strange words beside `carry` mostly make another distance: one corrected, or wished."""
        return _WORD_ODDS * (weight if column in _DISTANCES else min(weight + unknown, 1.0))

    if claim is not None:
        claims = [(claim.weight, claim.column), *((w, c) for w, c, _ in claim.others)]
        return {c: odds(c, w) for w, c in claims if c in FOUND}
    tags = heading.tags - _NEUTRAL
    by_heading = {
        c.column: odds(c.column, c.weight) for c in heading.candidates if c.column in FOUND
    }
    if not tags:
        return dict.fromkeys(_PLAIN, 0.0)
    partly = partly_made(tags)
    return {q: by_heading.get(q, 1.0) for q in FOUND if q in by_heading or q in partly}


def _open_columns(assignment: Assignment, rows: npt.NDArray[np.int64]) -> list[_Open]:
    """Columns of numbers that words alone do not settle."""
    taken = set(assignment.by_column)
    claims = {id(a.profile): a for a in assignment.doubtful}
    extras = [p for p, _ in assignment.extras if _may_be_measured(p, taken)]
    found = []
    for profile in [*(a.profile for a in assignment.doubtful), *extras]:
        if profile.numbers is None or profile.mixed_units or profile.has_sides:
            continue
        claim = claims.get(id(profile))
        words = {q: o for q, o in _word_odds(profile.heading, claim).items() if q not in taken}
        if SIDE_SPIN in taken and not profile.heading.tags:  # the total, or its part backwards?
            words.pop("spin_rate_rpm", None)
        if not words or any(_has_digit(w) for w in profile.heading.unknown):
            continue
        lone = "launch_angle_deg" in words and _is_lone_angle(profile, assignment)
        if lone:
            words["launch_angle_deg"] += _LONE_ANGLE
        numbers = np.asarray(profile.numbers.value.to_numpy(), np.float64)[rows]
        spread = np.nanstd(numbers) if np.isfinite(numbers).any() else 0.0
        if not spread > 0.0:
            continue
        if not any(same_quantity(Assigned(profile, "", 0.0), a) for a in _measured(assignment)):
            units = profile.cell_units or profile.heading.units
            found.append(_Open(profile, claim, np.abs(numbers), words, units, lone))
    return found[:_MOST_OPEN]


def _is_lone_angle(profile: Profile, assignment: Assignment) -> bool:
    """Whether a heading says `Angle` and no other column has one, but those with a left and right.

    Nothing else is known of it: an angle of something may be that of anything.
    """
    others = [p for p, _ in assignment.extras] + [a.profile for a in assignment.doubtful]
    others += [a.profile for n, a in assignment.by_column.items() if n not in SIDED]
    angled = [p for p in others if p is not profile and _is_angle(p)]
    return profile.heading.tags <= {"angle", "vertical"} and _is_angle(profile) and not angled


def _is_angle(profile: Profile) -> bool:
    units = profile.cell_units or profile.heading.units
    return "angle" in profile.heading.tags or any(UNITS[u].dimension == "angle" for u in units)


def _measured(assignment: Assignment) -> list[Assigned]:
    taken = assignment.by_column.items()
    return [a for name, a in taken if name in FOUND and a.profile.numbers is not None]


def _has_digit(word: str) -> bool:
    """`P90`, `at 100`: a number in a heading makes another quantity; `c4` is a mere code."""
    code = len(word) <= 3 and word[0].isalpha() and not _PERCENTILE.fullmatch(word)
    return any(c.isdigit() for c in word) and not code


def _may_be_measured(profile: Profile, taken: set[str]) -> bool:
    """Whether nothing known rules out that a column kept aside is one of the main ones."""
    heading = profile.heading
    twice = heading.best is not None and heading.best.column in taken
    described = bool(heading.unknown or heading.tags)
    return described and not twice and profile.is_number


def has_open_columns(assignment: Assignment) -> bool:
    """Whether words leave any column of numbers open."""
    taken = set(assignment.by_column)
    return bool(assignment.doubtful) or any(
        _may_be_measured(p, taken) and _word_odds(p.heading, None).keys() - taken
        for p, _ in assignment.extras
    )


def _known_rows(values: Values) -> npt.NDArray[np.int64]:
    main = [v for n, v in values.items() if n in FOUND]
    usable = np.all([np.isfinite(v) for v in main], axis=0)
    if usable.sum() < FEWEST_ROWS:
        usable = np.any([np.isfinite(v) for v in main], axis=0)
    return sample_rows(usable, _MOST_ROWS)


def _choices(
    columns: list[_Open], known: Values
) -> Iterator[tuple[dict[int, str], dict[str, FloatArray], float]]:
    """Ways to take the columns that the flights start from, with the odds of their words."""
    missing = [n for n in (*INPUTS, "spin_rate_rpm") if n not in known]
    ways: list[list[tuple[int, FloatArray] | None]] = []
    for name in missing:
        able = [
            (k, x) for k, c in enumerate(columns) if name in c.words for x in c.readings(name)
            if _is_possible(name, x)
        ]  # fmt: skip
        ways.append([None, *able])
    for chosen in product(*ways):
        taken = [way[0] for way in chosen if way is not None]
        if len(set(taken)) == len(taken):
            named = [(n, w) for n, w in zip(missing, chosen, strict=True) if w is not None]
            odds = sum(columns[k].words[n] for n, (k, _) in named)
            yield {k: n for n, (k, _) in named}, {n: x for n, (_, x) in named}, odds


def _is_possible(name: str, numbers: FloatArray) -> bool:
    """Whether the middle of a column is one that balls leave a club with."""
    low, high = {"ball_speed_mps": (8.0, 95.0), "launch_angle_deg": (3.0, 55.0)}.get(
        name, (900.0, 13000.0)
    )
    return bool(low < np.nanmedian(numbers) < high)


def _of_inputs(chosen: Values, known: Values, whole: Values) -> float:
    """How much better the known columns are foretold with the chosen inputs than without."""
    odds = 0.0
    expected, before = predictions(whole), predictions(known)
    for name in ("ball_speed_mps", "launch_angle_deg", "spin_rate_rpm"):
        if name in chosen and name in expected:
            odds += follows(name, chosen[name], expected[name]) or 0.0
    basis = [
        known[n] for n in ("ball_speed_mps", "clubhead_speed_mps", "launch_angle_deg") if n in known
    ]
    for name in FLIGHT:
        if name not in known or name not in expected:
            continue
        near = follows(name, known[name], expected[name])
        if name in before:
            without = follows(name, known[name], before[name])
        else:
            without = by_line(known[name], basis, terms()[name].floor)
        odds += (near or 0.0) - (0.0 if without in (None, -math.inf) else float(without or 0.0))
    return odds


def _of_outputs(
    columns: list[_Open], expected: Values, taken: dict[int, str], known: Values
) -> list[dict[str, float]]:
    """Log odds of every other column as each quantity that the flights foretell."""
    table: list[dict[str, float]] = []
    for k, column in enumerate(columns):
        odds: dict[str, float] = {}
        for name in expected if k not in taken else ():
            if name in known or name in taken.values() or name not in column.words:
                continue
            closeness = [follows(name, x, expected[name]) for x in column.readings(name)]
            best = max((t for t in closeness if t is not None), default=-math.inf)
            if best > -math.inf:
                odds[name] = best + column.words[name]
        table.append(odds)
    return table


def _best_of(table: list[dict[str, float]]) -> Iterator[_Reading]:
    """Every way to give columns different quantities, or none."""
    if not table:
        yield _Reading()
        return
    last = len(table) - 1
    for rest in _best_of(table[:-1]):
        yield rest
        for name, odds in table[-1].items():
            if name not in rest.columns.values():
                yield _Reading(rest.odds + odds, {**rest.columns, last: name})


def _readings(columns: list[_Open], known: Values) -> Iterator[_Reading]:
    for taken, chosen, words in _choices(columns, known):
        whole = {**known, **chosen}
        odds = words + (_of_inputs(chosen, known, whole) if chosen else 0.0)
        if odds == -math.inf:
            continue
        table = _of_outputs(columns, predictions(whole), taken, whole)
        for reading in _best_of(table):
            price = _LEAST_ODDS * len({**taken, **reading.columns})
            names = reading.columns.values()
            if "total_m" in names and "carry_m" not in names and "carry_m" not in known:
                price += _TOTAL_ALONE
            yield _Reading(odds + reading.odds - price, {**taken, **reading.columns})


def take_by_numbers(assignment: Assignment, values: Values) -> list[str]:
    """Decide on the columns that words leave open, all at once.

    Parameters
    ----------
    assignment : Assignment
        Columns that are found are taken, doubtful ones that are not become extras; changed in
        place.
    values : Mapping[str, numpy array]
        The measured columns that are certain, in canonical units.

    Returns
    -------
    list[str]
        A remark for each column that was taken or that two quantities compete for.
    """
    remarks: list[str] = []
    if any(name in values for name in FOUND):
        rows = _known_rows(values)
        columns = _open_columns(assignment, rows)
        known = {n: v[rows] for n, v in values.items() if n in FOUND}
        if columns and rows.size >= FEWEST_ROWS:
            readings = sorted(_readings(columns, known), key=lambda r: -r.odds)
            remarks = _take(assignment, columns, readings)
    return remarks


def _take(assignment: Assignment, columns: list[_Open], readings: list[_Reading]) -> list[str]:
    remarks = []
    best = readings[0]
    for k, name in best.columns.items():
        other = next((r for r in readings if r.columns.get(k) != name), _Reading(-math.inf))
        lead, column = best.odds - other.odds, columns[k]
        text = column.profile.heading.text
        if lead < _LEAST_LEAD:
            instead = other.columns.get(k, "something else")
            remarks.append(f"Column {text!r} may be {name} or {instead}; it was left as it is.")
            continue
        assigned = column.claim or Assigned(column.profile, name, 0.0)
        if assigned in assignment.doubtful:
            assignment.doubtful.remove(assigned)
        assigned.column, assigned.weight = name, 1.0 / (1.0 + math.exp(-min(lead, 30.0)))
        assigned.by_numbers = True
        assigned.evidence.append("its numbers follow the other columns row by row")
        assignment.by_column[name] = assigned
        assignment.extras[:] = [e for e in assignment.extras if e[0] is not column.profile]
        if column.profile.heading.unknown:
            words = ", ".join(column.profile.heading.unknown)
            remarks.append(
                f"Column {text!r} was taken as {name}: its numbers follow the others, though "
                f"{words} is no known word."
            )
        elif column.lone:
            remarks.append(
                f"Column {text!r} was taken as {name}: no other column is an angle, and its "
                "numbers fit."
            )
    return remarks
