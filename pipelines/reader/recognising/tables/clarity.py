"""Refusals: what makes a file as a whole unclear, in one sentence with what to do."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import combinations

import numpy as np
import polars as pl
from rangeledger.models.arrays import FloatArray
from rangeledger.pipelines.reader.normalising.phrases import pieces_of
from rangeledger.pipelines.reader.recognising.columns.profile import Profile
from rangeledger.pipelines.reader.recognising.columns.regular_rows import (
    are_computed,
    is_chart_of_distances,
)
from rangeledger.pipelines.reader.recognising.tables.proposal import proposed_mapping
from rangeledger.pipelines.reader.recognising.tables.report import ColumnReport
from rangeledger.pipelines.reader.recognising.tables.table_shots import TableShots
from rangeledger.pipelines.reader.recognising.words.heading import read_heading
from rangeledger.schemas.clubs import club_of
from rangeledger.schemas.columns import MOVEMENTS
from rangeledger.schemas.compositions import SHOT_COUNT, SHOT_NUMBER
from rangeledger.schemas.errors import ExportError
from rangeledger.schemas.limits import FASTEST_PUTT_MPS
from rangeledger.schemas.reasons import FileReason

_FEWEST_SUMMED, _MOST_SUMMED = 2, 2000  # shots a row, rows of a table
_MOSTLY = 0.7  # share of steps; a new bucket begins here and there
_LASTING_TAGS = frozenset({"loft", "lie_angle"})  # what a club has whatever it strikes
_DISTANCE_TAGS = frozenset({"carry", "total", "distance"})
_AVERAGE_TAGS = frozenset({"mean", "spread", "extreme"})


def refuse_unclear(file_name: str, tables: Sequence[TableShots]) -> list[TableShots]:
    """Tables beside the shots that hold none; raise where the others can't be read with certainty.

    Parameters
    ----------
    file_name : str
        For the message.
    tables : sequence of TableShots
        What its tables gave.

    Returns
    -------
    list of TableShots
        Tables of averages, or without a measured column, that stand beside tables of shots.

    Raises
    ------
    ExportError
        With a `FileReason` code and a proposed mapping where one can help.
    """
    refusals = [(table, _no_shots(file_name, table)) for table in tables]
    excluded = [table for table, refusal in refusals if refusal is not None]
    if len(excluded) == len(tables):
        raise next(refusal for _, refusal in refusals if refusal is not None)
    shots = [table for table, refusal in refusals if refusal is None]
    _refuse_parted_shots(file_name, shots)
    clubbed = any(t.frame["club"].null_count() < t.frame.height for t in shots)
    for table in shots:
        _refuse_columns(file_name, table, clubbed)
        _refuse_units(file_name, table)
    return excluded


def _refuse_parted_shots(file_name: str, tables: Sequence[TableShots]) -> None:
    """Raise where two tables tell different things of the same shots: each would count twice."""
    for one, other in combinations(tables, 2):
        numbers = [t.assignment.by_column.get(SHOT_NUMBER) for t in (one, other)]
        if one.frame.height != other.frame.height or None in numbers:
            continue
        first, second = (n.profile.known for n in numbers if n is not None)
        shared = set(one.assignment.by_column) & set(other.assignment.by_column) & set(MOVEMENTS)
        same = np.array_equal(first, second) and one.frame["club"].equals(other.frame["club"])
        if same and not shared:
            raise ExportError(
                f"{file_name}: two of its tables tell different things of the same shots, by their "
                "numbers and clubs. Put them into one table with a row for each shot.",
                FileReason.UNCLEAR_COLUMNS,
            )


def _no_shots(file_name: str, table: TableShots) -> ExportError | None:
    """Why a table holds no shots at all, None where it may."""
    try:
        if not table.frame.height:
            raise ExportError(
                f"{file_name}: every row below the heading sums up others, such as a mean; there "
                "is no shot. Export the shots of the session one by one.",
                FileReason.AVERAGES_ONLY,
            )
        _refuse_averages(file_name, table)
        _refuse_unmeasured(file_name, table)
        _refuse_blank(file_name, table)
        _refuse_simulated(file_name, table)
        _refuse_computed(file_name, table)
    except ExportError as refusal:
        return refusal
    return None


def refuse_table_of_averages(file_name: str, rows: Sequence[Sequence[str | None]]) -> None:
    """Raise where no row is a heading of shots but one is that of averages per club.

    Parameters
    ----------
    file_name : str
        For the message.
    rows : sequence of sequences of str
        The first rows of the file.

    Raises
    ------
    ExportError
        `averages-only`.
    """
    for row in rows:
        headings = [read_heading(cell.strip()) for cell in row if cell and cell.strip()]
        columns = {h.best.column for h in headings if h.best}
        if "club" in columns and any(h.tags & _AVERAGE_TAGS for h in headings):
            raise _averages(file_name)


def _averages(file_name: str) -> ExportError:
    return ExportError(
        f"{file_name}: its rows are averages per club, not shots. Export the single shots.",
        FileReason.AVERAGES_ONLY,
    )


def _refuse_averages(file_name: str, table: TableShots) -> None:
    profiles = [p for p, _ in table.assignment.extras]
    averages = [p for p in profiles if p.heading.tags & _AVERAGE_TAGS and p.is_number]
    measured = [n for n in table.assignment.by_column if n in MOVEMENTS]
    counted = _counted(table)
    best = [p for p in averages if p.heading.tags & _DISTANCE_TAGS]
    if best and not {"carry_m", "total_m"} & set(measured):
        raise _averages(file_name)
    if (averages and not measured) or (counted and _one_row_a_club(table)) or _sums_up(table):
        raise _averages(file_name)
    if any(_begins_a_band(profile, table) for profile in profiles):
        raise ExportError(
            f"{file_name}: its rows are bands of distances, from one to another, and not shots. "
            "Export the single shots.",
            FileReason.AVERAGES_ONLY,
        )
    lasting = [p for p in profiles if p.heading.tags & _LASTING_TAGS]
    bare = set(measured) <= {"carry_m", "total_m"}
    chart = bare and is_chart_of_distances(table.assignment.by_column, _one_row_a_club(table))
    if chart or (lasting and bare and _one_row_a_club(table)):
        raise ExportError(
            f"{file_name}: its rows describe clubs, one each, and not shots. Export the single "
            "shots.",
            FileReason.AVERAGES_ONLY,
        )


def _refuse_blank(file_name: str, table: TableShots) -> None:
    """A plan or a form whose results nobody filled in."""
    taken = table.assignment.by_column
    measured = [taken[name].profile for name in MOVEMENTS if name in taken]
    if measured and all(not p.known.size and p.empty for p in measured):
        raise ExportError(
            f"{file_name}: none of its {table.frame.height} rows holds a measured value; it is a "
            "plan or a form that nobody filled in, and no list of shots.",
            FileReason.NO_SHOTS,
        )


def _refuse_simulated(file_name: str, table: TableShots) -> None:
    """Headings that call what a ball does at launch simulated: an estimate is of a ball struck."""
    launched = [table.assignment.by_column.get(n) for n in ("ball_speed_mps", "launch_angle_deg")]
    texts = [assigned.profile.heading.text for assigned in launched if assigned is not None]
    simulated = [any(p.meaning == "simulated" for p in pieces_of(t, ("purposes",))) for t in texts]
    if simulated and all(simulated):
        raise ExportError(
            f"{file_name}: its headings say that its rows are simulated, as {texts[0]!r} does, "
            "and not shots. Export the single shots.",
            FileReason.NO_SHOTS,
        )


def _refuse_computed(file_name: str, table: TableShots) -> None:
    if are_computed(table.assignment.by_column):
        raise ExportError(
            f"{file_name}: its launches stand at even steps, as a calculation writes them and no "
            "player strikes them. Export shots that were struck.",
            FileReason.NO_SHOTS,
        )


def _counted(table: TableShots) -> bool:
    """Whether a column counts shots: said so, or numbers that don't run on from row to row."""
    taken = table.assignment.by_column
    if SHOT_COUNT in taken:
        return True
    if SHOT_NUMBER not in taken:
        return False
    known = taken[SHOT_NUMBER].profile.known
    return known.size > 1 and not bool((known[1:] > known[:-1]).all())


def _begins_a_band(profile: Profile, table: TableShots) -> bool:
    """`Carry from` beside `Carry to`, which reads as the carry."""
    tags = profile.heading.tags
    ends = [table.assignment.by_column.get(name) for name in ("carry_m", "total_m")]
    rest = tags - {"from"}
    return "from" in tags and any(e is not None and e.profile.heading.tags == rest for e in ends)


def _sums_up(table: TableShots) -> bool:
    """Whether each row says how many shots it stands for, more than the table has of its club.

    A total of the visit, or the number of shots with the club, repeated in each row, is none.
    """
    counts = [profile for profile in table.profiles if _heads_a_count(profile)]
    if len(counts) != 1 or not 0 < table.frame.height <= _MOST_SUMMED:
        return False
    stated = counts[0].text.str.strip_chars().cast(pl.Float64, strict=False)
    if stated.null_count() or len(stated) != table.frame.height:
        return False
    known = stated.to_numpy()
    if (known < _FEWEST_SUMMED).any() or (known != np.round(known)).any():
        return False
    if (np.diff(known) > 0).all() or (known == len(known)).all() or _counts_down(known):
        return False
    rows_of_club = table.frame.select(pl.len().over("club")).to_series().to_numpy()
    return bool((known != rows_of_club).all())


def _counts_down(known: FloatArray) -> bool:
    """Whether numbers fall by one from row to row, as the balls that are left in a bucket do."""
    steps = np.diff(known)
    return steps.size > 1 and bool(np.mean(steps == -1.0) >= _MOSTLY)


def _heads_a_count(profile: Profile) -> bool:
    text = profile.heading.text.strip()
    best = profile.heading.best
    explained = best is not None and best.column not in (SHOT_COUNT, SHOT_NUMBER)
    return profile.heading.tags - {"shot", "ball"} == {"count"} or (text == "n" and not explained)


def _one_row_a_club(table: TableShots) -> bool:
    clubs = table.frame["club"] if table.frame.height else None
    return clubs is not None and clubs.n_unique() == len(clubs)


def _refuse_columns(file_name: str, table: TableShots, clubbed: bool) -> None:
    if table.assignment.unclear:
        column, profiles = table.assignment.unclear[0]
        names = " and ".join(repr(p.heading.text) for p in profiles)
        doubts = {p.heading.text: f'is this {column}? Of such columns keep one, "" the others.'
                  for p in profiles}  # fmt: skip
        raise ExportError(
            f"{file_name}, {table.place_of(profiles[0])}: columns {names} both read as {column} "
            "but differ. Say in a mapping which one it is.",
            FileReason.UNCLEAR_COLUMNS,
            proposed_mapping(_with_unclear(table), doubts, club=clubbed),
        )
    _refuse_unread(file_name, table, clubbed)
    if not clubbed and table.frame["club"].null_count() == table.frame.height:
        raise ExportError(
            f'{file_name}: nothing says which club was played. Add club = "…" to a note file '
            "beside the export, or name the club's column in a mapping.",
            FileReason.UNCLEAR_COLUMNS,
            proposed_mapping(table.reports, club=False) if _may_be_golf(table) else None,
        )


def _with_unclear(table: TableShots) -> list[ColumnReport]:
    """The reports of a table, with those of columns that compete for one name."""
    found = {report.place: report for report in table.reports}
    for column, profiles in table.assignment.unclear:
        for profile in profiles:
            unit = next(iter(profile.heading.units), None)
            text = profile.heading.text
            found[profile.place] = ColumnReport(text, column, unit, place=profile.place)
    return [found[place] for place in sorted(found, key=lambda place: place or 0)]


def _may_be_golf(table: TableShots) -> bool:
    """Whether a mapping can help: a column names clubs, or the ball's launch and flight are there.

    Serves, throws and pitches have speeds and angles too, but neither clubs nor a carry.
    """
    taken = table.assignment.by_column
    if "club" in taken or {"carry_m", "launch_angle_deg"} <= set(taken):
        return True
    return any(names_clubs(p.sample) for p in table.profiles if not p.is_number)


def names_clubs(cells: Iterable[str]) -> bool:
    """Whether at least half of some distinct cells are known clubs."""
    words = [cell for cell in cells if cell and cell.strip()]
    known = sum(club_of(word).known for word in words)
    return known > 0 and 2 * known >= len(words)


def _refuse_unmeasured(file_name: str, table: TableShots) -> None:
    if not table.assignment.unclear and not any(n in MOVEMENTS for n in table.assignment.by_column):
        raise ExportError(
            f"{file_name}: no column of the table can be read as a golf shot's speed, angle or "
            "distance. Name its columns in a mapping.",
            FileReason.NOT_AN_EXPORT,
            proposed_mapping(table.reports, _unknown(table)) if _may_be_golf(table) else None,
        )


def _unknown(table: TableShots) -> dict[str, str]:
    """Headings of numbers that nothing was made of."""
    extras = [profile for profile, _ in table.assignment.extras if profile.is_number]
    return {profile.heading.text: "what is this?" for profile in extras}


def _refuse_unread(file_name: str, table: TableShots, clubbed: bool) -> None:
    """A carry that is nowhere while columns are left unread may be one of them."""
    taken = table.assignment.by_column
    unread = [
        p
        for p in table.assignment.unread
        if p.place not in {a.profile.place for a in taken.values()}
    ]
    if "carry_m" in taken or not unread or _is_putting(table):
        return
    names = ", ".join(repr(p.heading.text) for p in unread[:4])
    raise ExportError(
        f"{file_name}, {table.place_of(unread[0])}: no column reads as the carry, and {names} "
        'could not be read. Say in a mapping what they are; an empty column = "" keeps one '
        "as it is.",
        FileReason.UNCLEAR_COLUMNS,
        _proposal_for_unread(table, clubbed, unread) if _may_be_golf(table) else None,
    )


def _proposal_for_unread(table: TableShots, clubbed: bool, unread: Sequence[Profile]) -> str:
    doubts = {p.heading.text: "what is this?" for p in unread}
    units = {p.heading.text: p.heading.units[0] for p in unread if p.heading.units}
    return proposed_mapping(table.reports, {**_unknown(table), **doubts}, units, club=clubbed)


def _is_putting(table: TableShots) -> bool:
    """Whether the balls only roll: a putt has no carry."""
    if "ball_speed_mps" not in table.frame.columns:
        return False
    middle = table.frame["ball_speed_mps"].median()
    return isinstance(middle, float) and middle < FASTEST_PUTT_MPS


def _refuse_units(file_name: str, table: TableShots) -> None:
    taken = table.assignment.by_column
    found = [(p.column, p.message) for p in table.units.problems] + table.sides.problems
    found = [(name, message) for name, message in found if name in taken]  # others were left out
    problems = [(taken[name].profile.heading.text, message) for name, message in found]
    if problems:
        name = found[0][0]
        raise ExportError(
            f"{file_name}, {table.place_of(taken[name].profile)}: {problems[0][1]}. Which is it? "
            "State it in a mapping or in the export's headings.",
            FileReason.UNCLEAR_UNITS,
            proposed_mapping(table.reports, dict(problems), _proposed_units(table)),
        )


def _proposed_units(table: TableShots) -> dict[str, str]:
    """Heading -> unit that fits best; sides take that of the distances."""
    found = {p.heading: p.proposed for p in table.units.problems if p.proposed}
    length = next(
        (p.proposed for p in table.units.problems if p.column == "carry_m" and p.proposed), None
    )
    for problem in table.units.problems:
        if length and problem.column in ("carry_side_m", "total_side_m", "roll_m", "total_m"):
            found.setdefault(problem.heading, length)
    return found
