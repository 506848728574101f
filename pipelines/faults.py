"""Faults of the program itself: kept for the maintainers, told to the user in a sentence."""

from __future__ import annotations

import traceback
from datetime import UTC, datetime
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pathlib import Path

    from rangeledger.warehouse.home import Home


def fault_log(home: Home) -> Path:
    """Where the details of faults are kept."""
    return home.logs / "faults.log"


def keep_fault(home: Home, error: BaseException, doing: str) -> None:
    """Append the details of a fault to the home's log; a log that can't be written is let go."""
    when = datetime.now(UTC).isoformat(timespec="seconds")
    details = "".join(traceback.format_exception(error))
    try:
        with fault_log(home).open("a", encoding="utf-8") as log:
            log.write(f"{when} while {doing}\n{details}\n")
    except OSError:
        return
