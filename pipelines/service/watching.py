"""Starting and ending the service: one a home, clean at a signal."""

from __future__ import annotations

import os
import signal
import threading
import time
from logging import Logger

from rangeledger.pipelines.faults import keep_fault
from rangeledger.pipelines.loading.offered import Offered
from rangeledger.pipelines.loading.readers import Readers
from rangeledger.pipelines.reader.prepare import prepare_export
from rangeledger.pipelines.service.engine_keeper import EngineKeeper
from rangeledger.pipelines.service.health import health_pages
from rangeledger.pipelines.service.log import LogFormat, close_log, open_log
from rangeledger.pipelines.service.presence import sole_service
from rangeledger.pipelines.service.service import Rhythm, Service
from rangeledger.pipelines.spreading.cluster import cluster_of
from rangeledger.warehouse.home import Home
from rangeledger.warehouse.settings import read_settings
from rangeledger.warehouse.system.arenas import bound_arenas
from rangeledger.warehouse.system.importing import keep_imported

LOG_NAME = "service"
_TICK_S = 0.2
_GRACE_S = 5.0


def watch_inbox(
    home: Home,
    rhythm: Rhythm,
    *,
    engine_port: int | None = None,
    engine_pages: bool = False,
    quiet: bool = False,
    log_format: LogFormat = LogFormat.TEXT,
    health_port: int | None = None,
) -> None:
    """Watch a home's inbox and load what is dropped, until SIGTERM or SIGINT.

    Parameters
    ----------
    home : Home
    rhythm : Rhythm
    engine_port : int, optional
        Port of Prefect's server on the loopback address.
    engine_pages : bool
        Whether Prefect's own pages are served there.
    quiet : bool
        Whether to log to the file alone.
    log_format : LogFormat
        How the lines of the log are written.
    health_port : int, optional
        Port of the loopback address at which monitors ask.

    Raises
    ------
    BusyError
        If another process watches this home.
    """
    bound_arenas()
    with sole_service(home) as presence:
        log = open_log(home, LOG_NAME, quiet=quiet, form=log_format)
        log.info("started as process %d, watching %s", os.getpid(), home.inbox)
        engine = EngineKeeper(home, log, port=engine_port, pages=engine_pages)
        cluster = cluster_of(read_settings(home).spread)
        if cluster is not None:
            cluster.report = log.warning
        readers = Readers(home, cluster=cluster)
        service = Service(home, presence, engine, log, rhythm, readers)
        work = _Work(service)
        ended = True
        try:
            with health_pages(home, presence, health_port):
                _on_signals(service, log)
                work.start()
                ended = _wait_for_the_end(work)
        finally:
            readers.close()
            engine.stop()
            log.info("stopped" if ended else "stopped amid a load; the next start completes it")
            close_log(log)
    if not ended:
        os._exit(0)  # what holds up the work must not hold the process
    if work.fault is not None:
        raise work.fault


class _Work(threading.Thread):
    """All that the service does, in a thread: the main one waits for signals.

    Parameters
    ----------
    service : Service

    Attributes
    ----------
    fault : BaseException or None
        What ended it, if it did not end because it was told to.
    """

    def __init__(self, service: Service) -> None:
        super().__init__(name="service", daemon=True)
        self.service = service
        self.fault: BaseException | None = None

    def run(self) -> None:
        """Begin, then work until told to stop."""
        try:
            self._begin()
            self.service.run()
        except BaseException as error:  # noqa: BLE001  raised again by the main thread
            self.fault = error

    def _begin(self) -> None:
        service, began = self.service, time.monotonic()
        service.engine.start()
        if service.readers is not None:
            service.readers.warm_up()
        _complete(service.home, service.readers)
        service.log.info("ready after %.1f s", time.monotonic() - began)


def _on_signals(service: Service, log: Logger) -> None:
    def stop(number: int, _frame: object) -> None:
        log.info("told to stop (%s)", signal.Signals(number).name)
        service.stop()

    signal.signal(signal.SIGTERM, stop)
    signal.signal(signal.SIGINT, stop)
    signal.signal(signal.SIGIO, signal.SIG_IGN)  # see file_leases.open_for_writing


def _warm_up(home: Home, readers: Readers | None) -> None:
    """Import and compile what the first export would otherwise wait for, by way of a sample.

    The reading process reads it meanwhile, which warms that one too.
    """
    from rangeledger.sample_exports import sample_files

    try:
        sample = next(file for file in sample_files() if file.suffix == ".csv")
        offered, settings = Offered(sample, sample.name), read_settings(home)
        if readers is not None:
            readers.expect(settings.reading, [offered])
        from rangeledger.models.players.player_fit import fit_player
        from rangeledger.pipelines.loading import validation
        from rangeledger.pipelines.running import fitting, flow  # noqa: F401

        validation.warm_up()
        export = readers.read(settings.reading, offered).export if readers is not None else None
        shots = (export or prepare_export(sample)).shots
        validation.judge(shots)
        fit_player(shots.with_columns(excluded=False), fitting.facts_of_players(settings))
    except Exception as error:  # noqa: BLE001  what ails it shows again with the first export
        keep_fault(home, error, "warming up")


def _complete(home: Home, readers: Readers | None) -> None:
    """Warm up and complete interrupted loads, which also warms the way to the engine.

    What ails it is dealt with by the service's loop.
    """
    from rangeledger.pipelines.running import ledger
    from rangeledger.pipelines.running.account import Account

    account = Account(home)
    account.begin()
    try:
        _warm_up(home, readers)
        keep_imported()  # a load would wait while a million objects are looked through
        account.step(ledger.complete, "complete what was left")(home)
    except Exception as error:  # noqa: BLE001
        keep_fault(home, error, "starting")
    finally:
        account.end()


def _wait_for_the_end(work: _Work) -> bool:
    """Wait for the service to end; when told to stop, not for longer than a few seconds.

    Returns
    -------
    bool
        Whether it has ended.
    """
    left_s = _GRACE_S
    while work.is_alive() and left_s > 0.0:
        work.join(_TICK_S)
        if work.service.waking.stopping:
            left_s -= _TICK_S
    return not work.is_alive()
