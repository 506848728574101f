"""Columns recognised by their cells where no heading says them: clubs, times, swings, players."""

from __future__ import annotations

import re
from collections.abc import Callable

import numpy as np
import polars as pl
from rangeledger.pipelines.reader.normalising.epochs import are_serial_days
from rangeledger.pipelines.reader.normalising.words import ball_of, surface_of
from rangeledger.pipelines.reader.recognising.columns.assignment import Assigned, Assignment
from rangeledger.pipelines.reader.recognising.columns.judging import looks_like_swings
from rangeledger.pipelines.reader.recognising.columns.profile import Profile
from rangeledger.schemas.compositions import DATE, DATETIME, TIME

_SURE = 0.65  # weight of what cells alone say
_MOSTLY_CLUBS, _MOST_CLUBS = 0.8, 30
_NAME = re.compile(r"^[^\W\d_][\w'’.\-]*(?: [^\W\d_][\w'’.\-]*){1,3}$")
_MOST_PLAYERS = 20
_MOST_KINDS = 12
# Instants of shots as seconds since 1970: from 2001 to 2033, a few seconds to minutes apart.
_SINCE_S, _UNTIL_S = 1.0e9, 2.0e9
_BETWEEN_S = (4.0, 900.0)  # common practice, no source
_FEWEST_INSTANTS = 4
_NEVER_A_PLAYER = frozenset({"note", "start_end", "session", "type", "shot", "ball", "surface"})


def _is_club(profile: Profile) -> bool:
    if profile.empty or (profile.is_number and len(profile.sample) > _MOST_CLUBS):
        return False
    return profile.clubs_known() >= _MOSTLY_CLUBS and not profile.is_clock()


def _is_date(profile: Profile) -> bool:
    return profile.is_clock() and profile.is_date() and not profile.is_number


def _is_time_of_day(profile: Profile) -> bool:
    if profile.is_number or not profile.is_clock() or profile.is_date():
        return False
    if "elapsed" in profile.heading.tags:
        return False
    return not looks_like_swings(profile)


def _is_epoch(profile: Profile) -> bool:
    """Whole seconds since 1970, or thousandths, that run on as one visit of shots does."""
    known = profile.known
    if known.size < _FEWEST_INSTANTS:
        return False
    for scale in (1.0, 1000.0):
        seconds = known / scale
        if seconds.min() >= _SINCE_S and seconds.max() < _UNTIL_S:
            steps = np.diff(seconds)
            return bool((steps >= 0.0).all() and _BETWEEN_S[0] <= np.median(steps) <= _BETWEEN_S[1])
    return False


def _is_serial(profile: Profile) -> bool:
    """Days of a spreadsheet with their fraction, under a heading that speaks of dates and times."""
    known = profile.known
    asked = profile.heading.tags >= {"date", "time"}
    if not asked or known.size < _FEWEST_INSTANTS or not are_serial_days(pl.Series(known)):
        return False
    return bool((known != np.floor(known)).any())


def _all(read: Callable[[str], str | None]) -> Callable[[Profile], bool]:
    def test(profile: Profile) -> bool:
        if profile.is_number or len(profile.sample) > _MOST_KINDS:
            return False
        if "note" in profile.heading.tags:  # where `practice swing` is no practice ball
            return False
        found = [read(cell) for cell in profile.sample]
        return bool(found) and all(found) and set(found) != {"unknown"}

    return test


def _is_player(profile: Profile) -> bool:
    """Two to twenty names of several words, one in every row, that keep for runs of rows."""
    if profile.heading.tags & _NEVER_A_PLAYER or profile.is_number or profile.is_clock():
        return False
    names = profile.text.drop_nulls().unique()
    if not 2 <= len(names) <= _MOST_PLAYERS or profile.text.null_count():
        return False
    changes = int((profile.text != profile.text.shift(1)).sum())
    steady = changes <= 0.5 * len(profile.text)
    return steady and all(_NAME.match(name) and name.istitle() for name in names)


_TESTS: tuple[tuple[str, tuple[str, ...], Callable[[Profile], bool]], ...] = (
    ("club", ("club",), _is_club),
    ("swing", ("swing",), looks_like_swings),
    (DATE, (DATE, DATETIME), _is_date),
    (TIME, (TIME, DATETIME), _is_time_of_day),
    (DATETIME, (DATE, DATETIME, TIME), _is_epoch),
    (DATETIME, (DATE, DATETIME, TIME), _is_serial),
    ("ball", ("ball",), _all(ball_of)),
    ("surface", ("surface",), _all(surface_of)),
    ("player", ("player",), _is_player),
)


def assign_by_cells(result: Assignment) -> list[str]:
    """Give columns that nobody claims to the one column whose cells fit, if there is just one.

    Parameters
    ----------
    result : Assignment
        As the headings decide; changed in place.

    Returns
    -------
    list[str]
        A remark for each column that was recognised so.
    """
    remarks = []
    for column, rivals, fits in _TESTS:
        if any(name in result.by_column for name in rivals) or _holds_time(result, column):
            continue
        found = [(p, why) for p, why in result.extras if not p.empty and fits(p)]
        if len(found) > 1:  # beside a time of deletion, which few rows have
            found = [(p, why) for p, why in found if (p.text.fill_null("") != "").all()]
        if len(found) != 1:
            continue
        profile, why = found[0]
        result.extras.remove((profile, why))
        evidence = ["its heading says nothing known", f"all of its cells read as {column}"]
        result.by_column[column] = Assigned(profile, column, _SURE, evidence)
        remarks.append(f"Column {profile.heading.text!r} was taken as {column} by its cells.")
    return remarks


def _holds_time(result: Assignment, column: str) -> bool:
    """Whether a time column that is taken already holds dates as well as times of day."""
    if column not in (DATE, TIME):
        return False
    for name in (DATE, TIME, DATETIME):
        assigned = result.by_column.get(name)
        if assigned and not assigned.profile.empty:
            cells = assigned.profile.sample[:5]
            dated, clocked = assigned.profile.is_date(), any(":" in cell for cell in cells)
            if (column == DATE and dated) or (column == TIME and clocked):
                return True
            if assigned.profile.is_number:
                return True
    return False
