"""The home folder: where things are, how it is found, created and checked.

One class knows every path, so that no other module spells one.
"""

from __future__ import annotations

import json
import os
import tomllib
from dataclasses import dataclass
from pathlib import Path
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from rangeledger.schemas.columns import WIND_HEIGHTS
from rangeledger.schemas.date_orders import DATE_ORDERS
from rangeledger.schemas.errors import HomeError, NoHomeError, StorageError

HOME_VARIABLE = "RANGELEDGER_HOME"
DEFAULT_HOME = Path("~/rangeledger")
DEMO_HOME = Path("~/rangeledger-demo")
HOME_VERSION = 2

_SETTINGS = """\
# Settings of this home; every line may be left out.
# zone = "Europe/Stockholm"      # zone of times that carry none; default: the machine's
# date_order = "day-month"       # or "month-day": of dates that an export leaves open
# wind_height = "player"         # where winds are noted, if no note says: weather, player, ball
# site = "North range"           # place of this home; kept with each shot that it loads
# [monitors]                     # what measured, by file name or by the layout that inspect shows
# "bay-b-*.csv" = "bay B"
# [hands]                        # for naming shapes as fade or draw
# "Name of a player" = "left"
"""


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


@dataclass(frozen=True, slots=True)
class ReadingDefaults:
    """What holds where an export and its note leave it open.

    Attributes
    ----------
    zone : zoneinfo.ZoneInfo or None
        Zone of times that carry none; None means the machine's.
    date_order : str or None
        One of `DATE_ORDERS`; None means that such an export is refused.
    wind_height : str
        Where noted winds are taken, one of `WIND_HEIGHTS`.
    site : str or None
        Place of the home.
    monitors : tuple of (str, str)
        Pattern of a file name, or layout of an export, and what measured it.
    """

    zone: ZoneInfo | None = None
    date_order: str | None = None
    wind_height: str = WIND_HEIGHTS[0]
    site: str | None = None
    monitors: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True)
class Settings:
    """Settings of a home.

    Attributes
    ----------
    reading : ReadingDefaults
        What holds where an export and its note leave it open.
    hands : dict of str to str
        'left' or 'right' by player.
    """

    reading: ReadingDefaults
    hands: dict[str, str]


def find_home(option: Path | None) -> Home:
    """Home named by the option, else by the environment, else the default one."""
    chosen = option or Path(os.environ.get(HOME_VARIABLE) or DEFAULT_HOME)
    return Home(chosen.expanduser().absolute())


def open_home(home: Home) -> Home:
    """Create what is missing of a home, bring an older one up, check that we can use it.

    Raises
    ------
    NoHomeError
        If there is a file where the home should be.
    HomeError
        If the home was made by a newer program.
    StorageError
        If the disk refuses.
    """
    refuse_file(home)
    try:
        for folder in home.folders:
            folder.mkdir(parents=True, exist_ok=True)
        if not home.version_file.exists() and not any(home.lake.iterdir()):
            write_atomically(home.version_file, json.dumps({"home_version": HOME_VERSION}))
        if not home.settings_file.exists():
            write_atomically(home.settings_file, _SETTINGS)
    except OSError as error:
        raise StorageError(
            f"The home {home.root} can't be written ({error.strerror}). "
            "Free space or permission is needed, or name another home with --home."
        ) from error
    _check_version(home)
    return home


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


def home_version(home: Home) -> int:
    """Version of the home's layout; 0 where none is stated."""
    try:
        return int(json.loads(home.version_file.read_text())["home_version"])
    except FileNotFoundError:
        return 0
    except (ValueError, KeyError, TypeError) as error:
        raise HomeError(
            f'{home.version_file} is damaged. Put back {{"home_version": {HOME_VERSION}}} '
            "if this home was made by this version."
        ) from error


def _check_version(home: Home) -> None:
    found = home_version(home)
    if found > HOME_VERSION:
        raise HomeError(
            f"The home {home.root} has layout version {found}; this program knows up to "
            f"{HOME_VERSION}. Install a newer rangeledger."
        )
    if found < HOME_VERSION:
        from rangeledger.warehouse.upgrades import upgrade

        upgrade(home)


def read_settings(home: Home) -> Settings:
    """Settings of a home, with a plain sentence for each thing wrong in them.

    Raises
    ------
    HomeError
        If the file is no TOML, or a setting can't be used.
    """
    try:
        raw = tomllib.loads(home.settings_file.read_text(encoding="utf-8"))
    except FileNotFoundError:
        raw = {}
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        raise HomeError(
            f"{home.settings_file} can't be read: {error}. Correct that line."
        ) from error
    unknown = set(raw) - {"zone", "date_order", "wind_height", "site", "monitors", "hands"}
    if unknown:
        raise HomeError(
            f"{home.settings_file} has unknown settings: {', '.join(sorted(unknown))}. "
            "Known are zone, date_order, wind_height, site, [monitors] and [hands]."
        )
    reading = ReadingDefaults(
        _zone(raw, home), _date_order(raw, home), _wind_height(raw, home),
        _site(raw, home), _monitors(raw, home),
    )  # fmt: skip
    return Settings(reading, _hands(raw, home))


def _zone(raw: dict[str, object], home: Home) -> ZoneInfo | None:
    name = raw.get("zone")
    if name is None:
        return None
    try:
        return ZoneInfo(str(name))
    except (ZoneInfoNotFoundError, ValueError) as error:
        raise HomeError(
            f"{home.settings_file}: zone {name!r} is not known. "
            "Use a name such as Europe/Stockholm."
        ) from error


def _date_order(raw: dict[str, object], home: Home) -> str | None:
    order = raw.get("date_order")
    if order is None or order in DATE_ORDERS:
        return None if order is None else str(order)
    raise HomeError(
        f"{home.settings_file}: date_order {order!r} is not known. "
        f"Use one of {', '.join(DATE_ORDERS)}."
    )


def _wind_height(raw: dict[str, object], home: Home) -> str:
    height = raw.get("wind_height", WIND_HEIGHTS[0])
    if height in WIND_HEIGHTS:
        return str(height)
    raise HomeError(
        f"{home.settings_file}: wind_height {height!r} is not known. "
        f"Use one of {', '.join(WIND_HEIGHTS)}."
    )


def _site(raw: dict[str, object], home: Home) -> str | None:
    site = raw.get("site")
    if site is None:
        return None
    if not isinstance(site, str) or not site.strip():
        raise HomeError(f'{home.settings_file}: write site = "name of the place".')
    return site.strip()


def _monitors(raw: dict[str, object], home: Home) -> tuple[tuple[str, str], ...]:
    monitors = raw.get("monitors", {})
    if not isinstance(monitors, dict) or not all(
        isinstance(name, str) and name.strip() for name in monitors.values()
    ):
        raise HomeError(
            f'{home.settings_file}: under [monitors] write "bay-b-*.csv" = "name", or the layout '
            "that 'rangeledger inspect' shows in place of the file name."
        )
    return tuple((str(pattern), name.strip()) for pattern, name in monitors.items())


def _hands(raw: dict[str, object], home: Home) -> dict[str, str]:
    hands = raw.get("hands", {})
    if not isinstance(hands, dict) or any(v not in ("left", "right") for v in hands.values()):
        raise HomeError(f'{home.settings_file}: under [hands] write "Name" = "left" or "right".')
    return {str(player): str(hand) for player, hand in hands.items()}


def write_atomically(path: Path, text: str) -> None:
    """Write a small text file so that a reader sees the old or the new one, never a part."""
    temporary = path.with_name(f".{path.name}.{os.getpid()}.tmp")
    with temporary.open("w", encoding="utf-8") as stream:
        stream.write(text)
        stream.flush()
        os.fsync(stream.fileno())
    os.replace(temporary, path)
    sync_folder(path.parent)


def sync_folder(folder: Path) -> None:
    """Make renames in a folder durable; a system that can't open folders is left alone."""
    try:
        descriptor = os.open(folder, os.O_RDONLY)
    except (PermissionError, IsADirectoryError):
        return
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)
