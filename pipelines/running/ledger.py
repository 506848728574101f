"""What a user does to the ledger: ingest, fit, rebuild.

Library calls behind the commands; each takes the writer lock itself.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

from rangeledger.pipelines.loading import load
from rangeledger.pipelines.loading.offered import Offered
from rangeledger.pipelines.loading.readers import Readers
from rangeledger.pipelines.running.account import wait_for_accounts
from rangeledger.pipelines.running.batches import batches
from rangeledger.pipelines.running.exhaustion import forget_suspects, refusal, suspects
from rangeledger.pipelines.running.fit_faults import fit_faults
from rangeledger.pipelines.running.pace import Pace
from rangeledger.pipelines.running.plain_loads import load_one_by_one, refuse
from rangeledger.pipelines.running.plain_loads import load_plainly as load_plainly
from rangeledger.pipelines.spreading.cluster import cluster_of
from rangeledger.pipelines.stopwatch import step_times
from rangeledger.schemas.errors import HomeError, RangeledgerError
from rangeledger.warehouse import database, ledger_file, publishing
from rangeledger.warehouse.home import Home
from rangeledger.warehouse.lake_damage import in_words, lake_damage
from rangeledger.warehouse.settings import read_settings
from rangeledger.warehouse.stores.store import store_of

if TYPE_CHECKING:
    from rangeledger.pipelines.loading.outcome import Outcome


def ingest(
    home: Home,
    offered: Sequence[Offered],
    *,
    on_done: Callable[[str], None] | None = None,
    on_wait: Callable[[str], None] | None = None,
) -> list[Outcome]:
    """Load exports that are in the inbox, batch by batch, through the flow.

    A Prefect server must be at hand (`engine.engine`) if anything is offered. What an
    earlier load left undone is completed in any case.

    Returns
    -------
    list of Outcome
        What became of each export, in order.
    """
    outcomes: list[Outcome] = []
    pace = Pace()
    with Readers(home, cluster=cluster_of(read_settings(home).spread)) as readers:
        for batch, upcoming in batches(offered):
            finish = not upcoming or pace.is_due()
            with step_times() as steps:
                try:
                    outcomes += load_batch(
                        home, batch, finish=finish, readers=readers, upcoming=upcoming,
                        on_done=on_done, on_wait=on_wait,
                    )  # fmt: skip
                except RangeledgerError:
                    raise
                except Exception as error:  # noqa: BLE001  one export's fault must not stop others
                    outcomes += load_one_by_one(home, batch, error, readers)
                    if finish:
                        complete(home)
            if finish:
                pace.done(steps.get("fit what changed", 0.0) + steps.get("publish", 0.0))
    wait_for_accounts()
    if not offered:
        complete(home, on_wait=on_wait)
    return outcomes


def load_batch(
    home: Home,
    batch: Sequence[Offered],
    *,
    finish: bool,
    readers: Readers | None = None,
    upcoming: Sequence[Offered] = (),
    on_done: Callable[[str], None] | None = None,
    on_wait: Callable[[str], None] | None = None,
) -> list[Outcome]:
    """Load one batch through the flow, under the writer lock.

    Parameters
    ----------
    home : Home
    batch : sequence of Offered
    finish : bool
        Whether to fit and publish too.
    readers : Readers, optional
        Processes that read; without them this process does.
    upcoming : sequence of Offered
        What comes next: the processes go on with it while this batch is stored.
    on_done, on_wait : callable, optional
        Called with the name of an export that is read; with the process that is waited for.

    Returns
    -------
    list of Outcome
        What became of each export.
    """
    refused, alone = suspects(home, batch)
    if not refused and not alone:
        return _load_together(home, batch, finish, readers, upcoming, on_done, on_wait)
    outcomes = [
        outcome
        for one in batch
        if one.path in refused
        for outcome in refuse(home, one, refusal(one, refused[one.path]))
    ]
    for one in alone:
        outcomes += _load_together(home, [one], False, readers, (), on_done, on_wait)
    forget_suspects(home)
    remaining = [one for one in batch if one.path not in refused and one not in alone]
    outcomes += _load_together(home, remaining, finish, readers, upcoming, on_done, on_wait)
    return outcomes


def _load_together(
    home: Home,
    batch: Sequence[Offered],
    finish: bool,
    readers: Readers | None,
    upcoming: Sequence[Offered],
    on_done: Callable[[str], None] | None,
    on_wait: Callable[[str], None] | None,
) -> list[Outcome]:
    from rangeledger.pipelines.running.flow import load_exports

    if readers is not None:
        readers.expect(read_settings(home).reading, [*batch, *upcoming])
    with store_of(home).turn(on_wait=on_wait):
        load.recover(home)
        return load_exports(
            home, read_settings(home), batch, finish=finish, on_done=on_done, readers=readers
        )


def complete(home: Home, *, on_wait: Callable[[str], None] | None = None) -> bool:
    """Complete what an interrupted load left undone, up to the published fits.

    Returns
    -------
    bool
        Whether anything had to be fitted or published.
    """
    from rangeledger.models.population import POPULATION
    from rangeledger.pipelines.running.fitting import fit_changed

    store = store_of(home)
    with store.turn(on_wait=on_wait):
        load.recover(home)
        current = publishing.is_current(home, POPULATION.model_version, failed=fit_faults(home))
        if current and store.is_current():
            return False
        with database.open_ledger(home) as connection:
            fit_changed(home, connection, read_settings(home))
        store.publish()
    return True


def fit(
    home: Home, *, everything: bool = False, on_player: Callable[[str], None] | None = None
) -> list[str]:
    """Refit what has changed, or everything, and publish.

    Returns
    -------
    list of str
        Players that were fitted.
    """
    from rangeledger.pipelines.running.fit_exhaustion import try_again
    from rangeledger.pipelines.running.fitting import fit_changed

    settings = read_settings(home)
    with store_of(home).turn():
        load.recover(home)
        try_again(home)
        with database.open_ledger(home) as connection:
            players = fit_changed(
                home, connection, settings, everything=everything, on_player=on_player
            )
        store_of(home).publish()
    return players


def rebuild(home: Home, *, on_player: Callable[[str], None] | None = None) -> list[str]:
    """Make the database anew from the lake, fit everything and publish.

    It is built beside the former one and takes its place when it is whole.

    Returns
    -------
    list of str
        Players that were fitted.

    Raises
    ------
    HomeError
        If a file of the lake is damaged or missing; the former database stays.
    """
    from rangeledger.pipelines.running.fitting import fit_changed

    settings = read_settings(home)
    rebuilt = home.ledger.with_name("rebuilt.duckdb")
    with store_of(home).turn():
        load.recover(home)
        _refuse_damage(home)
        ledger_file.remove(rebuilt)
        try:
            with database.open_ledger(home, rebuilt) as connection:
                players = fit_changed(home, connection, settings, on_player=on_player)
            ledger_file.put_in_place(rebuilt, home.ledger)
        finally:
            ledger_file.remove(rebuilt)
        store_of(home).publish()
    return players


def _refuse_damage(home: Home) -> None:
    """Refuse to build from a lake that is not as it was written, and say which file it is."""
    damages = lake_damage(home, everything=True)
    if damages:
        raise HomeError(
            f"The lake is damaged, so nothing was rebuilt and the former database stays: "
            f"{in_words(damages)}. Run 'rangeledger heal', which reads the originals again."
        )
