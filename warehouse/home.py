"""The home folder: where things are in it, and how it is found.

One class knows every path, so that no other module spells one.
"""

from __future__ import annotations

import os
from dataclasses import dataclass
from pathlib import Path

from rangeledger.schemas.errors import NoHomeError

HOME_VARIABLE = "RANGELEDGER_HOME"
DEFAULT_HOME = Path("~/rangeledger")
DEMO_HOME = Path("~/rangeledger-demo")
# File of a lake that follows the one of a shared store.
FOLLOWING = "store.json"


@dataclass(frozen=True, slots=True)
class Home:
    """Paths of one home folder; creating the object touches nothing on disk."""

    root: Path

    @property
    def inbox(self) -> Path:
        """Drop folder."""
        return self.root / "inbox"

    @property
    def mappings(self) -> Path:
        """The user's own heading maps."""
        return self.root / "mappings"

    @property
    def archive(self) -> Path:
        """Every accepted original, named by content hash."""
        return self.root / "archive"

    @property
    def quarantine(self) -> Path:
        """Every file that could not be read, beside its reason."""
        return self.root / "quarantine"

    @property
    def lake(self) -> Path:
        """Canonical shots as Parquet, the durable truth."""
        return self.root / "lake"

    @property
    def database(self) -> Path:
        """The published database that other tools open read-only."""
        return self.root / "rangeledger.duckdb"

    @property
    def state(self) -> Path:
        """What the program keeps for itself; can be deleted while nothing runs."""
        return self.root / ".state"

    @property
    def ledger(self) -> Path:
        """The writer's own database; nobody else opens it."""
        return self.state / "writer.duckdb"

    @property
    def lock(self) -> Path:
        """File whose lock makes one process the writer."""
        return self.state / "writer.lock"

    @property
    def accounts(self) -> Path:
        """Accounts of loads of which the flow engine is still to be told."""
        return self.state / "accounts"

    @property
    def reports(self) -> Path:
        """Reports and pocket cards, where the user names no other folder."""
        return self.root / "reports"

    @property
    def logs(self) -> Path:
        """Log files a person can read."""
        return self.root / "logs"

    @property
    def settings_file(self) -> Path:
        """Settings of this home (TOML)."""
        return self.root / "settings.toml"

    @property
    def version_file(self) -> Path:
        """Version of the lake's layout."""
        return self.lake / "version.json"

    @property
    def folders(self) -> tuple[Path, ...]:
        """Folders that a home has."""
        return (
            self.inbox, self.mappings, self.archive, self.quarantine, self.lake, self.state,
            self.logs,
        )  # fmt: skip


def find_home(option: Path | None) -> Home:
    """Home named by the option, else by the environment, else the default one."""
    chosen = option or Path(os.environ.get(HOME_VARIABLE) or DEFAULT_HOME)
    return Home(chosen.expanduser().absolute())


def refuse_file(home: Home) -> None:
    """Refuse a home whose path, or a part of it, is a file.

    Raises
    ------
    NoHomeError
        Naming that file.
    """
    for path in (home.root, *home.root.parents):
        if path.exists():
            if not path.is_dir():
                raise NoHomeError(f"{path} is not a folder. Name another home with --home.")
            return
