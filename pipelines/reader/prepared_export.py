"""What preparing an export gives: shots, rejected rows and how it was read, or a refusal."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import polars as pl
from rangeledger.pipelines.reader.recognising.lines.turning import AnyGrid
from rangeledger.pipelines.reader.recognising.tables.report import Recognition
from rangeledger.pipelines.reader.recognising.words.remark import Remark
from rangeledger.schemas.arrow import REJECTED_SCHEMA, REMARKS_SCHEMA, shots_polars_schema
from rangeledger.schemas.errors import ExportError
from rangeledger.schemas.reasons import RowReason

# Which export a row is of is known to whoever offers it.
REJECTED_ROWS = pl.Schema({n: kind for n, kind in REJECTED_SCHEMA.items() if n != "source_file"})
REMARKS = pl.Schema({n: kind for n, kind in REMARKS_SCHEMA.items() if n != "source_file"})


@dataclass(slots=True)
class PreparedExport:
    """An export as it would be loaded.

    Parameters
    ----------
    source_file : str
        SHA-256 of the original bytes, hexadecimal.
    file_name : str
        Name under which it was offered.
    shots : pl.DataFrame
        Accepted shots in the schema of the lake.
    rejected : pl.DataFrame
        Rows that are not accepted: `source_row`, `raw_text`, `reason_code`, `reason`.
    recognition : Recognition
        How the file was read.
    timings : dict[str, float]
        Seconds of the steps read, recognise, normalise, screen.
    other_lines : pl.DataFrame
        Lines that are neither: `source_row`, `taken_for` (a `LineKind`), `raw_text`.
    remarks : list of Remark
        What was not understood, left empty or assumed, and what settles it.
    """

    source_file: str
    file_name: str
    shots: pl.DataFrame
    rejected: pl.DataFrame
    recognition: Recognition
    timings: dict[str, float]
    other_lines: pl.DataFrame
    remarks: list[Remark]
    _grid: AnyGrid | None = field(default=None, repr=False)

    @property
    def mapping_name(self) -> str | None:
        """Name of the mapping file that was used, None where detection read the file alone."""
        return self.recognition.mapping

    def raw_text_of(self, source_row: int) -> str:
        """Original text of the record that starts on a line; blank if none does."""
        if self._grid is None:
            return ""
        found = np.flatnonzero(self._grid.line == source_row)
        return self._grid.raw_text(int(found[0])) if found.size else ""

    @property
    def has_lines(self) -> bool:
        """Whether the original lines are at hand for `raw_text_of`."""
        return self._grid is not None

    def leave_lines(self) -> None:
        """Give up the original lines, as on the way from one process to another."""
        self._grid = None

    def remark_rows(self) -> pl.DataFrame:
        """The remarks as rows for the lake, without the export that they are of."""
        rows = [(r.place, r.sentence, r.settled_by) for r in self.remarks]
        return pl.DataFrame(rows, schema=REMARKS, orient="row")

    def summary(self) -> dict[str, Any]:
        """How the file was read, as plain values for the ingest log."""
        return {
            "layout": self.recognition.signature,
            "zone": self.recognition.zone,
            "columns": {r.heading: r.column for r in self.recognition.columns},
            "units": {r.heading: r.unit for r in self.recognition.columns if r.unit},
            "constants": dict(self.recognition.constants),
            "number_format": self.recognition.number_format,
            "remarks": [str(remark) for remark in self.remarks],
            "seconds": {step: round(t, 5) for step, t in self.timings.items()},
        }


class RefusedExportError(ExportError):
    """A refusal that carries how far the export was understood.

    Parameters
    ----------
    refusal : ExportError
        What was raised.
    recognition : Recognition
        How the file was read up to there.
    broken : sequence of str
        Sentences on mapping files that could not be used: one of them may be the way out.
    """

    def __init__(
        self, refusal: ExportError, recognition: Recognition, broken: Sequence[str] = ()
    ) -> None:
        super().__init__(" ".join([str(refusal), *broken]), refusal.code, refusal.mapping)
        self.recognition = recognition


@dataclass(slots=True)
class Rejects:
    """Why records are not accepted, collected over all steps."""

    codes: dict[int, RowReason] = field(default_factory=dict)
    sentences: dict[int, list[str]] = field(default_factory=dict)

    def add(self, record: int, code: RowReason, sentence: str) -> None:
        """Note a reason; the first code stays, each sentence stands once."""
        self.codes.setdefault(record, code)
        recorded = self.sentences.setdefault(record, [])
        if sentence not in recorded:
            recorded.append(sentence)


def in_schema(frame: pl.DataFrame) -> pl.DataFrame:
    """Shots with the columns of the lake, in their order and kind; what is absent is null."""
    schema = shots_polars_schema()
    absent = {"flight_basis": "unknown"}
    return frame.select(
        (pl.col(name) if name in frame.columns else pl.lit(absent.get(name)).alias(name)).cast(
            dtype
        )
        for name, dtype in schema.items()
    )
