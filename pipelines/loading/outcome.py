"""What becomes of one export on its way through a load."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cache

import polars as pl
from rangeledger.pipelines.loading.offered import Offered, Stamp
from rangeledger.pipelines.loading.read_one import ReadResult
from rangeledger.pipelines.reader.prepared_export import PreparedExport
from rangeledger.schemas.arrow import (
    OTHER_LINES_SCHEMA,
    REJECTED_SCHEMA,
    REMARKS_SCHEMA,
    shots_polars_schema,
)
from rangeledger.schemas.errors import ExportError
from rangeledger.schemas.reasons import State


@cache
def _no_shots() -> pl.DataFrame:
    return pl.DataFrame(schema=shots_polars_schema())


@cache
def _no_rows() -> pl.DataFrame:
    return pl.DataFrame(schema=REJECTED_SCHEMA)


@cache
def _no_lines() -> pl.DataFrame:
    return pl.DataFrame(schema=OTHER_LINES_SCHEMA)


@cache
def _no_remarks() -> pl.DataFrame:
    return pl.DataFrame(schema=REMARKS_SCHEMA)


@dataclass(slots=True)
class Outcome:
    """What becomes of one export on its way through a load.

    Attributes
    ----------
    offered : Offered
    source_file : str
        SHA-256 of its bytes.
    stamp : Stamp
        Its file's stamp before it was read.
    export : PreparedExport or None
        What was read, once it is.
    refusal : ExportError or None
        Why it is no readable export.
    loaded_before_as : str or None
        Name under which its bytes are in the ledger already.
    copy_of : Outcome or None
        The first export of the batch with the same bytes, unless that was refused.
    left_because : str
        Why it stays in the inbox for now; empty if it does not.
    """

    offered: Offered
    source_file: str
    stamp: Stamp
    export: PreparedExport | None = None
    refusal: ExportError | None = None
    loaded_before_as: str | None = None
    copy_of: Outcome | None = None
    left_because: str = ""
    shots: pl.DataFrame = field(default_factory=_no_shots)
    rejected: pl.DataFrame = field(default_factory=_no_rows)
    other_lines: pl.DataFrame = field(default_factory=_no_lines)
    remarks: pl.DataFrame = field(default_factory=_no_remarks)
    seconds: float = 0.0
    _counts: tuple[int, int] | None = None

    @property
    def is_new(self) -> bool:
        """Whether its bytes are still to be read."""
        return not (self.loaded_before_as or self.copy_of or self.left_because)

    @property
    def left(self) -> str:
        """Why it stays in the inbox for now; empty if it does not."""
        if self.left_because or self.copy_of is None:
            return self.left_because
        return self.copy_of.left

    @property
    def state(self) -> State:
        """State for the ingest log, of an export that does not stay in the inbox."""
        if self.loaded_before_as is not None or self.copy_of is not None:
            return State.DUPLICATE
        if self.refusal is not None:
            return State.QUARANTINED
        return State.LOADED_WITH_REJECTS if self.rejected_count else State.LOADED

    @property
    def is_loaded(self) -> bool:
        """Whether its shots go into the ledger with this load."""
        return not self.left and self.state in (State.LOADED, State.LOADED_WITH_REJECTS)

    @property
    def reason(self) -> str:
        """Why the export was not loaded, in plain words; empty if it was."""
        if self.left:
            return self.left
        before = self.copy_of.offered.file_name if self.copy_of else self.loaded_before_as
        if before is not None:
            return f"The same bytes were loaded before as {before}."
        return f"{self.refusal.code}: {self.refusal}" if self.refusal else ""

    @property
    def proposed_mapping(self) -> str | None:
        """Text of a mapping that would make a refused export readable."""
        return self.refusal.mapping if self.refusal else None

    @property
    def shot_count(self) -> int:
        """Shots accepted."""
        counted = self._counts[0] if self._counts else self.shots.height
        return counted if not self.refusal else 0

    @property
    def rejected_count(self) -> int:
        """Rows not accepted, of an export that was loaded."""
        counted = self._counts[1] if self._counts else self.rejected.height
        return counted if not self.refusal else 0

    def take(self, found: ReadResult) -> None:
        """Take over what reading the export gave."""
        self.export, self.refusal = found.export, found.refusal
        self.left_because, self.seconds = found.left_because, found.seconds
        if found.export is not None:
            source = pl.lit(self.source_file).alias("source_file")
            self.shots = found.export.shots
            self.rejected = found.export.rejected.with_columns(source).select(list(REJECTED_SCHEMA))
            self.other_lines = found.export.other_lines.with_columns(source).select(
                list(OTHER_LINES_SCHEMA)
            )
            self.remarks = (
                found.export.remark_rows().with_columns(source).select(list(REMARKS_SCHEMA))
            )

    def found_loaded_as(self, file_name: str) -> None:
        """Count as a duplicate of what another loader loaded while this was read."""
        self.loaded_before_as = file_name
        self.shots, self.rejected, self.export = _no_shots(), _no_rows(), None
        self.other_lines, self.remarks = _no_lines(), _no_remarks()

    def release(self) -> None:
        """Give up the rows and keep their counts, so that a long drain holds no memory."""
        self._counts = (self.shots.height, self.rejected.height)
        self.shots, self.rejected, self.export = _no_shots(), _no_rows(), None
        self.other_lines = _no_lines()
