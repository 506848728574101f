"""The token that clients of the SQL server need."""

from __future__ import annotations

import os
import secrets
from pathlib import Path

from rangeledger.schemas.errors import StorageError, UsageError
from rangeledger.warehouse.home import Home

TOKEN_VARIABLE = "RANGELEDGER_TOKEN"
LEAST_LENGTH = 16


def token_path(home: Home) -> Path:
    """Where the home's own token is kept."""
    return home.state / "serve.token"


def find_token(home: Home, file: Path | None) -> tuple[str, str]:
    """Token from the named file, else the environment, else the home's own, made if need be.

    Returns
    -------
    token : str
    where : str
        Where a user finds it; never the token itself.

    Raises
    ------
    UsageError
        If it is too short or the file can't be read.
    """
    if file is not None:
        return _checked(_read(file), str(file)), str(file)
    if os.environ.get(TOKEN_VARIABLE):
        return _checked(os.environ[TOKEN_VARIABLE], TOKEN_VARIABLE), f"${TOKEN_VARIABLE}"
    path = token_path(home)
    if not path.exists():
        _make(path)
    return _checked(_read(path), str(path)), str(path)


def _read(path: Path) -> str:
    try:
        return path.read_text(encoding="utf-8").strip()
    except (OSError, UnicodeDecodeError) as error:
        raise UsageError(f"The token in {path} can't be read. Name a readable file.") from error


def _checked(token: str, where: str) -> str:
    if len(token) < LEAST_LENGTH or not token.isascii() or not token.isprintable():
        raise UsageError(
            f"The token in {where} must be at least {LEAST_LENGTH} plain characters long. "
            "Leave it out to have one made."
        )
    return token


def _make(path: Path) -> None:
    try:
        descriptor = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
        with os.fdopen(descriptor, "w") as stream:
            stream.write(secrets.token_hex(16) + "\n")
    except OSError as error:
        raise StorageError(
            f"The token can't be kept in {path} ({error.strerror}). Permission or space is needed."
        ) from error
