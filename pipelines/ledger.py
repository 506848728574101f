"""What a user does to the ledger: ingest, fit, rebuild, set sessions aside.

Library calls behind the commands; each takes the writer lock itself.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

from pipelines import inbox, load
from pipelines.inbox import Offered
from schemas.errors import UsageError
from warehouse import database, lake
from warehouse.home import Home, read_settings
from warehouse.writer_lock import writer_lock

if TYPE_CHECKING:
    from pipelines.load import Outcome

# A batch is bounded so that memory is; one publish and one fit serve all of it.
BATCH_FILES = 64
BATCH_BYTES = 256 * 2**20


def ingest(
    home: Home,
    offered: Sequence[Offered],
    *,
    on_done: Callable[[str], None] | None = None,
    on_wait: Callable[[str], None] | None = None,
) -> list[Outcome]:
    """Load exports that are in the inbox, batch by batch, through the flow.

    A Prefect server must be at hand (`pipelines.engine.engine`).

    Returns
    -------
    list of Outcome
        What became of each export, in order.
    """
    from pipelines.engine import wait_for_engine
    from pipelines.flow import load_exports

    settings = read_settings(home)
    outcomes: list[Outcome] = []
    for batch in inbox.chunks(offered, BATCH_FILES, BATCH_BYTES):
        wait_for_engine()
        with writer_lock(home, on_wait=on_wait):
            load.recover(home)
            outcomes += load_exports(home, settings, batch, on_done)
    return outcomes


def fit(
    home: Home, *, everything: bool = False, on_player: Callable[[str], None] | None = None
) -> list[str]:
    """Refit what has changed, or everything, and publish.

    Returns
    -------
    list of str
        Players that were fitted.
    """
    from pipelines.fitting import fit_changed

    settings = read_settings(home)
    with writer_lock(home):
        load.recover(home)
        with database.open_ledger(home) as connection:
            players = fit_changed(connection, settings, everything=everything, on_player=on_player)
        database.publish(home)
    return players


def rebuild(home: Home, *, on_player: Callable[[str], None] | None = None) -> list[str]:
    """Make the database anew from the lake, fit everything and publish.

    Returns
    -------
    list of str
        Players that were fitted.
    """
    from pipelines.fitting import fit_changed

    settings = read_settings(home)
    with writer_lock(home):
        load.recover(home)
        database.remove_database(home.ledger)
        with database.open_ledger(home) as connection:
            players = fit_changed(connection, settings, on_player=on_player)
        database.publish(home)
    return players


def decide(home: Home, session_id: str, *, excluded: bool, why: str = "") -> list[str]:
    """Leave a session out of the fits, or take it back; its shots stay as they are.

    Raises
    ------
    UsageError
        If there is no such session.
    """
    with writer_lock(home), database.open_ledger(home) as connection:
        known = connection.execute(
            "SELECT 1 FROM ledger.shots WHERE session_id = ? LIMIT 1", [session_id]
        ).fetchone()
        if known is None:
            raise UsageError(
                f"There is no session {session_id}. "
                "The view sessions lists them with player and start."
            )
        decided_at = datetime.now(UTC).replace(tzinfo=None).isoformat(timespec="milliseconds")
        lake.write_decision(
            home,
            {
                "session_id": session_id,
                "excluded": excluded,
                "why": why,
                "decided_at": decided_at,
            },
        )
    return fit(home)


def offer_paths(home: Home, paths: Sequence[Path]) -> tuple[list[Offered], list[Path]]:
    """Bring named files and folders into the inbox; without names take what waits there."""
    if paths:
        return inbox.gather(home, paths)
    return inbox.waiting(home), []
