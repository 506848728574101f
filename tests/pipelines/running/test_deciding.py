"""Of two exports of the same shots the newer counts, or the one that the user prefers."""

from __future__ import annotations

import os

import pytest
from rangeledger.pipelines.loading import inbox
from rangeledger.pipelines.main import app
from rangeledger.pipelines.running import deciding, ledger
from rangeledger.schemas.errors import UsageError
from rangeledger.warehouse.database import query
from rangeledger.warehouse.home import Home
from typer.testing import CliRunner

from tests.exports_text import seven_irons


def drop(home: Home, name: str, text: str, changed_s: int) -> None:
    path = home.inbox / name
    path.write_text(text)
    os.utime(path, (changed_s, changed_s))


def clubs(home: Home) -> list[tuple[object, ...]]:
    return query(home, "SELECT club, count(*) FROM shots GROUP BY ALL ORDER BY ALL").rows()


def test_the_newer_of_two_in_one_folder_counts_and_the_other_can_be_preferred(home: Home) -> None:
    drop(home, "z-visit.csv", seven_irons(), 1_780_000_000)
    drop(home, "corrected.csv", seven_irons(club="8 iron") + "\n", 1_780_000_600)
    ledger.load_plainly(home, inbox.waiting(home))
    ledger.complete(home)
    assert clubs(home) == [("8-iron", 6)]
    export, again = deciding.prefer(home, "z-visit.csv")
    assert export.file_name == "z-visit.csv"
    assert [told.changes for told in again] == [["6 shots: 8-iron → 7-iron"]]
    assert clubs(home) == [("7-iron", 6)]
    ledger.rebuild(home)
    assert clubs(home) == [("7-iron", 6)]
    deciding.prefer(home, "corrected.csv")
    assert clubs(home) == [("8-iron", 6)]
    assert query(home, "SELECT sum(shots - replaced)::INT FROM ingest_log").item() == 6
    with pytest.raises(UsageError, match="No export 'none'"):
        deciding.prefer(home, "none")


def test_an_exports_own_time_stamp_goes_before_its_files_change(home: Home) -> None:
    home.settings_file.write_text('zone = "UTC"\n')
    stamp = "Exported: 2026-05-0{} 18:03\n"
    drop(home, "a.csv", stamp.format(3) + seven_irons(club="8 iron"), 1_780_000_000)
    drop(home, "b.csv", stamp.format(2) + seven_irons(), 1_780_000_600)
    ledger.load_plainly(home, inbox.waiting(home))
    ledger.complete(home)
    assert clubs(home) == [("8-iron", 6)]


def test_what_was_taken_out_is_told_where_it_is_offered_again_and_in_status(home: Home) -> None:
    (home.inbox / "a.csv").write_text(seven_irons())
    ledger.load_plainly(home, inbox.waiting(home))
    ledger.complete(home)
    deciding.take_out(home, "a.csv", excluded=True)
    (home.inbox / "b.csv").write_text(seven_irons())
    (outcome,) = ledger.load_plainly(home, inbox.waiting(home))
    assert "a.csv, which was taken out" in outcome.reason
    assert "rangeledger include --export a.csv" in outcome.reason
    ledger.complete(home)
    told = CliRunner().invoke(app, ["--home", str(home.root), "status"]).output
    assert "nothing of them counts: a.csv. To take one back" in " ".join(told.split())
    deciding.take_out(home, "a.csv", excluded=False)
    (home.inbox / "c.csv").write_text(seven_irons())
    (outcome,) = ledger.load_plainly(home, inbox.waiting(home))
    assert outcome.reason == "The same bytes were loaded before as a.csv."
