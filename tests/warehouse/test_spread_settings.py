from __future__ import annotations

import pytest
from rangeledger.schemas.errors import HomeError
from rangeledger.warehouse.home import Home
from rangeledger.warehouse.settings import read_settings
from rangeledger.warehouse.spread_settings import SpreadSettings


def test_files_are_looked_for_in_the_home(home: Home) -> None:
    home.settings_file.write_text(
        '[spread]\nscheduler = "tls://fleet.example:8786"\nauthority = "/etc/authority.pem"\n'
        'certificate = "fleet.pem"\nkey = "fleet.key"\n'
    )
    spread = read_settings(home).spread
    assert spread is not None
    assert spread.scheduler == "tls://fleet.example:8786"
    assert str(spread.authority) == "/etc/authority.pem"
    assert spread.key == home.root / "fleet.key"


def test_without_the_table_nothing_is_spread(home: Home) -> None:
    home.settings_file.write_text('zone = "UTC"\n')
    assert read_settings(home).spread is None


def test_an_open_connection_needs_its_address_alone(home: Home) -> None:
    home.settings_file.write_text('[spread]\nscheduler = "tcp://[::1]:8786"\n')
    assert read_settings(home).spread == SpreadSettings("tcp://[::1]:8786")


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ('scheduler = "10.0.0.5"', 'line 2: \\[spread\\] scheduler = \'10.0.0.5\' can\'t be used; '
         'write the address as "tcp://HOST:PORT"'),
        ('scheduler = "tls://10.0.0.5:8786"\nkey = "k"', "needs authority, certificate for tls:"),
        ('scheduler = "tcp://10.0.0.5:8786"\nkey = "k"', "would send everything in the open"),
        ('adress = "tcp://10.0.0.5:8786"', "the key 'adress' is not known"),
        ('key = "k"', "scheduler is missing"),
    ],
)  # fmt: skip
def test_what_is_wrong_is_told(home: Home, text: str, words: str) -> None:
    home.settings_file.write_text(f"[spread]\n{text}\n")
    with pytest.raises(HomeError, match=words):
        read_settings(home)
