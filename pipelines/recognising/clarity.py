"""Refusals: what makes a file as a whole unclear, in one sentence with what to do."""

from __future__ import annotations

from collections.abc import Sequence

from pipelines.reading.grid import Grid
from pipelines.recognising.layout import Layout
from pipelines.recognising.report import Recognition
from pipelines.recognising.tables import TableShots
from pipelines.screening import MEASURED
from schemas.compositions import SHOT_COUNT
from schemas.errors import ExportError
from schemas.reasons import FileReason

_AVERAGE_TAGS = frozenset({"mean", "spread", "extreme"})


def refuse_unclear(
    file_name: str,
    grid: Grid,
    layout: Layout,
    tables: Sequence[TableShots],
    recognition: Recognition,
) -> None:
    """Raise where a file's tables can't be read with certainty.

    Parameters
    ----------
    file_name : str
        For the message.
    grid : Grid
        The export.
    layout : Layout
        What its lines are.
    tables : sequence of TableShots
        What its tables gave.
    recognition : Recognition
        For the proposed mapping.

    Raises
    ------
    ExportError
        With a `FileReason` code.
    """
    for table in tables:
        _refuse_averages(file_name, table)
        _refuse_columns(file_name, table)
        _refuse_units(file_name, table)


def _refuse_averages(file_name: str, table: TableShots) -> None:
    profiles = [p for p, _ in table.assignment.extras]
    averages = [p for p in profiles if p.heading.tags & _AVERAGE_TAGS and p.is_number]
    measured = [n for n in table.assignment.by_column if n in MEASURED]
    counted = SHOT_COUNT in table.assignment.by_column
    if (averages and not measured) or (counted and _one_row_a_club(table)):
        raise ExportError(
            f"{file_name}: its rows are averages per club, not shots. Export the single shots.",
            FileReason.AVERAGES_ONLY,
        )


def _one_row_a_club(table: TableShots) -> bool:
    clubs = table.frame["club"] if table.frame.height else None
    return clubs is not None and clubs.n_unique() == len(clubs)


def _refuse_columns(file_name: str, table: TableShots) -> None:
    unclear = table.assignment.unclear
    if unclear:
        column, profiles = unclear[0]
        names = " and ".join(repr(p.heading.text) for p in profiles)
        raise ExportError(
            f"{file_name}: columns {names} both read as {column} but differ. Say in a mapping "
            "which one it is.",
            FileReason.UNCLEAR_COLUMNS,
        )
    measured = [n for n in table.assignment.by_column if n in MEASURED]
    if not measured:
        raise ExportError(
            f"{file_name}: no column of the table can be read as a golf shot's speed, angle or "
            "distance. Name its columns in a mapping.",
            FileReason.NOT_AN_EXPORT,
        )
    if table.frame.height and table.frame["club"].null_count() == table.frame.height:
        raise ExportError(
            f'{file_name}: nothing says which club was played. Add club = "…" to a note file '
            "beside the export, or name the club's column in a mapping.",
            FileReason.UNCLEAR_COLUMNS,
        )


def _refuse_units(file_name: str, table: TableShots) -> None:
    problems = [p.message for p in table.units.problems]
    problems += [message for _, message in table.sides.problems]
    if problems:
        raise ExportError(
            f"{file_name}: {problems[0]}. State it in a mapping or in the export's headings.",
            FileReason.UNCLEAR_UNITS,
        )
