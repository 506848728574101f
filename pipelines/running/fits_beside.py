"""Fitting players in processes forked from the helper of the readers, for who loads only once.

The helper has imported most of what a fit needs. To import it here once more would take longer
than all the fits of one load, and a person waits for it.
"""

from __future__ import annotations

import signal
import sys
import threading
from collections.abc import Iterator
from concurrent.futures import Future, ProcessPoolExecutor
from contextlib import contextmanager, suppress
from contextvars import ContextVar
from typing import TYPE_CHECKING, Any

from rangeledger.pipelines.loading.forking import (
    FORKING,
    end_with_parent,
    no_main_module,
    start_helper,
)

if TYPE_CHECKING:
    import polars as pl
    from rangeledger.models.players.player_fit import PlayerFacts

_TOGETHER = 2
# Of a player with more, sending the shots there takes longer than importing here.
_MOST_SHOTS = 50_000


class FitsBeside:
    """Processes that fit players."""

    def __init__(self) -> None:
        self._pool = ProcessPoolExecutor(_TOGETHER, mp_context=FORKING, initializer=_begin)
        # The helper may still be importing, and answers then.
        self._starting = threading.Thread(target=self._start, name="fits", daemon=True)
        self._starting.start()

    def fit(self, shots: pl.DataFrame, facts: PlayerFacts) -> dict[str, pl.DataFrame] | None:
        """Fits of a player; None if they can't be had, whatever the reason: fit here then."""
        if shots.height > _MOST_SHOTS:
            return None
        from rangeledger.models.players.player_fit import fit_player

        with suppress(Exception):
            fits: dict[str, pl.DataFrame] = self._submit(fit_player, shots, facts).result()
            return fits
        return None

    def close(self) -> None:
        """End the processes."""
        self._starting.join()
        self._pool.shutdown(cancel_futures=True)

    def _start(self) -> None:
        with suppress(Exception):  # no process can be started: fits are made here
            start_helper()
            self._submit(_import_models)

    def _submit(self, function: Any, *args: Any) -> Future[Any]:
        with no_main_module():  # this may start a process
            return self._pool.submit(function, *args)


def _begin() -> None:
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # it is for the process that loads
    end_with_parent()


def _import_models() -> None:
    """Fit nothing, so that all is imported before there is something to fit."""
    import polars as pl
    from rangeledger.models.players.player_fit import PlayerFacts, fit_player
    from rangeledger.schemas.arrow import shots_polars_schema

    none = pl.DataFrame(schema=shots_polars_schema())
    with suppress(Exception):
        fit_player(none.with_columns(excluded=pl.lit(False)), PlayerFacts())


_beside: ContextVar[FitsBeside | None] = ContextVar("fits beside", default=None)


@contextmanager
def fitting_beside() -> Iterator[None]:
    """Have players fitted by processes beside in this block."""
    beside = FitsBeside()
    token = _beside.set(beside)
    try:
        yield
    finally:
        _beside.reset(token)
        beside.close()


def can_fit_at_once() -> bool:
    """Whether this process has imported already what a fit needs."""
    return {"numba", "sklearn"} <= sys.modules.keys()


def fits_beside() -> FitsBeside | None:
    """The processes of the block around, if it has any."""
    return _beside.get()
