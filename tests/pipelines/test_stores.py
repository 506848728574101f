"""What holds of a home that keeps its loads itself, and of one that shares a store, alike."""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path

import pytest
from rangeledger.pipelines.loading import inbox
from rangeledger.pipelines.running import arranging, deciding, forgetting, healing, ledger
from rangeledger.pipelines.running.reloading import ReloadRequest, reload
from rangeledger.schemas.reasons import State
from rangeledger.warehouse import lake
from rangeledger.warehouse.database import query
from rangeledger.warehouse.home import Home
from rangeledger.warehouse.lake_damage import lake_damage
from rangeledger.warehouse.stores.store import store_of

from tests.exports_text import seven_irons
from tests.pipelines.remembering import remember_reading_and_fits


@pytest.fixture(autouse=True)
def _read_and_fit_once(monkeypatch: pytest.MonkeyPatch) -> None:
    remember_reading_and_fits(monkeypatch)


@pytest.fixture(
    params=["home", pytest.param("shared", marks=[pytest.mark.fleet, pytest.mark.slow])]
)
def kept(request: pytest.FixtureRequest, tmp_path: Path, home: Home) -> Iterator[Home]:
    """A home of each kind."""
    if request.param == "home":
        home.settings_file.write_text('zone = "Europe/Stockholm"\n')
        yield home
        return
    place = request.getfixturevalue("shared_place")
    yield place.home(tmp_path / "following", place.academy())


def drop(home: Home, name: str, text: str, changed_s: int = 1_780_000_000) -> None:
    path = home.inbox / name
    path.write_text(text)
    os.utime(path, (changed_s, changed_s))


def load(home: Home) -> list[str]:
    outcomes = ledger.load_plainly(home, inbox.waiting(home))
    ledger.complete(home)
    return [outcome.state.value if outcome.state else outcome.left for outcome in outcomes]


def counted(home: Home) -> list[tuple[object, ...]]:
    return query(home, "SELECT player, club, count(*) FROM shots GROUP BY ALL ORDER BY ALL").rows()


def test_an_export_is_loaded_once_fitted_and_kept(kept: Home) -> None:
    drop(kept, "a.csv", seven_irons())
    drop(kept, "refused.csv", "nothing of the kind")
    assert load(kept) == ["loaded", "quarantined"]
    drop(kept, "b.csv", seven_irons())
    assert load(kept) == ["duplicate"]
    assert counted(kept) == [("Ada Brook", "7-iron", 6)]
    assert query(kept, "SELECT shots FROM carry_by_club").item() == 6
    source = query(kept, "SELECT source_file FROM ingest_log WHERE state = 'loaded'").item()
    original = store_of(kept).original(source)
    assert original is not None
    assert original.read_text() == seven_irons()
    assert (kept.quarantine / "refused.csv").exists()
    assert not inbox.waiting(kept)
    assert ledger.complete(kept) is False


def test_what_a_user_decides_counts_also_after_a_rebuild(kept: Home) -> None:
    drop(kept, "z-visit.csv", seven_irons())
    drop(kept, "corrected.csv", seven_irons(club="8 iron") + "\n", 1_780_000_600)
    load(kept)
    assert counted(kept) == [("Ada Brook", "8-iron", 6)]
    deciding.prefer(kept, "z-visit.csv")
    deciding.rename(kept, "Ada Brook", "Ada B. Brook")
    session = query(kept, "SELECT session_id FROM sessions").item()
    deciding.decide(kept, session, excluded=True, why="rain")
    ledger.rebuild(kept)
    assert counted(kept) == [("Ada B. Brook", "7-iron", 6)]
    assert query(kept, "SELECT excluded FROM sessions").item() is True
    deciding.decide(kept, session, excluded=False)
    assert query(kept, "SELECT excluded FROM sessions").item() is False


@pytest.mark.parametrize(
    "kept",
    ["home", pytest.param("shared", marks=[pytest.mark.fleet, pytest.mark.long])],
    indirect=True,
)
def test_a_moved_and_a_merged_session_stay_so_through_a_correction_and_a_rebuild(
    kept: Home,
) -> None:
    asked = "SELECT player, shots, excluded, moved, merged FROM sessions ORDER BY ALL"
    drop(kept, "a.csv", seven_irons())
    drop(kept, "b.csv", seven_irons(day="2026-05-12", club="8 iron"))
    drop(kept, "c.csv", seven_irons(day="2026-05-22", club="9 iron"))
    load(kept)
    by_day = dict(query(kept, "SELECT day(started_at), session_id FROM sessions").rows())
    deciding.decide(kept, by_day[2], excluded=True)
    arranging.move_session(kept, by_day[22], "Zoe Marsh")
    merged = arranging.merge(kept, by_day[2], by_day[12])
    assert merged.excluded
    drop(
        kept, "c-corrected.csv", seven_irons(day="2026-05-22", club="7 iron") + "\n", 1_780_000_600
    )
    load(kept)
    there = [("Ada Brook", 12, True, False, 2), ("Zoe Marsh", 6, False, True, 1)]
    assert query(kept, asked).rows() == there
    assert query(kept, "SELECT player, club, shots FROM carry_by_club ORDER BY ALL").rows() == [
        ("Zoe Marsh", "7-iron", 6)
    ]
    ledger.rebuild(kept)
    assert query(kept, asked).rows() == there
    assert query(kept, "SELECT sum(shots - replaced)::INT FROM ingest_log").item() == 18
    arranging.part(kept, merged.sessions[0])
    arranging.move_session(kept, by_day[22], None)
    assert query(kept, asked).rows() == [
        ("Ada Brook", 6, False, False, 1), ("Ada Brook", 6, False, False, 1),
        ("Ada Brook", 6, True, False, 1),
    ]  # fmt: skip
    assert ledger.complete(kept) is False


def test_an_export_is_read_again_under_a_note_that_came_late(kept: Home) -> None:
    drop(kept, "a.csv", seven_irons())
    load(kept)
    source = query(kept, "SELECT source_file FROM ingest_log").item()
    note = kept.archive / source[:2] / f"{source}.note.toml"
    note.write_text('ball = "range"\n')
    outcomes = reload(kept, ReloadRequest(["a.csv"]))
    assert [outcome.state for outcome in outcomes] == [State.LOADED]
    assert query(kept, "SELECT ball, count(*) FROM shots GROUP BY ALL").rows() == [("range", 6)]


def test_a_forgotten_player_is_gone_and_the_others_stay(kept: Home) -> None:
    drop(kept, "a.csv", seven_irons())
    drop(kept, "z.csv", seven_irons("Zoe Marsh", "2026-05-03"))
    load(kept)
    assert forgetting.forget(kept, forgetting.weigh_player(kept, "Ada Brook")) == []
    ledger.complete(kept)
    assert counted(kept) == [("Zoe Marsh", "7-iron", 6)]
    drop(kept, "a.csv", seven_irons())
    assert load(kept) == ["loaded"]
    assert len(counted(kept)) == 2


def test_a_damaged_file_of_the_lake_is_put_right(kept: Home) -> None:
    drop(kept, "a.csv", seven_irons())
    load(kept)
    (file,) = lake.shot_files(kept, [1])
    file.write_bytes(file.read_bytes()[:-30])
    assert healing.heal(kept) != []
    assert lake_damage(kept, everything=True) == []
    ledger.rebuild(kept)
    assert counted(kept) == [("Ada Brook", "7-iron", 6)]
