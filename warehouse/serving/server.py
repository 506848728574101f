"""The process that serves SQL over the network; `pipelines.service.serving` keeps it running.

Run as `python -m rangeledger.warehouse.serving.server`. It reads its orders as one line of JSON
from standard input, tells what happens as lines of JSON on standard output, and ends when standard
input closes. The port is opened by its parent, which hands it on and keeps it over restarts.
"""

from __future__ import annotations

import asyncio
import contextlib
import json
import os
import socket
import ssl
import sys
import threading
from dataclasses import asdict, dataclass, field
from pathlib import Path
from typing import Any

from rangeledger.schemas.errors import HomeError
from rangeledger.warehouse.access_tokens import Access, access_file, read_access
from rangeledger.warehouse.home import Home
from rangeledger.warehouse.serving import limits as bounds
from rangeledger.warehouse.serving.front import Front
from rangeledger.warehouse.serving.limits import Limits
from rangeledger.warehouse.serving.pool import Pool
from rangeledger.warehouse.serving.workers import NoWorkerError

# Exit codes that the keeper knows.
START_ANEW, CAN_NOT_START = 76, 77
_POLL_S = 0.1
_HANDSHAKE_S = 10.0
_BACKLOG = 256


@dataclass(frozen=True, slots=True)
class Orders:
    """What to serve, where, and within which limits.

    Attributes
    ----------
    home : str
    descriptors : tuple of int
        The sockets that listen, opened by the parent.
    owner : Access or None
        The owner's own token, which is none of the named ones.
    certificate, key : str
        Files for TLS; empty for none.
    limits : Limits
    """

    home: str
    descriptors: tuple[int, ...]
    owner: Access | None
    certificate: str = ""
    key: str = ""
    limits: Limits = field(default_factory=Limits)

    def as_line(self) -> str:
        """The orders as one line for the process's standard input."""
        return json.dumps(asdict(self)) + "\n"


def listen(host: str, port: int) -> list[socket.socket]:
    """Sockets that listen at each address of a host.

    Raises
    ------
    HomeError
        If an address is taken or is none of this machine's.
    """
    sockets: list[socket.socket] = []
    try:
        places = socket.getaddrinfo(host, port, type=socket.SOCK_STREAM)
        for family, kind, protocol, _, place in dict.fromkeys(places):
            if family == socket.AF_INET6 and not socket.has_ipv6:
                continue
            found = socket.socket(family, kind, protocol)
            sockets.append(found)
            found.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            if family == socket.AF_INET6:
                found.setsockopt(socket.IPPROTO_IPV6, socket.IPV6_V6ONLY, 1)
            found.bind(place)
            found.listen(_BACKLOG)
    except OSError as error:
        for opened in sockets:
            opened.close()
        raise HomeError(
            f"The server can't listen at {host}:{port} ({error.strerror}). "
            "Name another --port or --host, or stop the program that has it."
        ) from error
    return sockets


def read_orders(line: str) -> Orders:
    """Orders from a line of standard input."""
    raw = json.loads(line)
    owner = raw["owner"]
    return Orders(
        raw["home"], tuple(raw["descriptors"]),
        None if owner is None else Access(**owner), raw["certificate"], raw["key"],
        Limits(**raw["limits"]),
    )  # fmt: skip


class Tokens:
    """The tokens that are let in now; the file is read again when it changes."""

    def __init__(self, home: Home, owner: Access | None) -> None:
        self._home, self._owner = home, owner
        self._stamp: tuple[int, int] | None = None
        self._stored: tuple[Access, ...] = ()

    def __call__(self) -> tuple[Access, ...]:
        """Named tokens and the owner's."""
        try:
            found = access_file(self._home).stat()
            stamp = (found.st_ino, found.st_mtime_ns)
        except OSError:
            stamp = (0, 0)
        if stamp != self._stamp:
            self._read(stamp)
        return self._stored if self._owner is None else (*self._stored, self._owner)

    def _read(self, stamp: tuple[int, int]) -> None:
        self._stamp = stamp
        try:
            self._stored = read_access(self._home)
        except HomeError as error:
            self._stored = ()
            report(problem=str(error))


async def serve(orders: Orders) -> int:
    """Serve until told to end; returns the exit code of the process."""
    pool = Pool(Home(Path(orders.home)), orders.limits, report)
    try:
        context = tls_context(orders.certificate, orders.key)
        await pool.start()
    except (NoWorkerError, HomeError) as error:
        report(problem=str(error))
        return CAN_NOT_START
    front = Front(pool, orders.limits, Tokens(Home(Path(orders.home)), orders.owner), report)
    async with contextlib.AsyncExitStack() as servers:
        for descriptor in orders.descriptors:
            listening = await asyncio.start_server(
                front.meet, sock=socket.socket(fileno=descriptor), limit=bounds.MOST_HEAD_BYTES,
                ssl=context, ssl_handshake_timeout=_HANDSHAKE_S if context else None,
                backlog=_BACKLOG,
            )  # fmt: skip
            await servers.enter_async_context(listening)
        report(ready=True)
        while not pool.nursery_ended:
            await asyncio.sleep(_POLL_S)
            pool.supervise()
            front.supervise()
    report(problem="The process that starts workers ended; serving starts anew.")
    return START_ANEW


def tls_context(certificate: str, key: str) -> ssl.SSLContext | None:
    """Settings for TLS from the files of a certificate; None where none is named.

    Raises
    ------
    HomeError
        If the files can't be used.
    """
    if not certificate:
        return None
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    context.minimum_version = ssl.TLSVersion.TLSv1_2
    try:
        context.load_cert_chain(certificate, key or None, password=_no_password)
    except (OSError, ssl.SSLError) as error:
        raise HomeError(
            f"The certificate {certificate} can't be used ({error.strerror or error}). Name a "
            "certificate in PEM form with --tls-certificate and its key, without a password, with "
            "--tls-key."
        ) from error
    return context


def _no_password() -> str:
    """A key with a password is refused; nobody is there to type it."""
    return ""


def report(**event: Any) -> None:
    """Tell the parent something, as a line of JSON."""
    os.write(1, (json.dumps(event) + "\n").encode())


def _end_with_parent() -> None:
    while os.read(0, 4096):
        pass
    os._exit(0)


def main() -> None:
    """Serve by the orders on standard input until it closes."""
    orders = read_orders(sys.stdin.readline())
    threading.Thread(target=_end_with_parent, daemon=True).start()
    os._exit(asyncio.run(serve(orders)))


if __name__ == "__main__":
    main()
