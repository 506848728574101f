"""The database that is served over the network: a shell of views over the newest publication.

The shell is a small file opened read-only. It holds a view of each table and view of the
published database, which is attached beside it as `live`, also read-only. A new publication takes
the former one's place in one statement: queries that run keep theirs, the next ones see the new.
"""

from __future__ import annotations

import os
import shutil
from pathlib import Path
from typing import TYPE_CHECKING

from rangeledger.schemas.errors import HomeError
from rangeledger.warehouse.home import Home
from rangeledger.warehouse.network_guard import GUARD, create_guard
from rangeledger.warehouse.statements import macros

if TYPE_CHECKING:
    from duckdb import DuckDBPyConnection

_LIVE = "live"


class ServedDatabase:
    """Opens the shell, and follows what is published.

    Parameters
    ----------
    home : Home
    extensions : sequence of Path
        Extension files to load.
    memory_mib : int
        Most memory [MiB] that queries may use.
    """

    def __init__(self, home: Home, extensions: list[Path], memory_mib: int) -> None:
        self._home = home
        self._folder = home.state / "served"
        self._inode = 0
        shutil.rmtree(self._folder, ignore_errors=True)
        self._folder.mkdir(parents=True)
        self._current = self._link()
        shell = self._build_shell()
        self.connection = self._open(shell, extensions, memory_mib)

    def _link(self) -> Path:
        """Give the newest publication a name of its own, since a path is opened only once."""
        inode = self._home.database.stat().st_ino
        link = self._folder / f"{inode}.duckdb"
        link.unlink(missing_ok=True)
        try:
            os.link(self._home.database, link)
        except OSError:
            shutil.copyfile(self._home.database, link)
        self._inode = inode
        return link

    def _build_shell(self) -> Path:
        import duckdb

        path = self._folder / "rangeledger.duckdb"
        with duckdb.connect(str(path)) as shell:
            shell.execute(f"ATTACH '{self._quoted(self._current)}' AS {_LIVE} (READ_ONLY)")
            _mirror(shell)
            own = macros()
            for macro in own:
                shell.execute(macro.sql)
            create_guard(shell, [macro.relation for macro in own])
        return path

    def _open(self, shell: Path, extensions: list[Path], memory_mib: int) -> DuckDBPyConnection:
        import duckdb

        connection = duckdb.connect(str(shell), read_only=True)
        for extension in extensions:
            connection.execute(f"LOAD '{self._quoted(extension)}'")
        for statement in (
            f"ATTACH '{self._quoted(self._current)}' AS {_LIVE} (READ_ONLY)",
            "SET GLOBAL TimeZone = 'UTC'",
            f"SET GLOBAL memory_limit = '{memory_mib}MiB'",
            # The thread that answers a client does the work itself, so that one that never ends
            # can be told from many that do.
            "SET GLOBAL threads = 1",
            "SET GLOBAL temp_directory = ''",
            "SET GLOBAL autoinstall_known_extensions = false",
            f"SET GLOBAL allowed_directories = ['{self._quoted(self._folder)}/']",
            f"SET GLOBAL quack_authorization_function = '{GUARD}'",
        ):
            connection.execute(statement)
        return connection

    def lock(self) -> None:
        """Shut out files and settings for good; the folder of the publications stays open."""
        self.connection.execute("SET GLOBAL enable_external_access = false")
        self.connection.execute("SET GLOBAL lock_configuration = true")

    def follow(self) -> bool:
        """Take over a new publication, if there is one; returns whether there was.

        Raises
        ------
        HomeError
            If it is of another version, which needs a new shell.
        """
        try:
            if self._home.database.stat().st_ino == self._inode:
                return False
        except FileNotFoundError:
            return False  # an instant, or a home whose database was taken away
        former, before = self._current, self._version()
        self._current = self._link()
        self.connection.execute(
            f"ATTACH OR REPLACE '{self._quoted(self._current)}' AS {_LIVE} (READ_ONLY)"
        )
        if former != self._current:
            former.unlink(missing_ok=True)
        if self._version() != before:
            raise HomeError("The published database is of another version; serving starts anew.")
        return True

    def _version(self) -> object:
        asked = f"SELECT max(database_version) FROM {_LIVE}.ledger.meta"
        return self.connection.execute(asked).fetchone()

    @staticmethod
    def _quoted(path: Path) -> str:
        return str(path).replace("'", "''")


def _mirror(shell: DuckDBPyConnection) -> None:
    """Make a view of each table and view of the attached database, with its comments."""
    relations = shell.execute(
        f"""
        SELECT schema_name, view_name, comment FROM duckdb_views()
        WHERE database_name = '{_LIVE}' AND NOT internal
        UNION ALL
        SELECT schema_name, table_name, comment FROM duckdb_tables()
        WHERE database_name = '{_LIVE}' AND NOT internal
        ORDER BY ALL
        """
    ).fetchall()
    for schema, name, comment in relations:
        distinct = "DISTINCT " if name == "data_dictionary" else ""  # it sees shell and original
        shell.execute(f'CREATE SCHEMA IF NOT EXISTS "{schema}"')
        shell.execute(
            f'CREATE VIEW "{schema}"."{name}" AS '
            f'SELECT {distinct}* FROM {_LIVE}."{schema}"."{name}"'
        )
        _comment(shell, f'VIEW "{schema}"."{name}"', comment)
    columns = shell.execute(
        f"""
        SELECT schema_name, table_name, column_name, comment FROM duckdb_columns()
        WHERE database_name = '{_LIVE}' AND comment IS NOT NULL ORDER BY ALL
        """
    ).fetchall()
    for schema, table, column, comment in columns:
        _comment(shell, f'COLUMN "{schema}"."{table}"."{column}"', comment)


def _comment(shell: DuckDBPyConnection, what: str, comment: str | None) -> None:
    if comment:
        quoted = comment.replace("'", "''")
        shell.execute(f"COMMENT ON {what} IS '{quoted}'")
