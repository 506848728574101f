"""A process that answers queries: one database, opened read-only, that one client asks at a time.

It is forked from the nursery. Whatever a statement does, in memory, in time or by a fault of the
database, ends this process at the worst; the front then tells the client and takes another.
"""

from __future__ import annotations

import importlib.util
import os
import socket
import time
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, NoReturn

from rangeledger.schemas.errors import HomeError
from rangeledger.warehouse.home import Home
from rangeledger.warehouse.serving.guard import GUARD, Guard
from rangeledger.warehouse.serving.served_files import DATABASE, served_file
from rangeledger.warehouse.statements import macros
from rangeledger.warehouse.system.limits import bound_address_space, end_first

if TYPE_CHECKING:
    from duckdb import DuckDBPyConnection

# Address space beyond the memory that a query may use: the program, its threads, and buffers.
_BASE_BYTES = 6 * 2**30
_EXTENSIONS = {
    "httpfs": "duckdb_extension_httpfs",
    "quack": "duckdb_extension_quack",
}


@dataclass(frozen=True, slots=True)
class Task:
    """What a worker is to open and how it may be asked.

    Attributes
    ----------
    home : str
    publication : int
        Number of the publication to serve.
    players : tuple of str or None
        Players that may be seen; None for all.
    token : str
        What the front shows to be let in; nobody else knows it.
    memory_mib : int
        Most memory [MiB] of a query.
    verify : bool
        Whether the extensions' signatures are verified, which takes longer than all the rest: once,
        by the server's first worker, is enough.
    """

    home: str
    publication: int
    players: tuple[str, ...] | None
    token: str
    memory_mib: int
    verify: bool = True


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


def open_worker(task: Task) -> tuple[DuckDBPyConnection, int]:
    """Open the database and listen on the loopback address.

    Returns
    -------
    connection : duckdb.DuckDBPyConnection
        Keep it for as long as the worker serves.
    port : int
    """
    file = served_file(Home(Path(task.home)), task.publication, task.players)
    bound_address_space(_BASE_BYTES + task.memory_mib * 2**20)
    end_first()
    connection = _opened(file, task)
    port = free_port()
    connection.execute(
        "CALL quack_serve($uri, token = $token)",
        {"uri": f"quack:localhost:{port}", "token": task.token},
    )
    connection.execute("SET GLOBAL enable_external_access = false")
    connection.execute("SET GLOBAL lock_configuration = true")
    return connection, port


def _opened(file: Path, task: Task) -> DuckDBPyConnection:
    import duckdb

    unsigned = "false" if task.verify else "true"
    connection = duckdb.connect(
        str(file), read_only=True, config={"allow_unsigned_extensions": unsigned}
    )
    for extension in extension_files():  # the first has the random numbers that the second needs
        connection.execute(f"LOAD '{_quoted(extension)}'")
    connection.create_function(GUARD, _guard_of(connection), ["VARCHAR", "VARCHAR"], "VARCHAR")
    for statement in (
        "SET GLOBAL TimeZone = 'UTC'",
        f"SET GLOBAL memory_limit = '{task.memory_mib}MiB'",
        # Several workers share the processors already.
        "SET GLOBAL threads = 1",
        "SET GLOBAL temp_directory = ''",
        "SET GLOBAL autoinstall_known_extensions = false",
        "SET GLOBAL autoload_known_extensions = false",
        f"SET GLOBAL quack_authorization_function = '{GUARD}'",
    ):
        connection.execute(statement)
    return connection


def _guard_of(connection: DuckDBPyConnection) -> Guard:
    """Guard of the relations that the opened database has."""
    own = "SELECT schema_name || '.' || {0}_name FROM duckdb_{0}s() WHERE NOT internal"
    relations = [
        str(row[0])
        for kind in ("table", "view")
        for row in connection.execute(own.format(kind)).fetchall()
    ]
    internal = connection.execute("SELECT view_name FROM duckdb_views() WHERE internal").fetchall()
    return Guard(
        relations, [macro.relation for macro in macros()], [str(row[0]) for row in internal],
        DATABASE,
    )  # fmt: skip


def free_port() -> int:
    """A port of the loopback address that nobody has at the moment."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def _quoted(path: Path) -> str:
    return str(path).replace("'", "''")


def sleep_forever(_connection: DuckDBPyConnection) -> NoReturn:
    """Let the database's own threads answer, until this process is ended."""
    while True:
        time.sleep(3600.0)


def end_with(descriptor: int) -> None:
    """End this process when the other end of a pipe closes."""
    while os.read(descriptor, 1):
        pass
    os._exit(0)
