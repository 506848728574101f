"""Damage to the lake is found, named and healed; a rebuild that fails harms nothing."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from rangeledger.pipelines.loading import inbox
from rangeledger.pipelines.running import ledger
from rangeledger.pipelines.running.healing import heal
from rangeledger.pipelines.running.plain_loads import load_plainly
from rangeledger.pipelines.service.soundness import check_up
from rangeledger.schemas.errors import HomeError
from rangeledger.warehouse import lake
from rangeledger.warehouse.database import query
from rangeledger.warehouse.home import Home
from rangeledger.warehouse.lake_damage import lake_damage
from rangeledger.warehouse.opening import open_home

from tests.exports_text import seven_irons


@pytest.fixture(scope="module")
def sound(tmp_path_factory: pytest.TempPathFactory) -> Home:
    """A home with two loads, of which each test damages a copy."""
    home = open_home(Home(tmp_path_factory.mktemp("sound") / "home"))
    for name in ("Ada Brook", "Bo Lind"):
        (home.inbox / f"{name}.csv").write_text(seven_irons(name))
        load_plainly(home, inbox.waiting(home))
    ledger.complete(home)
    return home


@pytest.fixture
def loaded(sound: Home, tmp_path: Path) -> Home:
    return Home(shutil.copytree(sound.root, tmp_path / "home"))


def first_file(home: Home) -> Path:
    return lake.shot_files(home, [1])[0]


def lake_finding(home: Home, *, everything: bool) -> str:
    found = {f.looked_at: f for f in check_up(home, everything=everything)}["lake"]
    return "" if found.ok else f"{found.found} {found.to_do}"


def damage(path: Path, how: str) -> None:
    raw = bytearray(path.read_bytes())
    if how == "missing":
        path.unlink()
    elif how == "cut":
        path.write_bytes(raw[: len(raw) // 2])
    else:
        raw[40] ^= 0xFF  # among the rows, behind the four bytes that begin a Parquet file
        path.write_bytes(raw)


@pytest.mark.parametrize(
    ("how", "told"),
    [("missing", "is missing"), ("cut", "bytes instead of"), ("bit", "other bytes")],
)
def test_a_damaged_file_is_named_refused_and_healed(loaded: Home, how: str, told: str) -> None:
    asked = "SELECT * FROM shots ORDER BY shot_id"
    before = query(loaded, asked)
    file = first_file(loaded)
    content, ledger_before = file.read_bytes(), loaded.ledger.read_bytes()
    damage(file, how)
    finding = lake_finding(loaded, everything=True)
    assert file.name in finding
    assert told in finding
    assert "rangeledger heal" in finding
    if how != "bit":  # sizes are looked at in any case
        assert told in lake_finding(loaded, everything=False)
    with pytest.raises(HomeError, match=r"former database stays.*rangeledger heal"):
        ledger.rebuild(loaded)
    assert loaded.ledger.read_bytes() == ledger_before
    (loaded.inbox / "later.csv").write_text(seven_irons("Cy Vale", day="2026-05-03"))
    load_plainly(loaded, inbox.waiting(loaded))  # a later load goes on
    assert [one.batch for one in heal(loaded)] == [1]
    ledger.rebuild(loaded)
    assert lake_damage(loaded, everything=True) == []
    assert file.read_bytes() == content
    after = query(loaded, f"SELECT * FROM ({asked}) WHERE player <> 'Cy Vale' ORDER BY shot_id")
    assert after.select(before.columns).equals(before)


def test_a_load_whose_original_is_gone_is_not_healed_and_says_so(loaded: Home) -> None:
    damage(first_file(loaded), "missing")
    for path in loaded.archive.rglob("*.csv"):
        path.unlink()
    with pytest.raises(HomeError, match=r"original of Ada Brook\.csv .* is missing"):
        heal(loaded)


def test_a_published_database_that_is_damaged_is_found(loaded: Home) -> None:
    raw = bytearray(loaded.database.read_bytes())
    for place in range(20_000, len(raw), 4096):
        raw[place] ^= 0xFF
    loaded.database.write_bytes(raw)
    found = {f.looked_at: f for f in check_up(loaded, everything=True)}["published database"]
    assert not found.ok
    assert "is damaged" in found.found
