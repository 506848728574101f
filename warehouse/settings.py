"""The settings of a home, and what is wrong in them in plain words."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass, field
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from rangeledger.schemas.columns import WIND_HEIGHTS
from rangeledger.schemas.date_orders import DATE_ORDERS
from rangeledger.schemas.errors import HomeError
from rangeledger.warehouse.home import Home
from rangeledger.warehouse.player_settings import PlayerSettings, player_settings

FIRST_SETTINGS = """\
# Settings of this home; every line may be left out.
# zone = "Europe/Stockholm"      # zone of times that carry none; default: the machine's
# date_order = "day-month"       # or "month-day": of dates that an export leaves open
# wind_height = "player"         # where winds are noted, if no note says: weather, player, ball
# site = "North range"           # place of this home; kept with each shot that it loads
# [monitors]                     # what measured, by file name or by the layout that inspect shows
# "bay-b-*.csv" = "bay B"
# [hands]                        # for naming shapes as fade or draw
# "Name of a player" = "left"
# [players."Name of a player"]
# names = ["N. Player"]          # other names of the player, as exports write them
# handicap = 18                  # what is usual for a new player of few shots
# [players."Name of a player".dates]
# 2026-05-01 = "lesson"          # hold the shots before and after against each other
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
    """

    reading: ReadingDefaults
    hands: dict[str, str]
    players: dict[str, PlayerSettings] = field(default_factory=dict)


_KNOWN = {"zone", "date_order", "wind_height", "site", "monitors", "hands", "players"}


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
    unknown = set(raw) - _KNOWN
    if unknown:
        raise HomeError(
            f"{home.settings_file} has unknown settings: {', '.join(sorted(unknown))}. "
            "Known are zone, date_order, wind_height, site, [monitors], [hands] and "
            "[players]."
        )
    reading = ReadingDefaults(
        _zone(raw, home), _date_order(raw, home), _wind_height(raw, home),
        _site(raw, home), _monitors(raw, home),
    )  # fmt: skip
    try:
        players = player_settings(raw.get("players", {}))
    except ValueError as error:
        raise HomeError(f"{home.settings_file}: {error}.") from error
    return Settings(reading, _hands(raw, home), players)


def read_other_names(home: Home) -> dict[str, tuple[str, ...]]:
    """Other names by player, as the settings state them.

    Raises
    ------
    HomeError
        As `read_settings`.
    """
    return {name: said.names for name, said in read_settings(home).players.items() if said.names}


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
