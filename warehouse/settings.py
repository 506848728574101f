"""The settings of a home, and what is wrong in them in plain words."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date
from typing import Annotated, Any, Literal
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from pydantic import BeforeValidator, Field
from rangeledger.schemas.columns import WIND_HEIGHTS
from rangeledger.schemas.declared import Declared, DeclaredError, checked_toml
from rangeledger.schemas.errors import HomeError
from rangeledger.warehouse.home import Home
from rangeledger.warehouse.player_settings import LEAST_HANDICAP, MOST_HANDICAP, PlayerSettings
from rangeledger.warehouse.spread_settings import SpreadForm, SpreadSettings, spread_settings
from rangeledger.warehouse.store_settings import StoreForm, StoreSettings

FIRST_SETTINGS = """\
# Settings of this home; every line may be left out.
# zone = "Europe/Stockholm"      # zone of times that carry none; default: the machine's
# date_order = "day-month"       # or "month-day": of dates that an export leaves open
# wind_height = "player"         # where winds are noted, if no note says: weather, player, ball
# site = "North range"           # place of this home; kept with each shot that it loads
# readers = "group"              # who else on this machine may read: owner (nobody), group, all
# [store]                        # loads kept with other homes' in one shared store
# catalog = "postgresql://north@db.example:5432/ranges"
# bucket = "s3://academies"
# academy = "academy_one"
# [monitors]                     # what measured, by file name or by the layout that inspect shows
# "bay-b-*.csv" = "bay B"
# [hands]                        # for naming shapes as fade or draw
# "Name of a player" = "left"
# [players."Name of a player"]
# names = ["N. Player"]          # other names of the player, as exports write them
# handicap = 18                  # what is usual for a new player of few shots
# [players."Name of a player".dates]
# 2026-05-01 = "lesson"          # hold the shots before and after against each other
# [spread]                       # read and fit on the workers of a Dask scheduler
# scheduler = "tcp://10.0.0.5:8786"   # or tls:// with authority, certificate and key (PEM files)
"""


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
    players : dict of str to PlayerSettings
        Other names, handicaps and dates by player.
    readers : str or None
        Who on the machine may read the home: 'owner', 'group' or 'all'; None leaves it as it is.
    store : StoreSettings or None
        The store that the home shares with others; None where it keeps its loads itself.
    spread : SpreadSettings or None
        Where exports are read and players fitted; None means here.
    """

    reading: ReadingDefaults
    hands: dict[str, str]
    players: dict[str, PlayerSettings] = field(default_factory=dict)
    readers: str | None = None
    store: StoreSettings | None = None
    spread: SpreadSettings | None = None


def _known_zone(name: Any) -> ZoneInfo:
    try:
        return ZoneInfo(str(name))
    except (ZoneInfoNotFoundError, ValueError, OSError):
        raise ValueError("use a name such as Europe/Stockholm") from None


def _one_line(value: Any) -> str:
    if not isinstance(value, str) or not value.strip():
        raise ValueError("write words in quotes")
    return value.strip()


def _day(text: Any) -> date:
    try:
        return date.fromisoformat(str(text))
    except ValueError:
        raise ValueError('write a date and what happened: 2026-05-01 = "lesson"') from None


_Zone = Annotated[ZoneInfo, BeforeValidator(_known_zone)]
_Line = Annotated[str, BeforeValidator(_one_line)]
_Day = Annotated[date, BeforeValidator(_day)]


class _PlayerForm(Declared):
    """The table of one player."""

    handicap: Annotated[float, Field(ge=LEAST_HANDICAP, le=MOST_HANDICAP)] | None = None
    names: list[_Line] = Field(default_factory=list)
    dates: dict[_Day, _Line] = Field(default_factory=dict)


class _SettingsForm(Declared):
    """The file settings.toml."""

    zone: _Zone | None = None
    date_order: Literal["year-month-day", "day-month", "month-day"] | None = None
    wind_height: Literal["weather", "player", "ball"] = "weather"
    site: _Line | None = None
    readers: Literal["owner", "group", "all"] | None = None
    store: StoreForm | None = None
    monitors: dict[str, _Line] = Field(default_factory=dict)
    hands: dict[str, Literal["left", "right"]] = Field(default_factory=dict)
    players: dict[str, _PlayerForm] = Field(default_factory=dict)
    spread: SpreadForm | None = None


def read_settings(home: Home) -> Settings:
    """Settings of a home.

    Raises
    ------
    HomeError
        If the file is no TOML, or a setting can't be used: its line, its key and what is allowed.
    """
    try:
        form = checked_toml(home.settings_file.read_text(encoding="utf-8"), _SettingsForm)
    except FileNotFoundError:
        form = _SettingsForm()
    except UnicodeDecodeError as error:
        raise HomeError(f"{home.settings_file} is not UTF-8 text; save it as UTF-8.") from error
    except DeclaredError as error:
        raise HomeError(f"{home.settings_file}, {error}") from error
    monitors = tuple(form.monitors.items())
    reading = ReadingDefaults(form.zone, form.date_order, form.wind_height, form.site, monitors)
    players = {
        name: PlayerSettings(
            player.handicap, dict(sorted(player.dates.items())), tuple(player.names)
        )
        for name, player in form.players.items()
    }
    store = form.store.settings() if form.store is not None else None
    try:
        spread = spread_settings(form.spread, home.root) if form.spread is not None else None
    except ValueError as error:
        raise HomeError(f"{home.settings_file}: {error}.") from error
    return Settings(reading, dict(form.hands), players, form.readers, store, spread)


def read_other_names(home: Home) -> dict[str, tuple[str, ...]]:
    """Other names by player, as the settings state them.

    Raises
    ------
    HomeError
        As `read_settings`.
    """
    return {
        name: player.names for name, player in read_settings(home).players.items() if player.names
    }


def handicap_of(home: Home, player: str) -> float | None:
    """The handicap that the settings of a home give a player.

    Parameters
    ----------
    home : Home
        Whose settings.
    player : str
        The player's name.

    Returns
    -------
    float or None
        Handicap [strokes]; None where none is said.
    """
    stated = read_settings(home).players.get(player)
    return stated.handicap if stated else None
