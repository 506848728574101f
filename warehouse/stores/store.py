"""Where what was loaded lasts: the seam between a home and what keeps its loads.

A home keeps its loads itself, in its lake. Whatever keeps them elsewhere brings them into the
home's lake first, so that counting, fitting, views and commands are the same over both.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from contextlib import AbstractContextManager, contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any, Protocol

from rangeledger.schemas.errors import HomeError
from rangeledger.warehouse import lake, publishing
from rangeledger.warehouse.home import FOLLOWING, Home
from rangeledger.warehouse.removing.forgetting import Plan
from rangeledger.warehouse.settings import read_settings
from rangeledger.warehouse.stores.originals import archived
from rangeledger.warehouse.writer_lock import writer_lock

if TYPE_CHECKING:
    import polars as pl
    from duckdb import DuckDBPyConnection


class Store(Protocol):
    """What a load, a decision or a fit asks of the place where loads last."""

    def turn(
        self, *, alone: bool = False, on_wait: Callable[[str], None] | None = None
    ) -> AbstractContextManager[None]:
        """Be the only writer of the home, with all in it that the store has.

        Parameters
        ----------
        alone : bool
            Whether nobody else may add to the store either, from the first to the last.
        on_wait : callable, optional
            Called once with the holder's process number when a wait begins.
        """

    def alone(self) -> AbstractContextManager[bool]:
        """Within a turn, be the only one who adds to the store.

        Yields
        ------
        bool
            Whether others added something meanwhile, which is in the home's lake now.
        """

    def keep_original(self, path: Path, source_file: str) -> bool:
        """Keep the bytes of an export before its load counts; False if they have changed."""

    def original(self, source_file: str) -> Path | None:
        """The kept original of a content hash, None where there is none."""

    def write_batch(
        self,
        batch: lake.Batch,
        shots: pl.DataFrame,
        rejected: pl.DataFrame,
        other_lines: pl.DataFrame,
        remarks: pl.DataFrame,
    ) -> None:
        """Add a load, alone; it counts once this returns (rows as in `lake.write_batch`)."""

    def write_decision(self, decision: dict[str, Any]) -> None:
        """Add a user's decision, alone."""

    def remove(self, plan: Plan) -> None:
        """Remove elsewhere, alone, what was removed from the home's files; may be done again."""

    def restore(self, numbers: Sequence[int]) -> bool:
        """Put damaged loads of the home's lake right from elsewhere; False if there is none."""

    def settles(self, batch: lake.Batch) -> bool:
        """Whether the originals of a load came from this home's inbox."""

    def adopt_fits(self, connection: DuckDBPyConnection, model_version: str) -> None:
        """Put fits into the writer's database that were made elsewhere from the same shots."""

    def is_current(self) -> bool:
        """Whether all that reads the store sees what the home's published database holds."""

    def publish(self) -> None:
        """Let all readers see the writer's database, which is closed, within a turn."""


class HomeStore:
    """A home that keeps its loads itself.

    Parameters
    ----------
    home : Home
    """

    def __init__(self, home: Home) -> None:
        self._home = home

    @contextmanager
    def turn(
        self,
        *,
        alone: bool = False,  # noqa: ARG002  nobody else adds to a home's own lake
        on_wait: Callable[[str], None] | None = None,
    ) -> Iterator[None]:
        """Hold the writer lock."""
        with writer_lock(self._home, on_wait=on_wait):
            yield

    @contextmanager
    def alone(self) -> Iterator[bool]:
        """The holder of the writer lock is alone already."""
        yield False

    def keep_original(self, path: Path, source_file: str) -> bool:  # noqa: ARG002
        """It stays in the inbox until its load counts, and goes to the archive then."""
        return True

    def original(self, source_file: str) -> Path | None:
        """The original in the archive."""
        return archived(self._home, source_file)

    def write_batch(
        self,
        batch: lake.Batch,
        shots: pl.DataFrame,
        rejected: pl.DataFrame,
        other_lines: pl.DataFrame,
        remarks: pl.DataFrame,
    ) -> None:
        """Write the load to the home's lake."""
        lake.write_batch(self._home, batch, shots, rejected, other_lines, remarks)

    def write_decision(self, decision: dict[str, Any]) -> None:
        """Write the decision to the home's lake."""
        lake.write_decision(self._home, decision)

    def remove(self, plan: Plan) -> None:
        """All that a home has is in its files."""

    def restore(self, numbers: Sequence[int]) -> bool:  # noqa: ARG002
        """Nobody else has a home's loads."""
        return False

    def settles(self, batch: lake.Batch) -> bool:  # noqa: ARG002
        """All loads are this home's."""
        return True

    def adopt_fits(self, connection: DuckDBPyConnection, model_version: str) -> None:
        """Nobody else makes fits of a home's shots."""

    def is_current(self) -> bool:
        """Its readers have the published database alone."""
        return True

    def publish(self) -> None:
        """Put a copy of the writer's database in place of the published one."""
        publishing.publish(self._home)


# One a home, so that all steps of a turn share its connections.
_shared: dict[Path, Any] = {}


def store_of(home: Home) -> Store:
    """The store in which a home's loads last: the shared one that its settings name, else its own.

    Raises
    ------
    HomeError
        If the settings can't be used, or name no store although the home follows a shared one.
    """
    settings = read_settings(home).store
    if settings is None:
        if follows_a_store(home):
            raise HomeError(
                f"{home.root} follows a shared store that its settings do not name any more. Put "
                "back [store], or take the home out of it with 'rangeledger store leave'."
            )
        return HomeStore(home)
    from rangeledger.warehouse.stores.shared_store import SharedStore

    known = _shared.get(home.root)
    if known is None or known.settings != settings:
        if known is not None:
            known.close()
        known = _shared[home.root] = SharedStore(home, settings)
    return known


def follows_a_store(home: Home) -> bool:
    """Whether a home's lake follows a shared one."""
    return (home.lake / FOLLOWING).exists()
