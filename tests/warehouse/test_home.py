from __future__ import annotations

import json
from datetime import date
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from rangeledger.schemas.errors import HomeError, NoHomeError
from rangeledger.warehouse.home import DEFAULT_HOME, HOME_VARIABLE, Home, find_home
from rangeledger.warehouse.opening import open_home
from rangeledger.warehouse.player_settings import PlayerSettings
from rangeledger.warehouse.published import published
from rangeledger.warehouse.settings import ReadingDefaults, read_settings
from rangeledger.warehouse.system.durable_files import write_atomically


def test_option_beats_environment_beats_default(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv(HOME_VARIABLE, str(tmp_path / "e"))
    assert find_home(tmp_path / "o").root == tmp_path / "o"
    assert find_home(None).root == tmp_path / "e"
    monkeypatch.delenv(HOME_VARIABLE)
    assert find_home(None).root == DEFAULT_HOME.expanduser()


def test_the_contract_s_folders_are_created(home: Home) -> None:
    names = {path.name for path in home.root.iterdir() if path.is_dir()}
    assert {"inbox", "mappings", "archive", "quarantine", "lake"} <= names


def test_a_newer_home_is_refused_with_what_to_do(home: Home) -> None:
    home.version_file.write_text(json.dumps({"home_version": 99}))
    with pytest.raises(HomeError, match="Install a newer rangeledger"):
        open_home(home)


@pytest.mark.parametrize("path", ["f", "f/home"])
def test_a_file_in_the_place_of_a_home_is_wrong_usage(tmp_path: Path, path: str) -> None:
    (tmp_path / "f").write_text("")
    with pytest.raises(NoHomeError, match="f is not a folder") as told:
        open_home(Home(tmp_path / path))
    assert told.value.exit_code == 2
    with pytest.raises(NoHomeError), published(Home(tmp_path / path)):
        pass


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ('zone = "Mars/North"', "line 1: zone = .* use a name such as Europe/Stockholm"),
        ("zone = ", "not valid TOML"),
        ('date_order = "dmy"', "use one of 'year-month-day', 'day-month' or 'month-day'"),
        ("colour = 1", "'colour' is not known; known keys are zone, date_order, wind_height, site"),
        ('\nzoen = "UTC"', "line 2: the key 'zoen' is not known; did you mean zone"),
        ('[hands]\nA = "both"', "line 2: .hands. A = 'both' .* one of 'left' or 'right'"),
        ('wind_height = "roof"', "use one of 'weather', 'player' or 'ball'"),
        ("site = 3", "site = 3 can't be used; write words in quotes"),
        ('[monitors]\n"bay*" = 3', "line 2: .monitors. .* write words in quotes"),
        ("[players]\nA = 3", "write .players.A. on its own line"),
        ("[players.A]\nage = 30", "'age' is not known; known keys are handicap, names, dates"),
        ('[players.A]\nhandicap = "low"', "handicap = 'low' .* write a number without quotes"),
        ("[players.A]\nhandicap = 60", "handicap = 60 .* at most 54"),
        ('[players.A.dates]\nMay = "lesson"', "May = 'May' .* 2026-05-01 = .lesson."),
        ("[players.A.dates]\n2026-05-01 = 3", "2026-05-01 = 3 .* words in quotes"),
        ("[players.A]\ndates = 3", "write .players.A.dates. on its own line"),
    ],
)
def test_wrong_settings_are_told(home: Home, text: str, said: str) -> None:
    home.settings_file.write_text(text)
    with pytest.raises(HomeError, match=said):
        read_settings(home)


def test_settings_are_read(home: Home) -> None:
    home.settings_file.write_text(
        'zone = "Europe/Stockholm"\ndate_order = "month-day"\nwind_height = "player"\n'
        'site = "North"\n[monitors]\n"bay-b*" = "bay B"\n[hands]\n"Ada Brook" = "left"\n'
        '[players."Ada Brook"]\nhandicap = 18\n'
        '[players."Ada Brook".dates]\n2026-06-02 = "new driver"\n2026-05-01 = " lesson"\n'
    )
    settings = read_settings(home)
    assert settings.reading == ReadingDefaults(
        ZoneInfo("Europe/Stockholm"), "month-day", "player", "North", (("bay-b*", "bay B"),)
    )
    assert settings.hands == {"Ada Brook": "left"}
    dates = {date(2026, 5, 1): "lesson", date(2026, 6, 2): "new driver"}
    assert settings.players == {"Ada Brook": PlayerSettings(18.0, dates)}


def test_the_settings_file_that_a_new_home_gets_is_valid(home: Home) -> None:
    settings = read_settings(home)
    assert (settings.reading, settings.hands) == (ReadingDefaults(), {})


def test_atomic_write_leaves_no_temporary_file(tmp_path: Path) -> None:
    write_atomically(tmp_path / "a.txt", "one")
    write_atomically(tmp_path / "a.txt", "two")
    assert [(p.name, p.read_text()) for p in tmp_path.iterdir()] == [("a.txt", "two")]
