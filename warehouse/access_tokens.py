"""The named tokens of a home: who may ask, and for which players.

Tokens are kept as hashes in `access.json`, which only the owner can read; the token itself is told
once, when it is made. It is 128 random bits, so that a plain hash is as safe as a slow one.
"""

from __future__ import annotations

import hashlib
import json
import secrets
from collections.abc import Callable, Iterable, Sequence
from dataclasses import asdict, dataclass, replace
from datetime import UTC, datetime
from pathlib import Path

from rangeledger.schemas.errors import HomeError, StorageError, UsageError
from rangeledger.warehouse.home import Home
from rangeledger.warehouse.system.durable_files import write_atomically

_LONGEST_NAME = 60


@dataclass(frozen=True, slots=True)
class Access:
    """One named token.

    Attributes
    ----------
    name : str
        What it is called in lists and logs.
    token_hash : str
        SHA-256 of the token, in hexadecimal digits.
    players : tuple of str or None
        Players that may be seen with it; None for all.
    made_at : str
        When it was made [UTC].
    """

    name: str
    token_hash: str
    players: tuple[str, ...] | None
    made_at: str


def access_file(home: Home) -> Path:
    """Where the named tokens of a home are kept."""
    return home.root / "access.json"


def token_hash(token: str) -> str:
    """Hash under which a token is kept."""
    return hashlib.sha256(token.encode()).hexdigest()


def read_access(home: Home) -> tuple[Access, ...]:
    """All named tokens of a home, by name.

    Raises
    ------
    HomeError
        If the file can't be understood.
    """
    path = access_file(home)
    try:
        raw = json.loads(path.read_text(encoding="utf-8"))
        found = [_access(entry) for entry in raw["tokens"]]
    except FileNotFoundError:
        return ()
    except (OSError, ValueError, KeyError, TypeError) as error:
        raise HomeError(
            f"{path} can't be read, so nobody is let in by a named token. Restore it from a "
            "backup, or remove it and make the tokens anew with 'rangeledger token make'."
        ) from error
    return tuple(sorted(found, key=lambda one: one.name))


def _access(entry: dict[str, object]) -> Access:
    players = entry["players"]
    if players is not None and not isinstance(players, list):
        raise TypeError("players are a list")
    return Access(
        str(entry["name"]),
        str(entry["token_hash"]),
        None if players is None else tuple(str(player) for player in players),
        str(entry["made_at"]),
    )


def forget_players(home: Home, is_gone: Callable[[str], bool]) -> None:
    """Take players out of what tokens may see; a token for them alone is withdrawn."""
    tokens = read_access(home)
    left = []
    for one in tokens:
        seen = None if one.players is None else tuple(p for p in one.players if not is_gone(p))
        if not is_gone(one.name) and seen != ():
            left.append(replace(one, players=seen))
    if left != list(tokens):
        _write(home, left)


def access_of(tokens: Iterable[Access], token: str) -> Access | None:
    """The access that a token gives; None where it gives none.

    Every hash is compared to its end, so that the time taken tells nothing.
    """
    sought = token_hash(token)
    found = [one for one in tokens if secrets.compare_digest(one.token_hash, sought)]
    return found[0] if found else None


def make_token(home: Home, name: str, players: Sequence[str] | None) -> str:
    """Make a named token and keep its hash; returns the token, which is not told again.

    Parameters
    ----------
    home : Home
    name : str
        A name that no other token of the home has.
    players : sequence of str or None
        Players that may be seen with it; None for all.

    Raises
    ------
    UsageError
        If the name is taken, or is none.
    """
    if not name.strip() or len(name) > _LONGEST_NAME or not name.isprintable():
        raise UsageError(f"A token's name must be plain text of 1 to {_LONGEST_NAME} characters.")
    tokens = read_access(home)
    if any(one.name == name for one in tokens):
        raise UsageError(
            f"There is a token named {name} already. Withdraw it first, or choose another name."
        )
    token = secrets.token_hex(16)
    made_at = datetime.now(UTC).replace(tzinfo=None).isoformat(sep=" ", timespec="seconds")
    chosen = None if players is None else tuple(sorted(set(players)))
    _write(home, [*tokens, Access(name, token_hash(token), chosen, made_at)])
    return token


def withdraw_token(home: Home, name: str) -> None:
    """Withdraw a named token; who uses it is shut out at once.

    Raises
    ------
    UsageError
        If there is none of that name.
    """
    tokens = read_access(home)
    remaining = [one for one in tokens if one.name != name]
    if len(remaining) == len(tokens):
        raise UsageError(f"There is no token named {name}. 'rangeledger token list' lists them.")
    _write(home, remaining)


def _write(home: Home, tokens: Iterable[Access]) -> None:
    path = access_file(home)
    text = json.dumps({"tokens": [asdict(one) for one in tokens]}, ensure_ascii=False, indent=1)
    try:
        write_atomically(path, text + "\n", private=True)
    except OSError as error:
        raise StorageError(
            f"{path} can't be written ({error.strerror}). Permission or space is needed."
        ) from error
