"""Shared stores for tests: academies in a database and a bucket of their own."""

from __future__ import annotations

import os
import secrets
from contextlib import ExitStack
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

import boto3
from rangeledger.warehouse.home import Home
from rangeledger.warehouse.opening import open_home
from rangeledger.warehouse.stores.shared_store import SharedStore
from rangeledger.warehouse.stores.steward import steward_of
from rangeledger.warehouse.stores.store import store_of

from tests.services.object_store import ObjectStore
from tests.services.postgres import Postgres

if TYPE_CHECKING:
    from duckdb import DuckDBPyConnection


ACADEMY = "academy_one"


@dataclass(frozen=True, slots=True)
class EmptyStore:
    """The store of an academy in which nothing is yet: to make it takes a hundred statements."""

    database: str
    bucket: str
    user: str


@dataclass
class SharedPlace:
    """A database and a bucket, in which academies can be made.

    With a store at hand that is empty, the first academy begins as its copy, whole at once.
    """

    postgres: Postgres
    objects: ObjectStore
    empty: EmptyStore | None = None
    closing: ExitStack = field(default_factory=ExitStack)

    def __post_init__(self) -> None:
        self.database = self.postgres.new_database(self.empty.database if self.empty else "")
        self.bucket = f"fleet-{secrets.token_hex(6)}"
        # By the server itself, which would not see at once what came into its folder otherwise.
        client = boto3.client(
            "s3",
            endpoint_url=f"http://{self.objects.endpoint}",
            region_name="us-east-1",
            aws_access_key_id=self.objects.key_id,
            aws_secret_access_key=self.objects.secret,
        )
        client.create_bucket(Bucket=self.bucket)
        if self.empty is not None:
            there = self.objects.folder / self.empty.bucket
            for path in filter(Path.is_file, there.rglob("*")):
                name = path.relative_to(there).as_posix()
                client.put_object(Bucket=self.bucket, Key=name, Body=path.read_bytes())

    def academy(self, name: str = ACADEMY, password: str = "correct-horse-1") -> str:
        """Make an academy with a user of the same name who may do everything in it alone."""
        user = f"{name}_{self.database[-6:]}"
        self.postgres.do(f"CREATE ROLE {user} LOGIN PASSWORD '{password}'")
        if self.empty is None or name != ACADEMY:
            self.postgres.do(f"CREATE SCHEMA {name} AUTHORIZATION {user}", self.database)
            return user
        self.postgres.do(f"REASSIGN OWNED BY {self.empty.user} TO {user}", self.database)
        self.postgres.do(
            f"UPDATE {name}.ducklake_metadata SET value = replace(value, '{self.empty.bucket}', "
            f"'{self.bucket}')", self.database,
        )  # fmt: skip
        return user

    def settings(self, user: str, academy: str = "academy_one") -> str:
        """The lines of settings.toml that name the store."""
        return (
            f'[store]\ncatalog = "postgresql://{user}@127.0.0.1:{self.postgres.port}/'
            f'{self.database}"\nbucket = "s3://{self.bucket}"\nacademy = "{academy}"\n'
            f'endpoint = "http://{self.objects.endpoint}"\n'
        )

    def write_secrets(self, home: Home, password: str = "correct-horse-1") -> None:
        """The secrets of a home, in the file that only its owner may read."""
        path = home.root / "store-secrets.toml"
        path.touch(mode=0o600)
        path.write_text(
            f'password = "{password}"\nkey_id = "{self.objects.key_id}"\n'
            f'secret = "{self.objects.secret}"\n'
        )

    def home(self, root: Path, user: str, academy: str = "academy_one", site: str = "") -> Home:
        """A home that follows an academy's store."""
        home = open_home(Home(root))
        first = f'zone = "Europe/Stockholm"\n{f"site = {site!r}" if site else ""}\n'
        home.settings_file.write_text(first.replace("'", '"') + self.settings(user, academy))
        self.write_secrets(home)
        self.closing.callback(store_of(home).close)
        return home


def make_empty_store(postgres: Postgres, objects: ObjectStore, folder: Path) -> EmptyStore:
    """Make an academy's store in which nothing is, and nobody follows it."""
    place = SharedPlace(postgres, objects)
    with place.closing:
        user = place.academy()
        home = place.home(folder / "home", user)
        with steward_of(home) as steward, steward.entered():
            pass
    return EmptyStore(place.database, place.bucket, user)


def lake_of(home: Home) -> DuckDBPyConnection:
    """The shared lake that a home follows, as a reader attaches it."""
    from rangeledger.warehouse.stores.catalog import attach_lake

    store = store_of(home)
    assert isinstance(store, SharedStore)
    return attach_lake(store.settings, store._secrets())


def objects_of(place: SharedPlace) -> list[str]:
    """Names of all objects in the bucket."""
    folder = place.objects.folder / place.bucket
    return sorted(str(Path(at, name).relative_to(folder))
                  for at, _, names in os.walk(folder) for name in names)  # fmt: skip
