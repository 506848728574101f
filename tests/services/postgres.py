"""A PostgreSQL server in a temporary folder, on the loopback address alone."""

from __future__ import annotations

import os
import secrets
import shutil
import signal
import subprocess
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import pytest

from tests.services.service import Elsewhere, Service, free_port

_USER = "postgres"


@dataclass(frozen=True, slots=True)
class Postgres:
    """A running PostgreSQL server."""

    host: str
    port: int
    user: str
    password: str
    folder: Path
    programs: Path
    service: Service | Elsewhere

    def conninfo(self, database: str = _USER) -> str:
        """How a client connects."""
        return (
            f"host={self.host} port={self.port} user={self.user} password={self.password} "
            f"dbname={database}"
        )

    def new_database(self, like: str = "") -> str:
        """Name of a new database, empty or like another that nobody is connected to."""
        name = f"test_{secrets.token_hex(6)}"
        self.do(f'CREATE DATABASE "{name}"' + (f' TEMPLATE "{like}"' if like else ""))
        return name

    def do(self, statement: Any, database: str = _USER) -> None:
        """Execute one statement."""
        import psycopg

        with psycopg.connect(self.conninfo(database), autocommit=True) as connection:
            connection.execute(statement)


@contextmanager
def running_postgres() -> Iterator[Postgres]:
    """Run a server; skips the test where none is installed."""
    server, service = _start(None)
    try:
        yield server
    finally:
        service.stop()
        shutil.rmtree(server.folder, ignore_errors=True)


def start_shared_postgres(_: Path, held: int) -> Postgres:
    """Run a server as long as it is held; it leaves nothing."""
    server, service = _start(held)
    return replace(server, service=service.leave())


def _start(held: int | None) -> tuple[Postgres, Service]:
    programs = _programs()
    if programs is None:
        pytest.skip("PostgreSQL isn't installed here (apt-get install postgresql)")
    psycopg = pytest.importorskip("psycopg", reason="needs the extra [fleet]")
    place = Path(tempfile.mkdtemp(prefix="rangeledger-postgres-"))
    server_user = _USER if os.getuid() == 0 else ""  # it refuses to run as root
    if server_user:
        shutil.chown(place, server_user, server_user)
    password, port = secrets.token_urlsafe(18), free_port()
    service = Service(
        [
            str(programs / "postgres"), "-D", str(place / "data"), "-p", str(port),
            "-c", "listen_addresses=127.0.0.1", "-c", "unix_socket_directories=",
            "-c", "max_connections=150", "-c", "shared_buffers=32MB",
        ],
        lambda: _accepts(psycopg, port, password),
        place / "log", ending=signal.SIGINT, user=server_user, held=held, leaves=place,
    )  # fmt: skip
    try:
        _make(programs, place, server_user, password)
        service.start()
    except BaseException:
        service.stop()
        shutil.rmtree(place, ignore_errors=True)
        raise
    return Postgres("127.0.0.1", port, _USER, password, place, programs, service), service


def _programs() -> Path | None:
    """Folder of the server's programs: distributions keep them out of the way of others."""
    found = shutil.which("initdb")
    beside = sorted(Path("/usr/lib/postgresql").glob("*/bin/initdb"), key=_version)
    return Path(found).parent if found else beside[-1].parent if beside else None


def _version(program: Path) -> float:
    return float(program.parts[-3])


def _make(programs: Path, place: Path, user: str, password: str) -> None:
    (place / "password").write_text(password)
    if user:
        shutil.chown(place / "password", user, user)
    subprocess.run(
        [
            str(programs / "initdb"), "-D", str(place / "data"), "-U", _USER, "-A", "scram-sha-256",
            f"--pwfile={place / 'password'}", "-E", "UTF8", "--locale=C", "--no-sync",
        ],
        user=user or None, group=user or None, extra_groups=[] if user else None,
        cwd=place, check=True, capture_output=True,
    )  # fmt: skip


def _accepts(psycopg: Any, port: int, password: str) -> bool:
    try:
        psycopg.connect(f"host=127.0.0.1 port={port} user={_USER} password={password}").close()
    except psycopg.OperationalError:
        return False
    return True
