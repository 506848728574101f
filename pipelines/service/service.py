"""The loop of the service: see what rests in the inbox, load it, survive what goes wrong."""

from __future__ import annotations

import os
import time
from collections.abc import Sequence
from dataclasses import dataclass
from logging import Logger

from rangeledger.pipelines.faults import keep_fault
from rangeledger.pipelines.loading import growing_files, inbox, staging
from rangeledger.pipelines.loading.offered import Offered
from rangeledger.pipelines.loading.outcome import Outcome
from rangeledger.pipelines.loading.readers import Readers
from rangeledger.pipelines.loading.result import Result
from rangeledger.pipelines.running import ledger
from rangeledger.pipelines.running.account import wait_for_accounts
from rangeledger.pipelines.running.batches import MOST_BYTES, MOST_FILES, batches
from rangeledger.pipelines.running.fit_faults import in_a_sentence
from rangeledger.pipelines.running.pace import Pace
from rangeledger.pipelines.running.plain_loads import load_one_by_one
from rangeledger.pipelines.service.backoff import Backoff
from rangeledger.pipelines.service.engine_keeper import EngineKeeper
from rangeledger.pipelines.service.handing_over import forget_requests, serve_requests
from rangeledger.pipelines.service.presence import Presence, write_presence
from rangeledger.pipelines.service.reporting import report_outcomes, report_restless
from rangeledger.pipelines.service.settling import Settled, Settling
from rangeledger.pipelines.service.waking import Waking
from rangeledger.pipelines.stopwatch import in_words, step_times
from rangeledger.schemas.errors import BusyError, RangeledgerError, StorageError
from rangeledger.warehouse.home import Home
from rangeledger.warehouse.writer_lock import writer_lock

_RESTLESS_S = 60.0
_LEFT_S = 5.0
# Several files that are dropped together, a note with its export, come within this time [s].
SETTLE_S = 0.1


@dataclass(frozen=True, slots=True)
class Rhythm:
    """Times of the service.

    Attributes
    ----------
    settle_s : float
        How long [s] an export must rest before it is taken.
    rescan_s : float
        How often [s] the inbox is looked through even if nothing was heard.
    """

    settle_s: float = SETTLE_S
    rescan_s: float = 15.0


class Service:
    """Loads what comes to rest in a home's inbox until it is told to stop.

    Parameters
    ----------
    home : Home
    presence : Presence
        Its word to other processes.
    engine : EngineKeeper
    log : logging.Logger
    rhythm : Rhythm
    readers : Readers, optional
        Processes that read; without them the service does.
    """

    def __init__(
        self,
        home: Home,
        presence: Presence,
        engine: EngineKeeper,
        log: Logger,
        rhythm: Rhythm = Rhythm(),
        readers: Readers | None = None,
    ) -> None:
        self.home, self.presence, self.engine, self.log = home, presence, engine, log
        self.rhythm, self.readers = rhythm, readers
        self.waking = Waking(home.inbox)
        self.settling = Settling(rhythm.settle_s, self.waking.arrivals.of)
        self.backoff = Backoff()
        self._unfinished = True
        self._reported: set[str] = set()
        self._reported_fits = ""

    def run(self) -> None:
        """Work until told to stop."""
        forget_requests(self.home)
        self.waking.start()
        while not self.waking.stopping:
            try:
                self._turn()
            except RangeledgerError as error:
                self._trouble(str(error), retryable=error.retryable)
            except Exception as error:  # noqa: BLE001  the service outlives its own faults
                keep_fault(self.home, error, "watching")
                self._trouble(f"The service met a fault of its own: {error!r:.200}", retryable=True)
        self.waking.close()
        wait_for_accounts(1.0)
        self._set_status("stopping")

    def stop(self) -> None:
        """Tell the service to stop; it stores what it has read and leaves the rest for later."""
        self.waking.stop()
        if self.readers is not None:
            self.readers.abandon("The service was told to stop; it is taken at the next start.")

    def _turn(self) -> None:
        """Load what rests, then wait for more."""
        if self._unfinished:
            ledger.complete(self.home)
            self._unfinished = False
        serve_requests(self.home, self._requested)
        settled = self.settling.ready(inbox.lying(self.home))
        ready = self._to_load(settled)
        if ready:
            self._drain(ready)
            return
        self._set_status("watching")
        report_restless(self.log, self.settling.restless(_RESTLESS_S), self._reported)
        pause = self.rhythm.rescan_s
        if self.settling.recheck_s is not None:
            pause = min(pause, self.settling.recheck_s + 0.005)
        if self.waking.wait(pause) or self.settling.recheck_s is not None:
            return
        self._unfinished = True  # nothing happened for a while: see that nothing is left undone

    def _to_load(self, settled: Settled) -> list[Offered]:
        """Exports that are to be loaded now: themselves, or copies of those that may still grow."""
        if not settled.complete and not settled.maybe_growing:
            return []
        loaded = growing_files.unchanged(self.home)
        if loaded:
            with writer_lock(self.home):
                growing_files.clear(self.home, (one.path for one in settled.complete))
        ready = [one for one in settled.complete if one.path not in loaded]
        return [
            *ready,
            *self._copies([one for one in settled.maybe_growing if one.path not in loaded]),
        ]

    def _copies(self, maybe_growing: Sequence[Offered]) -> list[Offered]:
        """Copies of exports that may still grow, noted as such."""
        staging.give_up_growing(self.home)
        copies = []
        for one in maybe_growing:
            self.settling.tried(one.path)
            try:
                copies.append(staging.copied_while_it_may_grow(self.home, one))
            except StorageError:
                if os.path.lexists(one.path):  # else it went meanwhile
                    raise
        if copies:
            growing_files.note(self.home, copies)
        return copies

    def _drain(self, ready: Sequence[Offered]) -> None:
        """Load all that rests, batch by batch; fit and publish with the last and now and then."""
        self._set_status("loading")
        pace = Pace()
        for batch, upcoming in batches(ready):
            finish = not upcoming or pace.is_due()
            self._unfinished = True
            began = time.monotonic()
            with step_times() as steps:
                self._load(batch, upcoming, finish=finish)
            if finish and "publish" in steps:
                self._unfinished = False
                pace.done(steps.get("fit what changed", 0.0) + steps.get("publish", 0.0))
                self._report_fits()
            seconds = time.monotonic() - began
            self.log.info("batch of %d in %.2f s: %s", len(batch), seconds, in_words(steps))
            self._recovered()
            if self.waking.stopping:
                return
            serve_requests(self.home, self._requested)

    def _requested(self, offered: list[Offered]) -> list[Result]:
        """Load what a command has handed over, up to the published fits."""
        self._set_status("loading")
        outcomes: list[Outcome] = []
        parts = list(inbox.chunks(offered, MOST_FILES, MOST_BYTES))
        for number, part in enumerate(parts, start=1):
            outcomes += self._load(part, (), finish=number == len(parts))
        return [Result.of(outcome) for outcome in outcomes]

    def _report_fits(self) -> None:
        """Log once of players whose fits failed."""
        failed = in_a_sentence(self.home)
        if failed and failed != self._reported_fits:
            self.log.error("%s", failed)
        self._reported_fits = failed

    def _load(
        self, batch: Sequence[Offered], upcoming: Sequence[Offered], *, finish: bool
    ) -> list[Outcome]:
        try:
            outcomes = ledger.load_batch(
                self.home, batch, finish=finish, readers=self.readers, upcoming=upcoming
            )
        except RangeledgerError:
            raise
        except Exception as error:
            if self.engine.had_ended():
                raise BusyError("The flow engine had ended; it is started again.") from error
            outcomes = load_one_by_one(self.home, batch, error, self.readers)
        self._report(outcomes)
        return outcomes

    def _report(self, outcomes: Sequence[Outcome]) -> None:
        report_outcomes(self.log, outcomes)
        self.presence.loaded += sum(not o.left for o in outcomes)
        for outcome in outcomes:
            if outcome.left and outcome.offered.may_grow is not None:
                staging.give_up(self.home, outcome.offered.path)
            elif outcome.left:
                self.settling.postpone(outcome.offered.path, _LEFT_S)

    def _trouble(self, sentence: str, *, retryable: bool) -> None:
        """Tell what is wrong once, and pause: ever longer where trying again can help."""
        if sentence != self.presence.problem:
            self.log.error("%s", sentence)
        self.presence.problem = sentence
        self._set_status("waiting")
        self._unfinished = True
        self.waking.pause(self.backoff.next_s() if retryable else self.rhythm.rescan_s)

    def _recovered(self) -> None:
        self.backoff.reset()
        if self.presence.problem:
            self.log.info("working again")
            self.presence.problem = ""

    def _set_status(self, doing: str) -> None:
        if self.presence.doing != doing or doing == "loading":
            self.presence.doing = doing
            write_presence(self.home, self.presence)
