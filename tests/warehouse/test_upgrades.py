from __future__ import annotations

import json
import shutil
from pathlib import Path
from typing import Any

import polars as pl
import pytest
from polars.testing import assert_frame_equal
from rangeledger.pipelines.loading import inbox
from rangeledger.pipelines.running import ledger
from rangeledger.pipelines.service.soundness import check_up
from rangeledger.schemas.arrow import shots_polars_schema
from rangeledger.schemas.columns import FORMER_NAMES
from rangeledger.schemas.errors import HomeError
from rangeledger.warehouse import lake, upgrades
from rangeledger.warehouse.database import query
from rangeledger.warehouse.home import Home
from rangeledger.warehouse.home_version import HOME_VERSION, home_version
from rangeledger.warehouse.opening import open_home

from tests.exports_text import seven_irons

OLDEST = Path(__file__).parent / "home_version_1"


@pytest.fixture
def old_home(tmp_path: Path) -> Home:
    return Home(shutil.copytree(OLDEST, tmp_path / "home"))


def test_a_home_of_version_1_opens_and_gives_its_answers(old_home: Home) -> None:
    open_home(old_home)
    assert home_version(old_home) == HOME_VERSION
    assert ledger.complete(old_home)
    carry = "SELECT club, shots, sessions FROM carry_by_club ORDER BY ALL"
    assert query(old_home, carry).rows() == [("7-iron", 6, 1), ("9-iron", 5, 1)]
    excluded = "SELECT excluded, count(*) FROM shots GROUP BY ALL ORDER BY ALL"
    assert query(old_home, excluded).rows() == [(False, 11), (True, 6)]
    states = query(old_home, "SELECT file_name, state FROM ingest_log").rows()
    assert states == [
        ("first.csv", "loaded"),
        ("refused.csv", "quarantined"),
        ("second.csv", "loaded-with-rejects"),
        ("third.csv", "loaded-with-rejects"),
    ]
    assert [f for f in check_up(old_home) if not f.ok] == []


def rows_of(home: Home, kind: str) -> pl.DataFrame:
    files = sorted(home.lake.rglob(f"{kind}/**/*.parquet"), key=lambda path: path.name)
    return pl.concat([pl.read_parquet(path, hive_partitioning=False) for path in files])


def test_the_lake_is_rewritten_to_one_schema_with_the_same_values(old_home: Home) -> None:
    before, rejected = rows_of(old_home, "shots"), rows_of(old_home, "rejected_rows")
    open_home(old_home)
    after = rows_of(old_home, "shots")
    assert after.columns == list(shots_polars_schema())
    former = {new: old for old, new in FORMER_NAMES.items()}
    assert_frame_equal(after.rename(former).select(before.columns), before)
    assert before["club_speed_mps"].count() == 5
    assert after.select("wind_height", "monitor", "site").unique(maintain_order=True).rows() == [
        (None, "unknown", None),
        ("weather", "unknown", None),
    ]
    assert set(rejected["reason_code"]) == {"not-a-number", "smash-too-high"}
    codes = {"smash-too-high": "ball-too-fast"}
    assert_frame_equal(
        rows_of(old_home, "rejected_rows"),
        rejected.with_columns(pl.col("reason_code").replace(codes)),
    )


def test_one_glob_reads_an_upgraded_lake_with_a_new_load(old_home: Home) -> None:
    open_home(old_home)
    (old_home.inbox / "new.csv").write_text(seven_irons("Ada Brook", "2026-07-01"))
    ledger.load_plainly(old_home, inbox.waiting(old_home))
    assert pl.read_parquet(old_home.lake / "shots/**/*.parquet").height == 23


def test_an_upgraded_home_still_uses_its_mapping_of_former_names(old_home: Home) -> None:
    open_home(old_home)
    original = next(old_home.archive.glob("7b/*.csv"))
    again = original.read_text().replace("2026-06-20", "2026-07-20")
    (old_home.inbox / "again.csv").write_text(again)
    ledger.load_plainly(old_home, inbox.waiting(old_home))
    ledger.fit(old_home)
    sql = """SELECT clubhead_speed_mps, angle_of_attack_deg, club_speed_mps, attack_angle_deg
             FROM shots WHERE struck_at = '2026-07-20 08:00'"""
    assert query(old_home, sql).rows() == [(34.4, -4.1, 34.4, -4.1)]


def test_the_markers_of_an_upgraded_lake_name_todays_columns(old_home: Home) -> None:
    before = [lake.read_batch(old_home, number) for number in (1, 2, 3)]
    open_home(old_home)
    after = [lake.read_batch(old_home, number) for number in (1, 2, 3)]
    assert after[:2] == before[:2]
    (former,), (offer,) = before[2].offers, after[2].offers
    assert (offer.shots, offer.rejected) == (former.shots, former.rejected) == (5, 1)
    assert former.details["columns"]["Kv"] == "club_speed_mps"
    assert offer.details["columns"]["Kv"] == "clubhead_speed_mps"


@pytest.mark.parametrize("after_files", range(5))
def test_an_upgrade_that_was_interrupted_is_completed(
    old_home: Home, monkeypatch: pytest.MonkeyPatch, after_files: int
) -> None:
    whole = Home(shutil.copytree(OLDEST, old_home.root.with_name("whole")))
    open_home(whole)
    written: list[Path] = []

    def power_fails(path: Path, *rest: Any) -> None:
        if len(written) == after_files:
            path.with_suffix(".tmp").write_bytes(b"half a file")
            raise OSError("no power")
        write_parquet(path, *rest)
        written.append(path)

    write_parquet = lake.write_parquet
    monkeypatch.setattr(lake, "write_parquet", power_fails)
    if after_files < 4:
        with pytest.raises(OSError, match="no power"):
            open_home(old_home)
        assert home_version(old_home) == 1
    monkeypatch.undo()
    open_home(old_home)
    assert contents(old_home.lake) == contents(whole.lake)


def contents(folder: Path) -> dict[str, bytes]:
    files = (path for path in folder.rglob("*") if path.is_file())
    return {str(path.relative_to(folder)): path.read_bytes() for path in files}


def test_a_damaged_file_stops_the_upgrade_with_a_plain_sentence(old_home: Home) -> None:
    damaged = next(old_home.lake.rglob("00000003.parquet"))
    whole = damaged.read_bytes()
    damaged.write_bytes(whole[: len(whole) // 2])
    with pytest.raises(HomeError, match=r"is damaged, so the home can't be upgraded"):
        open_home(old_home)
    damaged.write_bytes(whole)
    open_home(old_home)
    assert home_version(old_home) == HOME_VERSION


def test_a_home_without_its_version_is_taken_for_the_oldest(old_home: Home) -> None:
    old_home.version_file.unlink()
    open_home(old_home)
    assert home_version(old_home) == HOME_VERSION


def test_steps_run_in_order_and_an_interrupted_one_again(
    old_home: Home, monkeypatch: pytest.MonkeyPatch
) -> None:
    ran: list[int] = []

    def second(home: Home) -> None:
        ran.append(HOME_VERSION + 1)
        if len(ran) == 2:
            raise OSError("the machine went down")

    open_home(old_home)
    steps = {HOME_VERSION: lambda home: ran.append(HOME_VERSION), HOME_VERSION + 1: second}
    monkeypatch.setattr(upgrades, "STEPS", steps)
    to = HOME_VERSION + 2
    with pytest.raises(OSError, match="went down"):
        upgrades.upgrade(old_home, to_version=to)
    assert home_version(old_home) == HOME_VERSION + 1
    assert upgrades.upgrade(old_home, to_version=to) == [HOME_VERSION + 1]
    assert ran == [HOME_VERSION, HOME_VERSION + 1, HOME_VERSION + 1]
    assert upgrades.upgrade(old_home, to_version=to) == []


def test_a_home_with_no_way_up_or_of_a_newer_program_is_refused(old_home: Home) -> None:
    open_home(old_home)
    with pytest.raises(HomeError, match="Install the rangeledger that made it"):
        upgrades.upgrade(old_home, to_version=HOME_VERSION + 1)
    old_home.version_file.write_text(json.dumps({"home_version": HOME_VERSION + 1}))
    with pytest.raises(HomeError, match="Install a newer rangeledger"):
        open_home(old_home)
