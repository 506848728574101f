"""A server under test, and clients of it."""

from __future__ import annotations

import contextlib
import json
import queue
import subprocess
import sys
import threading
import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import Any

import duckdb
from rangeledger.warehouse import database, publishing
from rangeledger.warehouse.access_tokens import Access, token_hash
from rangeledger.warehouse.home import Home
from rangeledger.warehouse.serving.limits import Limits
from rangeledger.warehouse.serving.server import Orders, listen
from rangeledger.warehouse.serving.worker import extension_files

from tests.shots import make_shots
from tests.warehouse.test_database import put

TOKEN = "a-token-for-tests-only"
PATIENCE_S = 60.0


def publish(home: Home, batches: int, players: Sequence[str] = ("Ada Brook",)) -> None:
    for number in range(1, batches + 1):
        if not (home.lake / "batches" / f"{number:08d}.json").exists():
            player = players[(number - 1) % len(players)]
            put(home, number, make_shots([140.0, 150.0], player=player,
                                         source_file=f"{number:08d}" + "0" * 56))  # fmt: skip
    with database.open_ledger(home):
        pass
    publishing.publish(home)


@dataclass
class Server:
    """The server's process and what it has told."""

    process: subprocess.Popen[str]
    port: int
    events: queue.Queue[dict[str, Any]] = field(default_factory=queue.Queue)
    told: list[dict[str, Any]] = field(default_factory=list)

    def next(self, key: str) -> Any:
        """The next thing of a kind that it tells."""
        deadline = time.monotonic() + PATIENCE_S
        while True:
            event = self.events.get(timeout=max(deadline - time.monotonic(), 0.1))
            self.told.append(event)
            if key in event:
                return event[key]

    def all(self, key: str) -> list[Any]:
        """All of a kind that it has told."""
        with contextlib.suppress(queue.Empty):
            while True:
                self.told.append(self.events.get_nowait())
        return [event[key] for event in self.told if key in event]


@contextlib.contextmanager
def server(home: Home, limits: Limits | None = None, **more: str) -> Iterator[Server]:
    sockets = listen("localhost", 0)[:1]
    port = sockets[0].getsockname()[1]
    owner = Access("owner", token_hash(TOKEN), None, "")
    numbers = tuple(one.fileno() for one in sockets)
    orders = Orders(str(home.root), numbers, owner, limits=limits or Limits(), **more)
    process = subprocess.Popen(
        [sys.executable, "-m", "rangeledger.warehouse.serving.server"],
        stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True, pass_fds=numbers,
    )  # fmt: skip
    for one in sockets:
        one.close()
    assert process.stdin is not None
    process.stdin.write(orders.as_line())
    process.stdin.flush()
    running = Server(process, port)
    threading.Thread(target=_listen, args=(running,), daemon=True).start()
    assert running.next("ready")
    try:
        yield running
    finally:
        process.stdin.close()
        process.wait(timeout=PATIENCE_S)


def _listen(running: Server) -> None:
    assert running.process.stdout is not None
    for line in running.process.stdout:
        running.events.put(json.loads(line))
    running.process.stdout.close()


@contextlib.contextmanager
def client(
    port: int, token: str = TOKEN, *settings: str, options: str = ""
) -> Iterator[duckdb.DuckDBPyConnection]:
    with database_of_client() as connection:
        for setting in settings:
            connection.execute(setting)
        attach(connection, port, token, options)
        yield connection


@contextlib.contextmanager
def database_of_client() -> Iterator[duckdb.DuckDBPyConnection]:
    """What a client needs before it attaches, which is none of the server's work."""
    with duckdb.connect() as connection:
        for extension in extension_files():
            connection.execute(f"LOAD '{extension}'")
        yield connection


def attach(
    connection: duckdb.DuckDBPyConnection, port: int, token: str = TOKEN, options: str = ""
) -> None:
    quoted = token.replace("'", "''")
    connection.execute(f"CREATE SECRET (TYPE quack, TOKEN '{quoted}')")
    connection.execute(f"ATTACH 'quack:localhost:{port}' AS range_home{options}")


def ask(connection: duckdb.DuckDBPyConnection, sql: str) -> list[tuple[object, ...]]:
    return connection.execute("FROM quack_query_by_name('range_home', ?)", [sql]).fetchall()
