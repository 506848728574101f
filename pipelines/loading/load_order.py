"""The order of a load's steps, written once: for plain calls and for the flow engine's tasks."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from rangeledger.pipelines.loading import load
from rangeledger.pipelines.loading.offered import Offered
from rangeledger.pipelines.loading.outcome import Outcome, Unread
from rangeledger.schemas.errors import ExportError
from rangeledger.warehouse.home import Home
from rangeledger.warehouse.lake import Batch
from rangeledger.warehouse.settings import Settings

if TYPE_CHECKING:
    from duckdb import DuckDBPyConnection
    from rangeledger.pipelines.loading.readers import Readers


@dataclass(frozen=True, slots=True)
class Steps:
    """The steps of a load, each with the parameters of its namesake in `load`."""

    identify: Callable[..., Any] = load.identify
    prepare: Callable[..., Any] = load.prepare
    screen: Callable[..., Any] = load.screen
    store: Callable[..., Any] = load.store
    settle: Callable[..., Any] = load.settle

    def wrapped(self, wrap: Callable[[Callable[..., Any], str], Callable[..., Any]]) -> Steps:
        """The same steps, each passed with its name through `wrap`."""
        return Steps(**{name: wrap(getattr(self, name), name) for name in self.__slots__})


PLAIN = Steps()


def refusing(refusal: ExportError) -> Steps:
    """Steps that refuse what they are given in place of reading it."""

    def refuse(
        _home: Home, _settings: Settings, outcomes: Sequence[Outcome], *_others: Any
    ) -> list[Outcome]:
        return [o.refused(refusal) if isinstance(o, Unread) else o for o in outcomes]

    return replace(PLAIN, prepare=refuse)


def run_steps(
    steps: Steps,
    home: Home,
    connection: DuckDBPyConnection,
    settings: Settings,
    offered: Sequence[Offered],
    *,
    on_done: Callable[[str], None] | None = None,
    readers: Readers | None = None,
) -> tuple[Batch | None, list[Outcome]]:
    """Take a batch of exports from the inbox into lake and database; call it under the lock.

    Parameters
    ----------
    steps : Steps
        Plain, or wrapped as the engine's tasks.
    home : Home
    connection : duckdb.DuckDBPyConnection
        The writer's database.
    settings : Settings
    offered : sequence of Offered
    on_done : callable, optional
        Called with the file name when an export is prepared.
    readers : Readers, optional
        Processes that read; without them this process does.

    Returns
    -------
    batch : rangeledger.warehouse.lake.Batch or None
        The committed load; None if nothing was left to commit.
    outcomes : list of Outcome
        What became of each export.
    """
    outcomes: list[Outcome] = steps.identify(connection, offered)
    outcomes = steps.prepare(home, settings, outcomes, on_done, readers)
    outcomes = steps.screen(home, settings, outcomes)
    batch: Batch | None
    batch, outcomes = steps.store(home, connection, outcomes)
    steps.settle(home, batch, outcomes)
    return batch, outcomes
