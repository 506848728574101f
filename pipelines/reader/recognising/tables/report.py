"""What recognition found, in plain words: for `inspect`, for messages, for mapping proposals."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from rangeledger.pipelines.reader.recognising.columns.assignment import Assigned, Assignment
from rangeledger.pipelines.reader.recognising.columns.sides import SidesFound
from rangeledger.pipelines.reader.recognising.columns.unit_readings import UnitsFound
from rangeledger.pipelines.reader.recognising.words.remark import Remark

# Share of columns that were right: by the weight of their words, and at most by numbers alone.
# Of 730 read by words `tests/exports/calibrate.py` found none wrong; strangers' exports had two
# in about a thousand. Of 130 found by numbers three were wrong.
_SHARE_RIGHT = ((0.6, 0.8, 0.9, 1.0), (0.96, 0.98, 0.99, 0.995))
_SUREST_BY_NUMBERS = 0.98


@dataclass(slots=True)
class ColumnReport:
    """One column of the export: what it became and from which evidence.

    Parameters
    ----------
    heading : str
        As it stands in the export.
    column : str or None
        Canonical column or helper, None where it was kept as an extra.
    unit : str or None
        Unit in which it was read.
    positive : str or None
        Side counted as positive, for columns that have one.
    confidence : float
        0 to 1.
    evidence : list[str]
        In plain words.
    runner_up : str or None
        What else it might have been.
    place : int or None
        Column of the table, counted from 0.
    """

    heading: str
    column: str | None
    unit: str | None = None
    positive: str | None = None
    confidence: float = 0.0
    evidence: list[str] = field(default_factory=list)
    runner_up: str | None = None
    place: int | None = None


@dataclass(slots=True)
class Recognition:
    """How a file was read.

    Parameters
    ----------
    columns : list[ColumnReport]
        One a column of each different heading.
    constants : dict[str, str]
        Canonical column -> what was said once for all shots, and where.
    number_format : str
        Decimal and thousands marks, with the evidence.
    layout : list[str]
        What the lines of the file are.
    remarks : list of Remark or str
        What was not understood, left empty, assumed or repaired.
    mapping : str or None
        Name of the mapping file that was used.
    signature : str
        Name of the layout, which exports with the same headings share.
    language : str or None
        Two-letter code of the headings' language, where they tell.
    zone : str or None
        Name of the time zone in which dates and times were taken.
    """

    columns: list[ColumnReport] = field(default_factory=list)
    constants: dict[str, str] = field(default_factory=dict)
    number_format: str = ""
    layout: list[str] = field(default_factory=list)
    remarks: list[Remark | str] = field(default_factory=list)
    mapping: str | None = None
    signature: str = ""
    language: str | None = None
    zone: str | None = None


def _sure(assigned: Assigned) -> float:
    """Probability that a column is what it was taken for."""
    if assigned.by_numbers:
        return round(min(assigned.weight, _SUREST_BY_NUMBERS), 3)
    return round(float(np.interp(assigned.weight, *_SHARE_RIGHT)), 3)


def column_reports(
    assignment: Assignment, units: UnitsFound, sides: SidesFound
) -> list[ColumnReport]:
    """What each column of a table became, in the order of the export.

    Parameters
    ----------
    assignment : Assignment
        What the columns are.
    units : UnitsFound
        Their units.
    sides : SidesFound
        Their sides.

    Returns
    -------
    list of ColumnReport
        One a column that has a heading or cells.
    """
    by_place: dict[int, ColumnReport] = {}
    for name, assigned in assignment.by_column.items():
        report = ColumnReport(
            assigned.profile.heading.text,
            name,
            confidence=_sure(assigned),
            evidence=list(assigned.evidence),
            runner_up=assigned.runner_up,
            place=assigned.profile.place,
        )
        if name in units.readings:
            reading = units.readings[name]
            report.unit = reading.unit
            report.evidence.append(reading.evidence)
            report.confidence = min(report.confidence, reading.sure)
        if name in sides.readings:
            side = sides.readings[name]
            report.positive = "right" if side.sign > 0 else "left"
            report.evidence.append(side.evidence)
        by_place[assigned.profile.place] = report
    for profile, why in assignment.extras:
        by_place[profile.place] = ColumnReport(
            profile.heading.text, None, evidence=[why], place=profile.place
        )
    return [by_place[place] for place in sorted(by_place)]
