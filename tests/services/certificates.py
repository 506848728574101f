"""Certificates for tests, made with the program that the operations' page uses."""

from __future__ import annotations

import shutil
import subprocess
from dataclasses import dataclass
from pathlib import Path

import pytest


@dataclass(frozen=True, slots=True)
class Certificates:
    """PEM files: an authority, and one certificate that it signed, with its key."""

    authority: Path
    certificate: Path
    key: Path


def make_certificates(folder: Path) -> Certificates:
    """Make an authority and a certificate for this machine; skips the test without openssl."""
    if shutil.which("openssl") is None:
        pytest.skip("openssl isn't installed here")
    folder.mkdir(parents=True)
    (folder / "names").write_text("subjectAltName=DNS:localhost,IP:127.0.0.1\n")
    for words in (
        "req -x509 -newkey rsa:2048 -nodes -keyout authority.key -out authority.pem -days 2 "
        "-subj /CN=academy-authority",
        "req -newkey rsa:2048 -nodes -keyout fleet.key -out fleet.csr -subj /CN=fleet",
        "x509 -req -in fleet.csr -CA authority.pem -CAkey authority.key -CAcreateserial "
        "-out fleet.pem -days 2 -extfile names",
    ):
        subprocess.run(["openssl", *words.split()], cwd=folder, check=True, capture_output=True)
    return Certificates(folder / "authority.pem", folder / "fleet.pem", folder / "fleet.key")
