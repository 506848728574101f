"""Columns that read as a side but are the difference of two others, such as a miss in distance."""

from __future__ import annotations

import numpy as np
from rangeledger.models.arrays import FloatArray
from rangeledger.pipelines.reader.recognising.columns.assignment import (
    Assigned,
    Assignment,
    decimals,
)
from rangeledger.pipelines.reader.recognising.columns.profile import Profile

_SIDES = ("carry_side_m", "total_side_m")
_FEWEST_ROWS, _MOSTLY = 5, 0.9
_MOST_COLUMNS, _LOOKED_AT = 24, 12


def exclude_differences(assignment: Assignment) -> list[str]:
    """Keep columns aside whose numbers are those of one column less those of another.

    Parameters
    ----------
    assignment : Assignment
        What the columns are; changed in place.

    Returns
    -------
    list of str
        A remark for each: `carry yds` less `called yds` is how far a shot fell short of its goal.
    """
    remarks = []
    for name in _SIDES:
        assigned = assignment.by_column.get(name)
        if assigned is None:
            continue
        profile = assigned.profile
        of_whom = _parts(profile, _others(assignment, profile))
        if of_whom is not None:
            del assignment.by_column[name]
            remarks.append(_set_aside(assignment, profile, of_whom))
    return remarks


def settle_differences(assignment: Assignment) -> list[str]:
    """Settle which of several columns is a side where all but one are differences of others.

    Parameters
    ----------
    assignment : Assignment
        What the columns are; changed in place.

    Returns
    -------
    list of str
        A remark for each column that is no side.
    """
    remarks = []
    for entry in [entry for entry in assignment.unclear if entry[0] in _SIDES]:
        name, profiles = entry
        every = [p for p in _others(assignment, profiles[0]) if p not in profiles]
        parts = [_parts(profile, every) for profile in profiles]
        left = [profile for profile, of_whom in zip(profiles, parts, strict=True) if not of_whom]
        if len(left) != 1:
            continue
        assignment.unclear.remove(entry)
        evidence = ["the other columns that read so are differences of two others"]
        assignment.by_column[name] = Assigned(left[0], name, left[0].heading.weight, evidence)
        remarks += [
            _set_aside(assignment, profile, of_whom)
            for profile, of_whom in zip(profiles, parts, strict=True)
            if of_whom
        ]
    return remarks


def _set_aside(assignment: Assignment, profile: Profile, of_whom: tuple[Profile, Profile]) -> str:
    """Keep a difference as an extra; the remark that says so."""
    one, other = (p.heading.text for p in of_whom)
    why = f"is {one!r} less {other!r}, and no side"
    assignment.extras.append((profile, why))
    return f"Column {profile.heading.text!r} {why}."


def _others(assignment: Assignment, profile: Profile) -> list[Profile]:
    taken = [assigned.profile for assigned in assignment.by_column.values()]
    every = [*taken, *(extra for extra, _ in assignment.extras)]
    return [p for p in every if p is not profile and p.numbers is not None][:_MOST_COLUMNS]


def _values(profile: Profile) -> FloatArray:
    assert profile.numbers is not None
    return profile.numbers.value.to_numpy().astype(np.float64)


def _parts(profile: Profile, others: list[Profile]) -> tuple[Profile, Profile] | None:
    """The two columns of which one is the difference in nearly every row, up to rounding."""
    if profile.numbers is None or profile.has_sides:
        return None
    found = _values(profile)
    known = np.isfinite(found)
    if len(others) < 2 or known.sum() < _FEWEST_ROWS or np.unique(found[known]).size < _FEWEST_ROWS:
        return None
    values = np.array([_values(other) for other in others]).reshape(len(others), len(found))
    few = np.flatnonzero(known)[:_LOOKED_AT]
    near = 1.1 * 10.0 ** -min(decimals(profile), *(decimals(other) for other in others), 9)
    apart = values[:, None, few] - values[None, :, few] - found[few]
    likely = np.argwhere(np.median(np.abs(np.nan_to_num(apart, nan=np.inf)), axis=2) <= near)
    for one, other in likely.tolist():
        use = known & np.isfinite(values[one]) & np.isfinite(values[other])
        if one == other or use.sum() < max(_FEWEST_ROWS, _MOSTLY * known.sum()):
            continue
        places = min(decimals(profile), decimals(others[one]), decimals(others[other]))
        off = np.abs(found[use] - (values[one] - values[other])[use])
        if np.mean(off <= 1.1 * 10.0**-places) >= _MOSTLY:
            return others[one], others[other]
    return None
