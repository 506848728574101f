"""Loads without the flow engine: to find an export at fault, and to refuse it.

They take the writer lock themselves; nothing is fitted or published.
"""

from __future__ import annotations

import os
from collections.abc import Sequence
from typing import TYPE_CHECKING

from rangeledger.pipelines.faults import fault_log, keep_fault
from rangeledger.pipelines.loading import load
from rangeledger.pipelines.loading.load_order import PLAIN, Steps, refusing, run_steps
from rangeledger.pipelines.loading.offered import Offered
from rangeledger.pipelines.loading.readers import Readers
from rangeledger.pipelines.running.exhaustion import watched
from rangeledger.schemas.errors import ExportError, RangeledgerError
from rangeledger.schemas.reasons import FileReason
from rangeledger.warehouse import database
from rangeledger.warehouse.home import Home
from rangeledger.warehouse.settings import read_settings
from rangeledger.warehouse.stores.store import store_of

if TYPE_CHECKING:
    from rangeledger.pipelines.loading.outcome import Outcome


def load_plainly(
    home: Home,
    batch: Sequence[Offered],
    readers: Readers | None = None,
    steps: Steps = PLAIN,
) -> list[Outcome]:
    """Load one batch without the flow engine; nothing is fitted or published.

    Parameters
    ----------
    home : Home
    batch : sequence of Offered
    readers : Readers, optional
        Processes that read; without them this process does.
    steps : Steps
        What is done with the batch.

    Returns
    -------
    list of Outcome
        What became of each export.
    """
    with store_of(home).turn():
        load.recover(home)
        with database.open_ledger(home) as connection:
            settings = read_settings(home)
            with watched(home, batch):
                _, outcomes = run_steps(steps, home, connection, settings, batch, readers=readers)
    return outcomes


def refuse(home: Home, offered: Offered, refusal: ExportError) -> list[Outcome]:
    """Quarantine an export that no load survives; nothing is fitted or published."""
    return load_plainly(home, [offered], steps=refusing(refusal))


def load_one_by_one(
    home: Home, batch: Sequence[Offered], error: Exception, readers: Readers | None = None
) -> list[Outcome]:
    """Load a batch that made a load fail, in ever smaller parts, and refuse the export at fault.

    Parameters
    ----------
    home : Home
    batch : sequence of Offered
    error : Exception
        What it failed with; raised again where no export of it waits any more, since the fault is
        then in what follows a load.
    readers : Readers, optional
        Processes that read.

    Returns
    -------
    list of Outcome
        What became of each export that still waited.
    """
    keep_fault(home, error, f"loading {len(batch)} from {batch[0].file_name}")
    left = [one for one in batch if os.path.lexists(one.path)]
    if not left:
        raise error
    return _in_parts(home, left, error, readers)


def _in_parts(
    home: Home, left: Sequence[Offered], error: Exception, readers: Readers | None
) -> list[Outcome]:
    try:
        return load_plainly(home, left, readers)
    except RangeledgerError:
        raise
    except Exception as second_error:  # noqa: BLE001  one export's fault must not hold up the others
        error = second_error
    if len(left) == 1:
        return refuse(home, left[0], _at_fault(home, left[0], error))
    middle = len(left) // 2
    return [
        outcome
        for part in (left[:middle], left[middle:])
        for outcome in _in_parts(home, part, error, readers)
    ]


def _at_fault(home: Home, one: Offered, error: Exception) -> ExportError:
    keep_fault(home, error, f"loading {one.file_name}")
    return ExportError(
        f"{one.file_name} made the load fail ({type(error).__name__}). The fault is the "
        f"program's: report it with the last entry of {fault_log(home)}.",
        FileReason.FAULT.value,
    )
