from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest
from rangeledger.pipelines.running import ledger
from rangeledger.pipelines.service.soundness import check_up
from rangeledger.schemas.errors import HomeError
from rangeledger.warehouse import upgrades
from rangeledger.warehouse.database import query
from rangeledger.warehouse.home import HOME_VERSION, Home, home_version, open_home

OLDEST = Path(__file__).parent / "home_version_1"


@pytest.fixture
def old_home(tmp_path: Path) -> Home:
    return Home(shutil.copytree(OLDEST, tmp_path / "home"))


def test_a_home_of_version_1_opens_and_gives_its_answers(old_home: Home) -> None:
    open_home(old_home)
    assert home_version(old_home) == HOME_VERSION
    assert ledger.complete(old_home)
    assert query(old_home, "SELECT shots, sessions FROM carry_by_club").rows() == [(12, 2)]
    states = query(old_home, "SELECT file_name, state FROM ingest_log").rows()
    assert states == [
        ("first.csv", "loaded"),
        ("refused.csv", "quarantined"),
        ("second.csv", "loaded-with-rejects"),
    ]
    assert [f for f in check_up(old_home) if not f.ok] == []


def test_a_home_without_its_version_is_taken_for_the_oldest(old_home: Home) -> None:
    old_home.version_file.unlink()
    open_home(old_home)
    assert home_version(old_home) == HOME_VERSION


def test_steps_run_in_order_and_an_interrupted_one_again(
    old_home: Home, monkeypatch: pytest.MonkeyPatch
) -> None:
    ran: list[int] = []

    def second(home: Home) -> None:
        ran.append(2)
        if ran.count(2) == 1:
            raise OSError("the machine went down")

    open_home(old_home)
    monkeypatch.setattr(upgrades, "STEPS", {1: lambda home: ran.append(1), 2: second})
    with pytest.raises(OSError, match="went down"):
        upgrades.upgrade(old_home, to_version=3)
    assert home_version(old_home) == 2
    assert upgrades.upgrade(old_home, to_version=3) == [2]
    assert ran == [1, 2, 2]
    assert upgrades.upgrade(old_home, to_version=3) == []


def test_a_home_with_no_way_up_or_of_a_newer_program_is_refused(old_home: Home) -> None:
    open_home(old_home)
    with pytest.raises(HomeError, match="Install the rangeledger that made it"):
        upgrades.upgrade(old_home, to_version=HOME_VERSION + 1)
    old_home.version_file.write_text(json.dumps({"home_version": HOME_VERSION + 1}))
    with pytest.raises(HomeError, match="Install a newer rangeledger"):
        open_home(old_home)
