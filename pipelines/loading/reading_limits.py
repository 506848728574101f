"""How much time and memory reading one export may take, and what is said when it takes more."""

from __future__ import annotations

import signal
from dataclasses import dataclass
from enum import Enum

from rangeledger.schemas.errors import ExportError
from rangeledger.schemas.reasons import FileReason

_MIB = 2**20


@dataclass(frozen=True, slots=True)
class Limit:
    """Limits for one export: time [s] and resident memory [bytes]."""

    seconds: float
    memory: int


@dataclass(frozen=True, slots=True)
class Limits:
    """Limits by the size of an export, some ten times what reading takes on a slow machine.

    Attributes
    ----------
    seconds, seconds_per_mib : float
        Time [s] for any export, and for each MiB of it.
    memory, memory_per_byte : int
        Resident memory [bytes] for any export, and for each byte of it.
    """

    seconds: float = 120.0
    seconds_per_mib: float = 4.0
    memory: int = 2048 * _MIB
    memory_per_byte: int = 64

    def of(self, size: int) -> Limit:
        """Limits of an export of a size [bytes]."""
        return Limit(
            self.seconds + self.seconds_per_mib * size / _MIB,
            self.memory + self.memory_per_byte * size,
        )


class How(Enum):
    """Why a process that read an export is no more."""

    DIED = "died"
    TOO_LONG = "too long"
    TOO_MUCH = "too much"


@dataclass(frozen=True, slots=True)
class Ended:
    """A process that ended over an export, and its exit code (negative: a signal)."""

    how: How
    code: int = 0


def refusal_of(file_name: str, ended: Ended, limit: Limit) -> ExportError:
    """Refusal of an export over which its reader ended, in plain words."""
    if ended.how is How.TOO_LONG:
        return ExportError(
            f"Reading {file_name} took over {limit.seconds:.0f} s and was ended; nothing of it "
            "was loaded. Export fewer shots into one file; if it is a small file, report it.",
            FileReason.FAULT.value,
        )
    if ended.how is How.TOO_MUCH:
        return ExportError(
            f"Reading {file_name} took over {limit.memory / _MIB:.0f} MiB of memory and was ended; "
            "nothing of it was loaded. Export fewer shots into one file.",
            FileReason.TOO_LARGE.value,
        )
    return ExportError(
        f"{file_name} twice ended the process that reads exports ({_cause(ended.code)}); nothing "
        "of it was loaded. Free memory and drop it again; if it stays so, report it.",
        FileReason.FAULT.value,
    )


def _cause(code: int) -> str:
    if code >= 0:
        return f"exit status {code}"
    try:
        return signal.Signals(-code).name
    except ValueError:
        return f"signal {-code}"
