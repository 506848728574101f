"""What became of an export, in plain values: what one process tells another, and a user."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from rangeledger.schemas.reasons import State

if TYPE_CHECKING:
    from rangeledger.pipelines.loading.outcome import Outcome

WAITS = "waits"


@dataclass(frozen=True, slots=True)
class Result:
    """What became of an export.

    Attributes
    ----------
    file_name, path : str
        Its name, and where it was offered.
    source_file : str
        SHA-256 of its bytes; empty where it could not be read.
    state : str
        As in the ingest log, or 'waits' if it stays in the inbox.
    shots, rejected : int
        Rows accepted and not accepted.
    reason : str
        Why it was not loaded; empty if it was.
    remarks : tuple of tuple of str
        What the load noticed: place, remark, what settles it.
    """

    file_name: str
    path: str
    source_file: str
    state: str
    shots: int
    rejected: int
    reason: str
    remarks: tuple[tuple[str, str, str], ...] = ()

    @classmethod
    def of(cls, outcome: Outcome) -> Result:
        """What became of an export in this process."""
        remarks = outcome.remarks.select("place", "remark", "settled_by").rows()
        return cls(
            outcome.offered.file_name, str(outcome.offered.path), outcome.source_file,
            outcome.state.value if outcome.state else WAITS,
            outcome.shot_count, outcome.rejected_count, outcome.reason,
            tuple(remarks) if outcome.is_loaded else (),
        )  # fmt: skip

    @property
    def is_loaded(self) -> bool:
        """Whether its shots are in the ledger by this load."""
        return self.state in (State.LOADED.value, State.LOADED_WITH_REJECTS.value)
