"""Names that no word calls a player's: taken where it is likely, and told either way."""

from __future__ import annotations

from pathlib import Path

import pytest
import rangeledger as rl

HEAD = "Club,Ball speed (mph),Launch angle (deg),Spin (rpm),Carry (yd)\n"
SHOTS = "7 iron,118.2,17.0,6400,163.1\n7 iron,117.2,17.5,6300,161.5\n7 iron,119.1,16.8,6500,164\n"


def players_and_remarks(folder: Path, text: str) -> tuple[list[str], str]:
    """The players of an export in the order of its shots, and what was remarked."""
    export = folder / "range.csv"
    export.write_text(text, encoding="utf-8")
    found = rl.read_export(export)
    return found.shots["player"].to_list(), "\n".join(map(str, found.remarks))


@pytest.mark.parametrize(
    "title",
    [
        "Range session - Ella Fenwick",
        "Training auf der Range - Ella Fenwick",
        "Elenco colpi - Ella Fenwick, 2024-08-17",
    ],
)
def test_a_name_beside_words_for_a_visit_is_taken_with_a_word(tmp_path: Path, title: str) -> None:
    players, remarks = players_and_remarks(tmp_path, f"{title}\n{HEAD}{SHOTS}")
    assert set(players) == {"Ella Fenwick"}
    assert "'Ella Fenwick' (line 1)" in remarks


def test_one_name_by_itself_is_told_and_not_taken(tmp_path: Path) -> None:
    text = f"{HEAD}Ella Fenwick,,,,\n{SHOTS}"
    players, remarks = players_and_remarks(tmp_path, text)
    assert set(players) == {"unknown"}
    assert "'Ella Fenwick' may be who played" in remarks


def test_names_in_turn_are_those_of_the_players_and_told(tmp_path: Path) -> None:
    text = f"{HEAD}Ella Fenwick,,,,\n{SHOTS}Joris Hale,,,,\n{SHOTS}"
    players, remarks = players_and_remarks(tmp_path, text)
    assert players == ["Ella Fenwick"] * 3 + ["Joris Hale"] * 3
    assert "'Ella Fenwick' (line 2), 'Joris Hale' (line 6)" in remarks


def test_a_stated_player_goes_before_a_name_in_the_title(tmp_path: Path) -> None:
    text = f"Range session - Ella Fenwick\nPlayer: Joris Hale\n{HEAD}{SHOTS}"
    players, remarks = players_and_remarks(tmp_path, text)
    assert set(players) == {"Joris Hale"}
    assert "Ella Fenwick" not in remarks
