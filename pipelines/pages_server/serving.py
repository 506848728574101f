"""Runs the pages until they are stopped, with a watcher of the inbox beside them."""

from __future__ import annotations

import ipaddress
import logging
import os
import signal
import socket
import subprocess
import sys
import threading
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import uvicorn
from rangeledger.pipelines.pages_server.access.entry import Entry
from rangeledger.pipelines.pages_server.access.guard import Doors
from rangeledger.pipelines.pages_server.app import make_app
from rangeledger.pipelines.pages_server.login_pages import ENTER
from rangeledger.pipelines.pages_server.shared.site import Site
from rangeledger.pipelines.service.backoff import Backoff
from rangeledger.pipelines.service.log import close_log, open_log
from rangeledger.pipelines.service.presence import PAGES, service_of, sole_service, write_presence
from rangeledger.schemas.errors import HomeError, UsageError
from rangeledger.warehouse.home import Home

if TYPE_CHECKING:
    from collections.abc import Callable
    from logging import Logger

# An address for documentation (RFC 5737), beyond every private network.
_NOBODY = "192.0.2.1"
LOCAL = ("localhost", "127.0.0.1", "::1")
_TICK_S = 0.5
_WATCH_ENDS_S = 8.0
# More callers at once are told to come again: a coach, some phones and their tabs are far fewer.
_MOST_CALLERS = 400
# Callers that wait to be taken; the system bounds it anyway.
_QUEUE = 2048


@dataclass(frozen=True, slots=True)
class ServerOptions:
    """Where and how to serve.

    Parameters
    ----------
    host : str
        Address to listen on.
    port : int
        Port.
    lan : bool
        Whether other devices of the range's own network may call.
    certificate, key : pathlib.Path or None
        Files for TLS.
    names : tuple of str
        More names by which the pages are called.
    upload_mib : int
        Largest upload [MiB].
    watch : bool
        Whether to watch the inbox where nobody does.
    """

    host: str = "127.0.0.1"
    port: int = 8642
    lan: bool = False
    certificate: Path | None = None
    key: Path | None = None
    names: tuple[str, ...] = ()
    upload_mib: int = 256
    watch: bool = True


def serve_pages(home: Home, options: ServerOptions, print_line: Callable[[str], None]) -> None:
    """Serve a home's pages until SIGTERM or SIGINT.

    Parameters
    ----------
    home : Home
    options : ServerOptions
    print_line : callable
        Tells the user a line.

    Raises
    ------
    UsageError
        If the address would let in more than was asked for.
    HomeError
        If the port is taken.
    """
    _refuse_unsafe(options)
    if running := service_of(home, PAGES):
        _print_address(home, running.address, print_line)
        return
    listening = _listen(options)
    with sole_service(home, PAGES) as presence:
        log = open_log(home, PAGES, quiet=True)
        site = Site(home, secure=options.certificate is not None)
        watcher = Watcher(home, log) if options.watch else None
        try:
            presence.address, presence.doing = address_of(options, listening), "serving"
            write_presence(home, presence, PAGES)
            log.info("started as process %d at %s", os.getpid(), presence.address)
            _print_address(home, presence.address, print_line)
            _warn(options, print_line)
            _run(site, options, listening)
        finally:
            if watcher is not None:
                watcher.stop()
            site.errands.stop()
            site.publications.close()
            log.info("stopped")
            close_log(log)


def _refuse_unsafe(options: ServerOptions) -> None:
    if (options.certificate is None) != (options.key is None):
        raise UsageError("TLS needs two files: --tls-certificate and --tls-key.")
    for file in (options.certificate, options.key):
        if file is not None and not file.is_file():
            raise UsageError(f"There is no file {file}. Check the path.")
    if options.host not in LOCAL and not options.lan and options.certificate is None:
        raise UsageError(
            f"--host {options.host} would let other machines in. Add --lan for devices of the "
            "range's own network, or --tls-certificate and --tls-key for anything wider."
        )


def lan_address() -> str:
    """Address of the machine on its private network.

    Raises
    ------
    UsageError
        If it has none.
    """
    found = _own_address()
    if found:
        address = ipaddress.ip_address(found)
        if address.is_private and not address.is_loopback:
            return found
    raise UsageError(
        "This machine has no address of a private network, so --lan has nothing to listen on. "
        "Name one with --host."
    )


def _own_address() -> str:
    """Address from which this machine would call another; empty where there is no network."""
    probe = socket.socket(socket.AF_INET, socket.SOCK_DGRAM)
    try:
        probe.connect((_NOBODY, 9))  # a socket for datagrams: nothing is sent
        return str(probe.getsockname()[0])
    except OSError:
        return ""
    finally:
        probe.close()


def _host_of(options: ServerOptions) -> str:
    return lan_address() if options.lan and options.host in LOCAL else options.host


def _listen(options: ServerOptions) -> socket.socket:
    host = _host_of(options)
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    listening = socket.socket(family, socket.SOCK_STREAM)
    listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listening.bind((host, options.port))
        listening.listen(_QUEUE)  # from here on a browser waits rather than being refused
    except OSError as error:
        listening.close()
        raise HomeError(
            f"Port {options.port} of {host} can't be used ({error.strerror}). Name another with "
            "--port."
        ) from error
    return listening


def address_of(options: ServerOptions, listening: socket.socket) -> str:
    """Address of the pages, as a browser takes it."""
    host, port = listening.getsockname()[:2]
    scheme = "https" if options.certificate else "http"
    if options.names:
        host = options.names[0]
    return f"{scheme}://{f'[{host}]' if ':' in host else host}:{port}"


def _print_address(home: Home, address: str, print_line: Callable[[str], None]) -> None:
    print_line(f"Open {address}{ENTER}?key={Entry(home).new_key()}")
    print_line("The key opens once; run 'rangeledger pages' again for another one.")


def _warn(options: ServerOptions, print_line: Callable[[str], None]) -> None:
    if options.lan and options.certificate is None:
        print_line(
            "Devices of this network can call, and others on it could listen: nothing is encrypted "
            "on the way. Use it on a network that you trust; for anything wider give certificate "
            "files."
        )


def _run(site: Site, options: ServerOptions, listening: socket.socket) -> None:
    host = listening.getsockname()[0]
    hosts = frozenset(name.lower() for name in (*LOCAL, host, *options.names))
    private = options.certificate is None
    app = make_app(site, Doors(hosts, private, options.upload_mib << 20))
    # uvicorn would print each fault's traceback; faults are kept in the home's own log.
    logging.getLogger("uvicorn.error").setLevel(logging.CRITICAL)
    config = uvicorn.Config(
        app, log_config=None, access_log=False, server_header=False, lifespan="off",
        proxy_headers=False, limit_concurrency=_MOST_CALLERS, timeout_keep_alive=5,
        timeout_graceful_shutdown=3, ssl_certfile=options.certificate, ssl_keyfile=options.key,
    )  # fmt: skip
    # uvicorn ends by itself on these signals, then sends them once more to whoever handled them
    # before: by default that would end the process here, with the watcher still running.
    for number in (signal.SIGTERM, signal.SIGINT):
        signal.signal(number, lambda *_: None)
    uvicorn.Server(config).run(sockets=[listening])


class Watcher:
    """Keeps `rangeledger watch` running beside the pages where nobody else watches.

    Parameters
    ----------
    home : Home
    log : logging.Logger
    """

    def __init__(self, home: Home, log: Logger) -> None:
        self._home, self._log = home, log
        self._stop = threading.Event()
        self._process: subprocess.Popen[bytes] | None = None
        self._thread = threading.Thread(target=self._keep, name="watcher", daemon=True)
        self._thread.start()

    def stop(self) -> None:
        """End the watcher that was started here; one that ran before goes on."""
        self._stop.set()
        self._thread.join(timeout=2 * _TICK_S)
        if self._process is None or self._process.poll() is not None:
            return
        self._process.send_signal(signal.SIGTERM)
        try:
            self._process.wait(timeout=_WATCH_ENDS_S)
        except subprocess.TimeoutExpired:
            self._process.kill()
            self._process.wait()

    def _keep(self) -> None:
        backoff = Backoff()
        while not self._stop.is_set():
            ended = self._process is None or self._process.poll() is not None
            if ended and service_of(self._home) is None:
                if self._process is not None:
                    self._log.warning("the watcher had ended and is started again")
                    self._stop.wait(backoff.next_s())
                if not self._stop.is_set():
                    self._start()
            self._stop.wait(_TICK_S)

    def _start(self) -> None:
        """Start it in a session of its own: an interrupt of the terminal is for the pages."""
        words = ["--home", str(self._home.root), "watch", "--quiet"]
        self._process = subprocess.Popen(
            [sys.executable, "-m", "rangeledger", *words],
            stdin=subprocess.DEVNULL,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            start_new_session=True,
        )
        self._log.info("started a watcher of the inbox as process %d", self._process.pid)
