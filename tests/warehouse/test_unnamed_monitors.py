"""A monitor's name comes into the settings, and every other byte of them stays."""

from __future__ import annotations

import stat
import tomllib
from pathlib import Path

import pytest
from rangeledger.schemas.errors import UsageError
from rangeledger.warehouse.home import Home
from rangeledger.warehouse.settings import FIRST_SETTINGS, read_settings
from rangeledger.warehouse.unnamed_monitors import name_monitor, with_monitor

ENTRY = '"layout-1f0c9a2b" = "bay \\"B\\" – Süd"'
NAME = 'bay "B" – Süd'
WITHOUT = [
    "", FIRST_SETTINGS, 'zone = "UTC"', 'zone = "UTC"\r\n# [monitors]\r\n',
    '[hands]\n"Ada Brook" = "left"\n\n# the end\n',
]  # fmt: skip
BEFORE_AND_AFTER = [
    ("[monitors]\n", ""),
    ('zone = "UTC"\n[ monitors ]   # what measured\n"a-*.csv" = "bay A"\n', "\n# hands\n[hands]\n"),
    ('[monitors]\r\n# first\r\n"a-*.csv" = "bay A" # by name\r\n', "\r\n\r\n[hands]\r\n"),
    ('["monitors"]\n"a-*.csv" = "bay A"\n', ""),
]  # fmt: skip


@pytest.mark.parametrize("text", WITHOUT)
def test_a_table_is_added_where_there_is_none(text: str) -> None:
    added = with_monitor(text, "layout-1f0c9a2b", NAME)
    assert added.startswith(text)
    assert tomllib.loads(added)["monitors"] == {"layout-1f0c9a2b": NAME}
    assert ("\r\n" in added.removeprefix(text)) == ("\r\n" in text)


@pytest.mark.parametrize(("before", "after"), BEFORE_AND_AFTER)
def test_a_name_stands_after_those_that_are_there(before: str, after: str) -> None:
    end = "\r\n" if "\r\n" in before else "\n"
    added = with_monitor(before + after, "layout-1f0c9a2b", NAME)
    assert added == f"{before}{ENTRY}{end}{after}"


def test_an_entry_without_the_end_of_its_line_keeps_its_own() -> None:
    added = with_monitor('[monitors]\n"a" = "A"', "layout-1f0c9a2b", "B")
    assert added == '[monitors]\n"a" = "A"\n"layout-1f0c9a2b" = "B"\n'


@pytest.mark.parametrize(
    "text",
    ['monitors = {"a" = "A"}\n', 'monitors."a" = "A"\n', '[monitors]\n"layout-1f0c9a2b" = "A"\n'],
)
def test_monitors_that_are_written_otherwise_are_left_to_their_writer(text: str) -> None:
    with pytest.raises(UsageError, match="Add this line"):
        with_monitor(text, "layout-1f0c9a2b", "B")


def test_the_file_keeps_who_may_read_it_and_where_it_is(home: Home, tmp_path: Path) -> None:
    elsewhere = tmp_path / "kept-elsewhere.toml"
    elsewhere.write_text('zone = "UTC"  # ours\n')
    elsewhere.chmod(0o640)
    home.settings_file.unlink()
    home.settings_file.symlink_to(elsewhere)
    assert name_monitor(home, "layout-1f0c9a2b", "  bay \t B ") == "bay B"
    assert home.settings_file.is_symlink()
    assert stat.S_IMODE(elsewhere.stat().st_mode) == 0o640
    assert read_settings(home).reading.monitors == (("layout-1f0c9a2b", "bay B"),)
    assert elsewhere.read_text().startswith('zone = "UTC"  # ours\n')


@pytest.mark.parametrize("name", ["", " ", "x" * 61, "bay\x00B", "bay\x7fB"])
def test_what_is_no_name_is_refused(home: Home, name: str) -> None:
    with pytest.raises(UsageError, match="such as bay B"):
        name_monitor(home, "layout-1f0c9a2b", name)
