"""One name for each player: by letter case and blanks alone, else as the user says."""

from __future__ import annotations

from typing import Any

import pytest
from rangeledger.schemas.errors import HomeError
from rangeledger.warehouse import database, lake
from rangeledger.warehouse.counting.player_names import other_names, resolved_names
from rangeledger.warehouse.home import Home
from rangeledger.warehouse.settings import read_other_names

from tests.shots import START
from tests.warehouse.counting.test_visits import part, put


def renamed(player: str, to: str | None) -> dict[str, Any]:
    return {"kind": "rename", "player": player, "to": to, "decided_at": "2026-06-20"}


def players(home: Home) -> list[str]:
    with database.open_ledger(home) as connection:
        rows = connection.execute("SELECT DISTINCT player FROM shots ORDER BY ALL").fetchall()
    return [row[0] for row in rows]


def test_letter_case_and_blanks_never_make_two_players() -> None:
    said = ["ADA BROOK", "Ada  Brook", "ada brook ", "Adah Brook"]
    assert resolved_names(said, {}) == {
        "ADA BROOK": "Ada  Brook", "Ada  Brook": "Ada  Brook", "ada brook ": "Ada  Brook",
        "Adah Brook": "Adah Brook",
    }  # fmt: skip


def test_names_follow_each_other_and_a_circle_harms_nobody() -> None:
    others = other_names({}, [renamed("a. brook", "A Brook"), renamed("A BROOK", "Ada Brook")])
    assert resolved_names(["A. Brook", "A Brook"], others) == {
        "A. Brook": "Ada Brook", "A Brook": "Ada Brook",
    }  # fmt: skip
    circle = other_names({}, [renamed("A", "B"), renamed("B", "A")])
    assert sorted(resolved_names(["A", "B"], circle)) == ["A", "B"]


def test_a_renaming_merges_two_and_is_taken_back(home: Home) -> None:
    put(home, 1, part("a", START, player="T. Orrelle"))
    put(home, 2, part("b", START, player="Tamsin Orrelle"))
    assert players(home) == ["T. Orrelle", "Tamsin Orrelle"]
    lake.write_decision(home, renamed("T. Orrelle", "Tamsin Orrelle"))
    assert players(home) == ["Tamsin Orrelle"]
    with database.open_ledger(home) as connection:
        assert database.unfitted_players(connection, "m") == ["Tamsin Orrelle"]
        assert connection.execute("SELECT shots FROM sessions").fetchall() == [(6,)]
    lake.write_decision(home, renamed("T. Orrelle", None))
    assert players(home) == ["T. Orrelle", "Tamsin Orrelle"]


def test_the_same_visit_under_both_names_counts_once_when_they_are_one(home: Home) -> None:
    measured = {"ball_speed_mps": 52.3, "launch_angle_deg": 17.1, "apex_m": 27.2}
    put(home, 1, part("a", START, player="T. Orrelle", **measured))
    again = part("a", START, player="Tamsin Orrelle", **measured)
    copied = [again[name].str.replace_all("a", "b") for name in ("source_file", "shot_id")]
    put(home, 2, again.with_columns(copied))
    with database.open_ledger(home) as connection:
        assert connection.execute("SELECT count(*) FROM shots").fetchall() == [(6,)]
    lake.write_decision(home, renamed("T. Orrelle", "Tamsin Orrelle"))
    with database.open_ledger(home) as connection:
        assert connection.execute("SELECT count(*) FROM shots").fetchall() == [(3,)]
    lake.write_decision(home, renamed("T. Orrelle", None))
    with database.open_ledger(home) as connection:
        assert connection.execute("SELECT count(*) FROM shots").fetchall() == [(6,)]


def test_other_names_stand_in_the_settings_too_and_hold_at_once(home: Home) -> None:
    put(home, 1, part("a", START, player="Orrelle, Tamsin"))
    assert players(home) == ["Orrelle, Tamsin"]
    home.settings_file.write_text('[players."Tamsin Orrelle"]\nnames = ["Orrelle, Tamsin"]\n')
    assert read_other_names(home) == {"Tamsin Orrelle": ("Orrelle, Tamsin",)}
    assert players(home) == ["Tamsin Orrelle"]
    home.settings_file.write_text("")
    assert players(home) == ["Orrelle, Tamsin"]


@pytest.mark.parametrize("text", ['"B"', "3", '[" "]', "[3]"])
def test_other_names_that_are_no_lists_are_told(home: Home, text: str) -> None:
    home.settings_file.write_text(f'[players."A"]\nnames = {text}\n')
    with pytest.raises(HomeError, match=r"players.A.*can.t be used; write"):
        read_other_names(home)
