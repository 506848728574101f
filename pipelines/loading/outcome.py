"""What becomes of one export on its way through a load."""

from __future__ import annotations

import shlex
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any

import polars as pl
from rangeledger.pipelines.loading.offered import Offered, Stamp
from rangeledger.pipelines.loading.read_one import ReadResult
from rangeledger.schemas.arrow import (
    OTHER_LINES_SCHEMA,
    REJECTED_SCHEMA,
    REMARKS_SCHEMA,
)
from rangeledger.schemas.errors import ExportError
from rangeledger.schemas.reasons import State

if TYPE_CHECKING:
    from rangeledger.pipelines.reader.prepared_export import PreparedExport


def _no_remarks() -> pl.DataFrame:
    return pl.DataFrame(schema=REMARKS_SCHEMA)


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Outcome:
    """What becomes of one export on its way through a load: one of the classes below.

    Attributes
    ----------
    offered : Offered
    source_file : str
        SHA-256 of its bytes; empty where they can't be read.
    stamp : Stamp
        Its file's stamp before it was read.
    seconds : float
        How long reading it took [s].
    left : str
        Why it stays in the inbox for now; empty if it does not.
    shot_count, rejected_count : int
        Shots accepted, and rows that were not, of an export that is loaded.
    remarks : polars.DataFrame
        What reading it noticed, as the lake keeps it.
    """

    offered: Offered
    source_file: str
    stamp: Stamp
    seconds: float = 0.0
    left: str = ""
    shot_count: int = 0
    rejected_count: int = 0
    remarks: pl.DataFrame = field(default_factory=_no_remarks)

    @property
    def state(self) -> State | None:
        """State for the ingest log; None of an export that stays in the inbox."""
        return None

    @property
    def is_loaded(self) -> bool:
        """Whether its shots go into the ledger with this load."""
        return False

    @property
    def reason(self) -> str:
        """Why the export was not loaded, in plain words; empty if it was."""
        return self.left

    @property
    def proposed_mapping(self) -> str | None:
        """Text of a mapping that would make a refused export readable."""
        return None

    def released(self) -> Outcome:
        """The same without its rows, so that a long drain holds no memory."""
        return self

    def stays(self, because: str) -> Left:
        """The same export, left in the inbox."""
        return Left(**self._export(), left=because)

    def loaded_before(self, known_as: str, *, taken_out: bool = False) -> Duplicate:
        """The same export, whose bytes were loaded before, and perhaps taken out again."""
        return Duplicate(**self._export(), known_as=known_as, taken_out=taken_out)

    def refused(self, refusal: ExportError) -> Refused:
        """The same export, refused."""
        return Refused(**self._export(), seconds=self.seconds, refusal=refusal)

    def _export(self) -> dict[str, Any]:
        return {"offered": self.offered, "source_file": self.source_file, "stamp": self.stamp}


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Left(Outcome):
    """It stays in the inbox for now."""


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Duplicate(Outcome):
    """Its bytes were loaded before.

    Attributes
    ----------
    known_as : str
        Name of the export that they were loaded as.
    taken_out : bool
        Whether that one was taken out again, so that nothing of it counts.
    """

    known_as: str
    taken_out: bool = False

    @property
    def state(self) -> State:
        """State for the ingest log."""
        return State.DUPLICATE

    @property
    def reason(self) -> str:
        """Why it was not loaded."""
        known = f"The same bytes were loaded before as {self.known_as}"
        if not self.taken_out:
            return f"{known}."
        name = shlex.quote(self.known_as)
        return f"{known}, which was taken out. To take it back: rangeledger include --export {name}"


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Copy(Duplicate):
    """Its bytes are those of an earlier export of the batch, whose fate it shares."""

    def unread(self) -> Unread:
        """The same export, to be read for itself."""
        return Unread(**self._export())


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Refused(Outcome):
    """It is no readable export."""

    refusal: ExportError

    @property
    def state(self) -> State:
        """State for the ingest log."""
        return State.QUARANTINED

    @property
    def reason(self) -> str:
        """Why it was refused, after the code of the reason."""
        return f"{self.refusal.code}: {self.refusal}"

    @property
    def proposed_mapping(self) -> str | None:
        """Text of a mapping that would make it readable."""
        return self.refusal.mapping


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Read(Outcome):
    """It was read, and its shots are to be loaded.

    Attributes
    ----------
    export : PreparedExport or None
        What was read; None once it is released.
    shots, rejected, other_lines : polars.DataFrame
        Rows as the lake keeps them; none once they are released.
    """

    export: PreparedExport | None
    shots: pl.DataFrame
    rejected: pl.DataFrame
    other_lines: pl.DataFrame

    @property
    def state(self) -> State:
        """State for the ingest log."""
        return State.LOADED_WITH_REJECTS if self.rejected_count else State.LOADED

    @property
    def is_loaded(self) -> bool:
        """Whether its shots go into the ledger with this load."""
        return True

    def with_rows(self, shots: pl.DataFrame, rejected: pl.DataFrame) -> Read:
        """The same export with other rows accepted and rejected."""
        return replace(
            self, shots=shots, rejected=rejected,
            shot_count=shots.height, rejected_count=rejected.height,
        )  # fmt: skip

    def released(self) -> Read:
        """The same without its rows, so that a long drain holds no memory."""
        return replace(
            self, export=None, shots=self.shots.clear(), rejected=self.rejected.clear(),
            other_lines=self.other_lines.clear(),
        )  # fmt: skip


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Unread(Outcome):
    """Its bytes are still to be read."""

    def copy_of(self, known_as: str) -> Copy:
        """The same export, a copy of an earlier one of the batch."""
        return Copy(**self._export(), known_as=known_as)

    def read(self, found: ReadResult) -> Outcome:
        """What becomes of it by what reading it gave."""
        timed = replace(self, seconds=found.seconds)
        if found.refusal is not None:
            return timed.refused(found.refusal)
        if found.export is None:
            return self.stays(found.left_because)
        export = found.export
        source = pl.lit(self.source_file).alias("source_file")
        return Read(
            **self._export(),
            seconds=found.seconds,
            export=export,
            shots=export.shots,
            rejected=export.rejected.with_columns(source).select(list(REJECTED_SCHEMA)),
            other_lines=export.other_lines.with_columns(source).select(list(OTHER_LINES_SCHEMA)),
            remarks=export.remark_rows().with_columns(source).select(list(REMARKS_SCHEMA)),
            shot_count=export.shots.height,
            rejected_count=export.rejected.height,
        )
