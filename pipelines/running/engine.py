"""Prefect, quiet and offline: its settings, and the server that a process needs.

All of its state lives inside the home. A resident service leaves its server's address in the home,
and commands then tell that one of their loads; else a process of its own starts one when they have
ended (`telling.py`), which ends with that process even if it is killed.
"""

from __future__ import annotations

import json
import os
import secrets
import shutil
import socket
import subprocess
import sys
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from multiprocessing.connection import Client, Connection
from pathlib import Path
from urllib.error import HTTPError, URLError
from urllib.request import urlopen

from rangeledger.schemas.errors import HomeError, StorageError
from rangeledger.warehouse.home import Home
from rangeledger.warehouse.system.durable_files import write_atomically

# Analytics off, no network, quiet. The heartbeat costs a second a run, and the recorder's small
# batches stall runs on SQLite; both were measured.
QUIET = {
    "DO_NOT_TRACK": "1",
    "PREFECT_SERVER_ANALYTICS_ENABLED": "false",
    "PREFECT_TELEMETRY_ENABLE_RESOURCE_METRICS": "false",
    "PREFECT_CLOUD_ENABLE_ORCHESTRATION_TELEMETRY": "false",
    "PREFECT_LOGGING_LEVEL": "CRITICAL",  # our own sentences tell what failed
    "PREFECT_LOGGING_TO_API_ENABLED": "false",
    "PREFECT_SERVER_LOGGING_LEVEL": "ERROR",
    "PREFECT_SERVER_UI_SHOW_PROMOTIONAL_CONTENT": "false",
    "PREFECT_FLOWS": '{"heartbeat_frequency": null}',
    "PREFECT_SERVER_SERVICES_TASK_RUN_RECORDER_BATCH_SIZE": "200",
    "PREFECT_SERVER_SERVICES_TASK_RUN_RECORDER_READ_BATCH_SIZE": "50",
    "PREFECT_SERVER_SERVICES_TASK_RUN_RECORDER_FLUSH_INTERVAL": "2",
    # A season of loads must not grow the engine's database for ever; it cleans up every hour.
    "PREFECT_SERVER_SERVICES_DB_VACUUM_ENABLED": "events,flow_runs",
    "PREFECT_SERVER_SERVICES_DB_VACUUM_RETENTION_PERIOD": "604800",
    "PREFECT_SERVER_EVENTS_RETENTION_PERIOD": "P1D",
    "GX_ANALYTICS_ENABLED": "false",
}
# What a client of the engine's API shows; the server asks for the same.
SECRET_VARIABLE = "PREFECT_API_AUTH_STRING"
# Port of the loopback address at which its process is told of loads (`engine_accounts.py`).
ACCOUNTS_VARIABLE = "RANGELEDGER_ENGINE_ACCOUNTS"
START_TIMEOUT_S = 120.0
_POLL_S = 0.05
_LEAST_FREE = 16 * 2**20  # bytes: Prefect's own database takes 2 MiB, its log of changes more


def engine_folder(home: Home) -> Path:
    """Where Prefect keeps its state for this home."""
    return home.state / "prefect"


def address_file(home: Home) -> Path:
    """Where a resident service leaves the address of its server."""
    return home.state / "engine.json"


def apply_quiet_settings(home: Home) -> None:
    """Set Prefect's settings in this process; call it before Prefect is imported."""
    os.environ.update(QUIET)
    os.environ["PREFECT_HOME"] = str(engine_folder(home))


def engine_secret() -> str:
    """What this process and its servers show each other; other users of the machine lack it.

    It stands in the environment, which only the owner of a process can read.
    """
    return os.environ.setdefault(SECRET_VARIABLE, f"rangeledger:{secrets.token_hex(16)}")


def leave_word(home: Home, address: str) -> None:
    """Leave the address of a resident service's server, and its secret, for commands."""
    word = {
        "address": address,
        "accounts": int(os.environ[ACCOUNTS_VARIABLE]),
        "secret": engine_secret(),
        "pid": os.getpid(),
    }
    write_atomically(address_file(home), json.dumps(word), private=True)


def _free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def _free_ports(chosen: int | None) -> tuple[int, int]:
    """Two free ports, the second of them the chosen one if one is."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))  # held, so that the other is not the same
        return int(probe.getsockname()[1]), chosen or _free_port()


def _healthy(address: str) -> bool:
    try:
        with urlopen(f"{address}/health", timeout=2) as answer:  # loopback only
            return bool(answer.status == 200)
    except HTTPError as refusal:  # it holds the socket until it is closed
        refusal.close()
        return False
    except (URLError, OSError, ValueError):
        return False


def running_server(home: Home) -> str | None:
    """Address of a resident service's server for this home, None where there is none.

    Its secret, and where it is told of loads, are taken into the environment.
    """
    try:
        word = json.loads(address_file(home).read_text())
        address, accounts, secret = str(word["address"]), int(word["accounts"]), str(word["secret"])
    except (OSError, ValueError, KeyError):
        return None
    if not _healthy(address):
        return None
    os.environ |= {SECRET_VARIABLE: secret, ACCOUNTS_VARIABLE: str(accounts)}
    return address


class Server:
    """A Prefect server that ends with this process.

    It reads its standard input and ends when that closes, which the kernel does for us when this
    process dies, whatever the cause. What this process and its children ask and tell an engine
    goes to it from now on.
    """

    def __init__(
        self,
        home: Home,
        port: int | None = None,
        *,
        pages: bool = False,
        holding: Sequence[int] = (),
    ) -> None:
        engine_folder(home).mkdir(exist_ok=True)
        accounts, self.port = _free_ports(port)
        self.address = f"http://127.0.0.1:{self.port}/api"
        self._log = home.logs / "engine.log"
        os.environ |= {"PREFECT_API_URL": self.address, ACCOUNTS_VARIABLE: str(accounts)}
        environment = {
            **os.environ,
            **QUIET,
            "PREFECT_HOME": str(engine_folder(home)),
            "PREFECT_SERVER_UI_ENABLED": "true" if pages else "false",
            SECRET_VARIABLE: engine_secret(),
            "PREFECT_SERVER_API_AUTH_STRING": engine_secret(),
        }
        with self._log.open("ab") as log:
            self._process = subprocess.Popen(
                [
                    sys.executable,
                    "-m",
                    "rangeledger.pipelines.running.engine_server",
                    str(self.port),
                ],
                stdin=subprocess.PIPE,
                stdout=log,
                stderr=log,
                env=environment,
                pass_fds=holding,
            )

    def wait(self) -> None:
        """Wait until it answers.

        Raises
        ------
        HomeError
            If it ends or does not answer in time.
        StorageError
            If that is for want of space on the disk.
        """
        deadline = time.monotonic() + START_TIMEOUT_S
        while not _healthy(self.address):
            if self._process.poll() is not None or time.monotonic() > deadline:
                self._blame_a_full_disk()
                raise HomeError(
                    f"The flow engine did not start; {self._log} says why. If it is damaged, "
                    f"delete {self._log.parent.parent / '.state' / 'prefect'} and try again."
                )
            time.sleep(_POLL_S)

    def _blame_a_full_disk(self) -> None:
        free = shutil.disk_usage(self._log.parent).free
        if free < _LEAST_FREE:
            raise StorageError(
                f"The disk of {self._log.parent.parent} has {free / 2**20:.0f} MiB left, too "
                "little to load anything. Free space, then try again; nothing was lost."
            )

    @property
    def pid(self) -> int:
        """Number of its process."""
        return self._process.pid

    def is_running(self) -> bool:
        """Whether its process lives."""
        return self._process.poll() is None

    def stop(self) -> None:
        """End the server."""
        if self._process.stdin:
            self._process.stdin.close()
        try:
            self._process.wait(timeout=10)
        except subprocess.TimeoutExpired:
            self._process.kill()
            self._process.wait()


@contextmanager
def take_resident_server(home: Home) -> Iterator[str | None]:
    """For this block have the engine of a service that runs told, and no other.

    Yields
    ------
    str or None
        Its address; None where there is none.
    """
    apply_quiet_settings(home)
    former = {name: os.environ.pop(name, "") for name in ("PREFECT_API_URL", ACCOUNTS_VARIABLE)}
    address = running_server(home)
    if address is not None:
        os.environ["PREFECT_API_URL"] = address
    _waiting.append(None)
    try:
        yield address
    finally:
        _waiting.pop()
        for name in former:
            os.environ.pop(name, None)
        os.environ |= {name: value for name, value in former.items() if value}


@contextmanager
def engine(home: Home, *, holding: Sequence[int] = ()) -> Iterator[None]:
    """Have a Prefect server for this block: the resident service's, else one of our own.

    The server starts beside; whoever tells it something first calls `wait_for_engine`.

    Parameters
    ----------
    home : Home
    holding : sequence of int
        Open files that its process holds too.
    """
    with take_resident_server(home) as address:
        server = Server(home, holding=holding) if address is None else None
        _waiting.append(server)
        try:
            yield
        finally:
            _waiting.remove(server)
            if server is not None:
                server.stop()


def is_engine_at_hand() -> bool:
    """Whether there is an engine that this process can tell of loads, or will be soon."""
    return ACCOUNTS_VARIABLE in os.environ


_waiting: list[Server | None] = []


def expect(server: Server) -> None:
    """Let `wait_for_engine` wait for a resident service's server from now on."""
    _waiting[:] = [server]


def wait_for_engine() -> None:
    """Wait until the server of the surrounding `engine` block, or of this service, answers."""
    if _waiting and _waiting[-1] is not None:
        _waiting[-1].wait()


def connect_for_account() -> Connection:
    """Connect to the engine to tell it of one load, as soon as it answers.

    Raises
    ------
    HomeError, StorageError
        If the engine of this process did not start.
    OSError, EOFError
        If it has ended.
    """
    wait_for_engine()
    where = ("127.0.0.1", int(os.environ[ACCOUNTS_VARIABLE]))
    return Client(where, authkey=engine_secret().encode())
