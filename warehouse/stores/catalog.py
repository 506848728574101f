"""Connections to the catalog of a shared store: one for its lock, one that reads and writes rows.

The lock is PostgreSQL's advisory lock on a connection of its own, taken before any transaction
begins, so that what is read under it is the newest; it goes with the process that dies.
"""

from __future__ import annotations

import importlib.util
import zlib
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import TYPE_CHECKING, Any

from rangeledger.schemas.errors import BusyError, HomeError, RangeledgerError, StorageError
from rangeledger.warehouse.ledger_file import first_line
from rangeledger.warehouse.store_settings import Secrets, StoreSettings
from rangeledger.warehouse.stores.bucket import ADDITION

if TYPE_CHECKING:
    from duckdb import DuckDBPyConnection

# In the order in which they are loaded; the last needs the others.
_EXTENSIONS = ("httpfs", "postgres_scanner", "ducklake")
_WAIT_S = 120
# What holds the lock: whoever adds to the store, tidies it, or copies the database into its bucket.
ADDING, TIDYING, COPYING = 1, 2, 3


def connect_catalog(settings: StoreSettings, secrets: Secrets) -> Any:
    """Connect to PostgreSQL for locks and for looking whether anything is new.

    Raises
    ------
    HomeError
        If the addition is not installed.
    StorageError
        If the server does not answer, or does not let us in.
    """
    try:
        import psycopg
    except ImportError as error:
        raise HomeError(ADDITION) from error
    catalog = settings.catalog
    try:
        return psycopg.connect(
            host=catalog.host, port=catalog.port, dbname=catalog.database, user=catalog.user,
            password=secrets.password, sslmode=catalog.tls, autocommit=True, connect_timeout=10,
            application_name="rangeledger",
        )  # fmt: skip
    except psycopg.Error as error:
        raise unreachable(error) from error


def answers(connection: Any) -> bool:
    """Whether a connection to the catalog still serves."""
    import psycopg

    try:
        connection.execute("SELECT 1")
    except psycopg.Error:
        return False
    return True


@contextmanager
def locked(
    connection: Any, academy: str, key: int = ADDING, wait_s: int = _WAIT_S
) -> Iterator[None]:
    """Hold an academy's lock, waiting for another process if need be.

    Raises
    ------
    BusyError
        If another still holds it after `wait_s`, two minutes by default.
    """
    import psycopg

    keys = (zlib.crc32(f"rangeledger {academy}".encode()) - 2**31, key)
    try:
        connection.execute(f"SET lock_timeout = '{wait_s}s'")
        connection.execute("SELECT pg_advisory_lock(%s, %s)", keys)
    except psycopg.errors.LockNotAvailable as error:
        raise BusyError(
            f"Another home has been writing to the shared store for over {wait_s} s. "
            "Wait for it to end and try again."
        ) from error
    except psycopg.Error as error:
        raise unreachable(error) from error
    try:
        yield
    finally:
        with suppress(psycopg.Error):  # a connection that broke has given the lock up
            connection.execute("SELECT pg_advisory_unlock(%s, %s)", keys)


def grant_reading(connection: Any, academy: str, role: str) -> None:
    """Let a role read an academy's tables, those that are still to come too."""
    import psycopg
    from psycopg import sql

    parameters = {"schema": sql.Identifier(academy), "role": sql.Identifier(role)}
    try:
        for statement in (
            "GRANT USAGE ON SCHEMA {schema} TO {role}",
            "GRANT SELECT ON ALL TABLES IN SCHEMA {schema} TO {role}",
            "ALTER DEFAULT PRIVILEGES IN SCHEMA {schema} GRANT SELECT ON TABLES TO {role}",
        ):
            connection.execute(sql.SQL(statement).format(**parameters))
    except psycopg.Error as error:
        raise unreachable(error) from error


def newest_snapshot(connection: Any, academy: str) -> int | None:
    """Number of the lake's newest snapshot, which any change raises; None where there is none."""
    import psycopg
    from psycopg import sql

    table = sql.Identifier(academy, "ducklake_snapshot")
    try:
        row = connection.execute(
            sql.SQL("SELECT max(snapshot_id) FROM {}").format(table)
        ).fetchone()
    except (psycopg.errors.UndefinedTable, psycopg.errors.InvalidSchemaName):
        return None
    except psycopg.Error as error:
        raise unreachable(error) from error
    return int(row[0]) if row and row[0] is not None else None


def attach_lake(settings: StoreSettings, secrets: Secrets) -> DuckDBPyConnection:
    """A database in memory with the store's lake attached and in use.

    Secrets are bound to the statements, never part of their text.

    Raises
    ------
    HomeError
        If the addition is not installed.
    StorageError
        If the catalog or the bucket does not answer, or does not let us in.
    """
    import duckdb

    connection = duckdb.connect(
        config={"autoinstall_known_extensions": False, "autoload_known_extensions": False}
    )
    try:
        for name in _EXTENSIONS:
            connection.execute(f"LOAD '{_extension_file(name)}'")
        _keep_secrets(connection, settings, secrets)
        connection.execute("SET TimeZone = 'UTC'")
        connection.execute(
            f"ATTACH 'ducklake:postgres:sslmode={settings.catalog.tls}' AS lake "
            f"(META_SECRET 'catalog', METADATA_SCHEMA '{settings.academy}', "
            f"DATA_PATH 's3://{settings.bucket}/{settings.academy}/lake/', "
            "DATA_INLINING_ROW_LIMIT 0)"
        )
        connection.execute("USE lake")
    except duckdb.Error as error:
        connection.close()
        raise unreachable(error) from error
    except RangeledgerError:
        connection.close()
        raise
    return connection


def _keep_secrets(
    connection: DuckDBPyConnection, settings: StoreSettings, secrets: Secrets
) -> None:
    catalog = settings.catalog
    connection.execute(
        "CREATE SECRET catalog (TYPE postgres, HOST $host, PORT $port, DATABASE $database, "
        "USER $user, PASSWORD $password)",
        {"host": catalog.host, "port": catalog.port, "database": catalog.database,
         "user": catalog.user, "password": secrets.password},
    )  # fmt: skip
    parameters = {"key_id": secrets.key_id, "secret": secrets.secret, "region": settings.region}
    place = ""
    if settings.endpoint is not None:
        scheme, _, address = settings.endpoint.partition("://")
        parameters["endpoint"] = address
        place = f", ENDPOINT $endpoint, URL_STYLE 'path', USE_SSL {scheme == 'https'}"
    connection.execute(
        f"CREATE SECRET bucket (TYPE s3, KEY_ID $key_id, SECRET $secret, REGION $region{place})",
        parameters,
    )


def _extension_file(name: str) -> str:
    spec = importlib.util.find_spec(f"duckdb_extension_{name}")
    folders = spec.submodule_search_locations if spec else None
    found = sorted(Path(next(iter(folders))).rglob(f"{name}.duckdb_extension")) if folders else []
    if not found:
        raise HomeError(ADDITION)
    return str(found[-1]).replace("'", "''")


def unreachable(error: BaseException) -> StorageError:
    """Sentence for a catalog or a bucket that does not answer, or refuses."""
    return StorageError(
        f"The shared store can't be used: {first_line(error)}. Nothing that was offered is lost; "
        "it is taken when the store answers."
    )
