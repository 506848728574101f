"""Refitting the players whose shots, decisions or models have changed, a few at a time."""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from contextlib import suppress
from typing import TYPE_CHECKING

import polars as pl
from rangeledger.models.players.player_fit import PlayerFacts, fit_player
from rangeledger.pipelines.faults import keep_fault
from rangeledger.pipelines.running import fit_exhaustion
from rangeledger.pipelines.running.fit_exhaustion import FitWatch
from rangeledger.pipelines.running.fit_faults import leave_fit_faults
from rangeledger.pipelines.running.fits_beside import FitsBeside, fits_beside
from rangeledger.pipelines.spreading.cluster import Cluster, NotHereError, cluster_of
from rangeledger.warehouse import database
from rangeledger.warehouse.stores.store import store_of

if TYPE_CHECKING:
    from duckdb import DuckDBPyConnection
    from rangeledger.warehouse.home import Home
    from rangeledger.warehouse.settings import Settings

Fits = dict[str, pl.DataFrame]
# The heavy part of a fit leaves the interpreter free, so that two use two processors.
_TOGETHER = 2
_MANY_SHOTS = 200_000  # of one player: the memory for their fit is not asked for twice
_FAR_S = 600.0


def fit_changed(
    home: Home,
    connection: DuckDBPyConnection,
    settings: Settings,
    *,
    everything: bool = False,
    on_player: Callable[[str], None] | None = None,
) -> list[str]:
    """Refit the players whose shots, decisions or models have changed.

    A player whose fit fails keeps the earlier one; the fault is kept, told in `status`, and the
    others go on. So does one whose fit exhausted the machine before (`fit_exhaustion.py`).

    Returns
    -------
    list of str
        Players that were fitted, sorted.
    """
    from rangeledger.models.population import POPULATION

    version = POPULATION.model_version
    if not everything:
        store_of(home).adopt_fits(connection, version)
    players = database.unfitted_players(connection, "" if everything else version)
    faults, watch = _given_up(home, connection, version), FitWatch(home)
    left = [player for player in players if player not in faults]
    alone = [player for player in left if player in fit_exhaustion.suspects(home)[1]]
    together = [player for player in left if player not in alone]
    fitted = []
    with watch.watching():
        for group in [*([player] for player in alone), together]:
            for player, fits in _fits_of(connection, settings, group, on_player, watch):
                try:
                    _replace(connection, player, fits, version)
                    fitted.append(player)
                except _FitError as failed:
                    keep_fault(home, failed.fault, f"fitting {player}")
                    faults[player] = type(failed.fault).__name__
                watch.done(player)
    fit_exhaustion.forget_suspects(home)
    leave_fit_faults(home, faults)
    return sorted(fitted)


def _given_up(home: Home, connection: DuckDBPyConnection, version: str) -> dict[str, str]:
    """Players whose fits exhaust the machine; one that was alone when it did is one from now on."""
    made_from = {
        player: (fingerprint, version)
        for player, fingerprint in database.fingerprints(connection).items()
    }
    why, suspects = fit_exhaustion.suspects(home)
    if len(suspects) == 1 and suspects[0] in made_from:
        fit_exhaustion.give_up(home, suspects[0], why, made_from[suspects[0]])
        cause = RuntimeError(f"the fit {fit_exhaustion.in_words(why)} and ended the process")
        keep_fault(home, cause, f"fitting {suspects[0]}")
    return fit_exhaustion.given_up(home, made_from)


class _FitError(Exception):
    """A player's fit failed, for a reason of its own."""

    def __init__(self, fault: Exception) -> None:
        super().__init__(str(fault))
        self.fault = fault


def _fits_of(
    connection: DuckDBPyConnection,
    settings: Settings,
    players: Sequence[str],
    on_player: Callable[[str], None] | None,
    watch: FitWatch,
) -> Iterator[tuple[str, Future[Fits]]]:
    """Fit players, a few at a time; the database is asked by this thread alone."""
    facts, cluster = facts_of_players(settings), cluster_of(settings.spread)
    beside = fits_beside()  # threads of the pool do not know of it by themselves
    together = cluster.places() if cluster is not None and cluster.is_there() else _TOGETHER
    begun: deque[tuple[str, Future[Fits]]] = deque()
    with ThreadPoolExecutor(together, thread_name_prefix="fit") as pool:
        for player in players:
            if on_player is not None:
                on_player(player)
            shots = database.player_shots(connection, player)
            if shots.is_empty():  # they are another player's, or in no export any more
                database.drop_fits(connection, player)
                continue
            watch.begun(player, shots.height)
            begun.append((player, pool.submit(_fit, cluster, beside, shots, facts)))
            while len(begun) > (together if shots.height < _MANY_SHOTS else 0):
                yield begun.popleft()
        yield from begun


def _fit(
    cluster: Cluster | None, beside: FitsBeside | None, shots: pl.DataFrame, facts: PlayerFacts
) -> Fits:
    """Fit a player by a worker if there are any, else here; a fault is met here in any case."""
    if cluster is not None:
        with suppress(NotHereError):
            return cluster.begin(fit_player, shots, facts).answer(_FAR_S)
    if beside is not None and (fits := beside.fit(shots, facts)) is not None:
        return fits
    return fit_player(shots, facts)


def _replace(
    connection: DuckDBPyConnection,
    player: str,
    fits: Future[Fits],
    version: str,
) -> None:
    """Put a player's fits in place; what the disk or the database refuses is no fault of a fit."""
    import duckdb

    try:
        database.replace_fits(connection, player, fits.result(), version)
    except (duckdb.OperationalError, duckdb.InternalError, duckdb.FatalException, OSError):
        raise
    except Exception as error:
        raise _FitError(error) from error


def facts_of_players(settings: Settings) -> PlayerFacts:
    """What the settings of a home say of players, as the models take it."""
    handicaps = {
        name: player.handicap
        for name, player in settings.players.items()
        if player.handicap is not None
    }
    dates = {name: player.dates for name, player in settings.players.items() if player.dates}
    return PlayerFacts(settings.hands, handicaps, dates)
