"""What the settings say of a store that several homes share, and the secrets for it."""

from __future__ import annotations

import os
import re
import stat
from collections.abc import Collection
from dataclasses import dataclass, field
from pathlib import Path
from typing import Annotated, Any
from urllib.parse import parse_qs, urlsplit

from pydantic import BeforeValidator
from rangeledger.schemas.declared import Declared, DeclaredError, checked_toml
from rangeledger.schemas.errors import HomeError

SECRETS_FILE = "store-secrets.toml"
_VARIABLES = {
    "password": "RANGELEDGER_STORE_PASSWORD",
    "key_id": "RANGELEDGER_STORE_KEY_ID",
    "secret": "RANGELEDGER_STORE_SECRET",
}
_OTHERS_RIGHTS = 0o077


@dataclass(frozen=True, slots=True)
class Catalog:
    """Where the catalog's PostgreSQL database is, and who asks it."""

    host: str
    port: int
    database: str
    user: str
    tls: str


@dataclass(frozen=True, slots=True)
class StoreSettings:
    """A store that several homes share.

    Attributes
    ----------
    catalog : Catalog
    bucket : str
        Name of the bucket.
    academy : str
        Schema of the catalog and folder of the bucket that hold its data, and nobody else's.
    endpoint : str or None
        Address of the object store; None means the usual one of its region.
    region : str
    secrets : str
        File of the secrets, seen from the home.
    """

    catalog: Catalog
    bucket: str
    academy: str
    endpoint: str | None
    region: str
    secrets: str


@dataclass(frozen=True, slots=True)
class Secrets:
    """What lets a home in; never printed."""

    password: str = field(repr=False)
    key_id: str = field(repr=False)
    secret: str = field(repr=False)


def _catalog(text: Any) -> Catalog:
    parts = urlsplit(str(text))
    database = parts.path.strip("/")
    if parts.password:
        raise ValueError(f"take the password out; it goes into {SECRETS_FILE} or the environment")
    if parts.scheme != "postgresql" or not (parts.hostname and parts.username and database):
        raise ValueError('write "postgresql://USER@HOST:5432/DATABASE"')
    tls = parse_qs(parts.query).get("sslmode", ["prefer"])[0]
    components = (parts.hostname, database, parts.username, tls)
    if not all(re.fullmatch(r"[\w.:-]+", word) for word in components):
        raise ValueError("use letters, digits, points, hyphens and underscores in its parts")
    return Catalog(parts.hostname, parts.port or 5432, database, parts.username, tls)


def _bucket(text: Any) -> str:
    name = str(text).removeprefix("s3://").rstrip("/")
    if not re.fullmatch(r"[a-z0-9][a-z0-9.-]{1,61}[a-z0-9]", name):
        raise ValueError('write the name of a bucket, as in "s3://academies"')
    return name


def _academy(text: Any) -> str:
    if not re.fullmatch(r"[a-z][a-z0-9_]{0,40}", str(text)):
        raise ValueError('use a word of small letters, digits and underscores: "academy_one"')
    return str(text)


def _endpoint(text: Any) -> str:
    parts = urlsplit(str(text))
    if parts.scheme not in ("http", "https") or not parts.hostname or parts.path.strip("/"):
        raise ValueError('write an address, as in "https://objects.example:9000"')
    return f"{parts.scheme}://{parts.netloc}"


class StoreForm(Declared):
    """The table [store] of settings.toml."""

    catalog: Annotated[Catalog, BeforeValidator(_catalog)]
    bucket: Annotated[str, BeforeValidator(_bucket)]
    academy: Annotated[str, BeforeValidator(_academy)]
    endpoint: Annotated[str, BeforeValidator(_endpoint)] | None = None
    region: str = "us-east-1"
    secrets: str = SECRETS_FILE

    def settings(self) -> StoreSettings:
        """The values of the table."""
        return StoreSettings(
            self.catalog, self.bucket, self.academy, self.endpoint, self.region, self.secrets
        )


class _SecretsForm(Declared):
    password: str | None = None
    key_id: str | None = None
    secret: str | None = None


def read_secrets(
    root: Path, settings: StoreSettings, needed: Collection[str] = tuple(_VARIABLES)
) -> Secrets:
    """The secrets of a store: from the environment, else from a file of its owner alone.

    Parameters
    ----------
    root : Path
        Folder of the home.
    settings : StoreSettings
    needed : collection of str
        Which must be there; the bucket asks for no `password`.

    Raises
    ------
    HomeError
        If one is missing, or others on the machine may read the file.
    """
    path = root / settings.secrets
    stated = _of_file(path)
    found = {name: os.environ.get(variable) or stated.get(name)
             for name, variable in _VARIABLES.items()}  # fmt: skip
    missing = [name for name in needed if not found[name]]
    if missing:
        variables = ", ".join(_VARIABLES[name] for name in missing)
        raise HomeError(
            f"The shared store needs {', '.join(missing)}: write it into {path}, which only its "
            f"owner may read, or set {variables}."
        )
    return Secrets(*(found[name] or "" for name in _VARIABLES))


def _of_file(path: Path) -> dict[str, str]:
    try:
        mode = stat.S_IMODE(path.stat().st_mode)
        text = path.read_text(encoding="utf-8")
    except FileNotFoundError:
        return {}
    except (OSError, UnicodeDecodeError) as error:
        raise HomeError(f"{path} can't be read ({error}).") from error
    if mode & _OTHERS_RIGHTS:
        raise HomeError(f"Others on this machine may read {path}. Close it: chmod 600 {path}")
    try:
        form = checked_toml(text, _SecretsForm)
    except DeclaredError as error:
        raise HomeError(f"{path}, {str(error).split(';')[0]}") from None
    return {name: value for name, value in form.model_dump().items() if value}
