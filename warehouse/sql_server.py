"""The process that serves SQL over the network; `pipelines.service.serving` keeps it running.

Run as `python -m rangeledger.warehouse.sql_server`. It reads its orders as one line of JSON from
standard input, tells what happens as lines of JSON on standard output, and ends when
standard input closes.
"""

from __future__ import annotations

import importlib.util
import json
import os
import resource
import socket
import sys
import threading
import time
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

from rangeledger.schemas.errors import HomeError, RangeledgerError
from rangeledger.warehouse.home import Home
from rangeledger.warehouse.runaways import Runaways
from rangeledger.warehouse.served_database import ServedDatabase

# Exit codes that the keeper knows.
STATEMENT_TOO_LONG, START_ANEW, CAN_NOT_START = 75, 76, 77
_LOOK_S = 0.25
_CROWD = 4
_CROWDED_S = 5.0
# Address space beyond the memory that queries may use: the program, its threads, and buffers.
_BASE_BYTES = 6 * 2**30
_EXTENSIONS = {
    "httpfs": "duckdb_extension_httpfs",
    "quack": "duckdb_extension_quack",
}


@dataclass(frozen=True, slots=True)
class Orders:
    """What to serve, where, and within which limits."""

    home: str
    host: str
    port: int
    token: str
    memory_mib: int
    statement_limit_s: float

    def as_line(self) -> str:
        """The orders as one line for the process's standard input."""
        return json.dumps(asdict(self)) + "\n"


def extension_files() -> list[Path]:
    """Files of the database extensions that serving needs, in loading order.

    Raises
    ------
    HomeError
        If they are not installed.
    """
    files = []
    for name, package in _EXTENSIONS.items():
        spec = importlib.util.find_spec(package)
        folders = spec.submodule_search_locations if spec else None
        found = (
            sorted(Path(next(iter(folders))).rglob(f"{name}.duckdb_extension")) if folders else []
        )
        if not found:
            raise HomeError(
                "Serving over the network needs an addition: pip install 'rangeledger[network]'"
            )
        files.append(found[-1])
    return files


def serve(orders: Orders) -> int:
    """Serve until told to end; returns the exit code of the process."""
    home = Home(Path(orders.home))
    try:
        served = ServedDatabase(home, extension_files(), orders.memory_mib)
        _listen(served, orders)
        served.lock()
    except RangeledgerError as error:
        return _tell(CAN_NOT_START, problem=str(error))
    except Exception as error:  # noqa: BLE001  whatever the database says is told in a sentence
        sentence = str(error).strip().splitlines()[0].replace(orders.token, "...")
        return _tell(CAN_NOT_START, problem=f"The server can't start: {sentence}")
    _tell(0, ready=f"{orders.host}:{orders.port}")
    return _look_after(served, orders)


def _listen(served: ServedDatabase, orders: Orders) -> None:
    _check_port(orders)
    away = orders.host not in ("localhost", "127.0.0.1", "::1")
    served.connection.execute(
        "CALL quack_serve($uri, token = $token, allow_other_hostname = $away)",
        {"uri": f"quack:{orders.host}:{orders.port}", "token": orders.token, "away": away},
    )


def _check_port(orders: Orders) -> None:
    """Refuse a port that is taken; the server itself would share it with the other program."""
    try:
        places = socket.getaddrinfo(orders.host, orders.port, type=socket.SOCK_STREAM)
        for family, kind, protocol, _, place in places:
            with socket.socket(family, kind, protocol) as probe:
                probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
                probe.bind(place)
    except OSError as error:
        raise HomeError(
            f"The server can't listen at {orders.host}:{orders.port} ({error.strerror}). "
            "Name another --port or --host, or stop the program that has it."
        ) from error


def _look_after(served: ServedDatabase, orders: Orders) -> int:
    """Follow publications and end the process when a statement does not end."""
    runaways = Runaways()
    looked, told = time.monotonic(), ""
    while True:
        time.sleep(_LOOK_S)
        try:
            if served.follow():
                _tell(0, following="a new publication is served")
            told = ""
        except HomeError as error:
            return _tell(START_ANEW, problem=str(error))
        except Exception as error:  # noqa: BLE001  a failed look is told once and tried again
            if str(error) != told:
                told = str(error)
                _tell(0, problem=f"The new publication can't be served yet: {told}")
        now = time.monotonic()
        if now - looked >= 1.0:
            busy = runaways.look(now - looked)
            looked = now
            if _too_long(busy, orders.statement_limit_s):
                return _tell(STATEMENT_TOO_LONG, problem=_longest(served, orders))


def _too_long(busy_s: list[float], limit_s: float) -> bool:
    """Whether a statement has run for too long; where many do, it is so sooner."""
    if not busy_s:
        return False
    crowded = len(busy_s) >= _CROWD and busy_s[_CROWD - 1] >= min(_CROWDED_S, limit_s)
    return busy_s[0] >= limit_s or crowded


def _longest(served: ServedDatabase, orders: Orders) -> str:
    rows = served.connection.execute(
        "SELECT query FROM quack_active_connections() WHERE state = 'active' "
        "ORDER BY query_started_at LIMIT 1"
    ).fetchall()
    asked = " ".join(str(rows[0][0]).split())[:120] if rows else "?"
    return f"A statement ran for over {orders.statement_limit_s:g} s and was ended: {asked}"


def _tell(code: int, **event: Any) -> int:
    sys.stdout.write(json.dumps(event) + "\n")
    sys.stdout.flush()
    return code


def _end_with_parent() -> None:
    while sys.stdin.readline():
        pass
    os._exit(0)


def main() -> None:
    """Serve by the orders on standard input until it closes."""
    orders = Orders(**json.loads(sys.stdin.readline()))
    threading.Thread(target=_end_with_parent, daemon=True).start()
    most = _BASE_BYTES + orders.memory_mib * 2**20
    resource.setrlimit(resource.RLIMIT_AS, (most, most))
    os._exit(serve(orders))  # a statement that never ends must not hold the process


if __name__ == "__main__":
    main()
