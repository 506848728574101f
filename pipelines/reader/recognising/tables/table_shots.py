"""What one table of an export gave: rows that may be shots, and how they were understood."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import polars as pl
from rangeledger.pipelines.reader.normalising.number_format import NumberFormat
from rangeledger.pipelines.reader.recognising.columns.assignment import Assignment
from rangeledger.pipelines.reader.recognising.columns.profile import Profile
from rangeledger.pipelines.reader.recognising.columns.sides import SidesFound
from rangeledger.pipelines.reader.recognising.columns.unit_readings import UnitsFound
from rangeledger.pipelines.reader.recognising.tables.odd_cells import Rejection
from rangeledger.pipelines.reader.recognising.tables.report import ColumnReport
from rangeledger.pipelines.reader.recognising.words.remark import Remark


@dataclass(slots=True)
class TableShots:
    """What one table gave.

    Parameters
    ----------
    frame : pl.DataFrame
        Canonical columns and `record`, one row a record that may be a shot.
    rejections : list[Rejection]
        Rows of `frame` that can't become shots.
    summaries : numpy array of int
        Records that sum up others.
    reports : list[ColumnReport]
        What each column became.
    heading_line : int
        Line of its heading in the export.
    """

    frame: pl.DataFrame
    rejections: list[Rejection]
    summaries: npt.NDArray[np.int64]
    reports: list[ColumnReport]
    assignment: Assignment
    units: UnitsFound
    sides: SidesFound
    number_format: NumberFormat
    constants: dict[str, str]
    remarks: list[Remark | str]
    profiles: list[Profile]
    heading_line: int

    def place_of(self, profile: Profile) -> str:
        """Where a column stands, for a sentence: `line 3, column 5`."""
        return f"line {self.heading_line}, column {profile.place + 1}"
