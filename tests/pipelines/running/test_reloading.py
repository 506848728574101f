"""Kept originals are read again under today's mappings, notes and settings."""

from __future__ import annotations

from pathlib import Path

import pytest
from rangeledger.pipelines.loading import inbox, load
from rangeledger.pipelines.loading.outcome import Outcome
from rangeledger.pipelines.running import deciding, ledger, reloading
from rangeledger.pipelines.running.reloading import ReloadRequest
from rangeledger.schemas.errors import UsageError
from rangeledger.schemas.reasons import State
from rangeledger.warehouse.database import query
from rangeledger.warehouse.home import Home
from rangeledger.warehouse.stores.originals import archived

from tests.exports_text import MAPPING, seven_irons
from tests.pipelines.killing import Operations

UNCLEAR = (
    "Aa,Bb,Cc,Dd\n"
    + "\n".join(f"7 Iron,{48 + n / 10:.1f},{17 + n / 5:.1f},{137.9 + n:.1f}" for n in range(6))
    + "\n"
)


@pytest.fixture(autouse=True)
def _read_here(monkeypatch: pytest.MonkeyPatch) -> None:
    """Read in this process, which is quicker for a few small exports."""

    def prepare(home: Home, settings: object, outcomes: list[Outcome], on_done: object = None,
                _readers: object = None) -> list[Outcome]:  # fmt: skip
        return plain(home, settings, outcomes, on_done)

    plain = load.prepare
    monkeypatch.setattr(load, "prepare", prepare)
    monkeypatch.setattr(reloading, "Readers", _NoReaders)


class _NoReaders:
    def __init__(self, home: Home, *, cluster: object) -> None: ...
    def __enter__(self) -> _NoReaders:
        return self

    def __exit__(self, *_: object) -> None: ...
    def expect(self, *_: object) -> None: ...


def take(home: Home, **texts: str) -> None:
    """Load exports by name, and publish."""
    for name, text in texts.items():
        (home.inbox / f"{name}.csv").write_text(text)
    ledger.load_plainly(home, inbox.waiting(home))
    ledger.complete(home)


def starts(home: Home) -> list[tuple[object, ...]]:
    return query(
        home, "SELECT strftime(started_at, '%H:%M'), shots, excluded FROM sessions ORDER BY ALL"
    ).rows()


def zone(home: Home, name: str) -> None:
    home.settings_file.write_text(f'zone = "{name}"\n')


def test_a_zone_that_is_set_later_moves_the_times_and_decisions_stay(home: Home) -> None:
    zone(home, "UTC")
    take(home, visit=seven_irons())
    (session,) = query(home, "SELECT session_id FROM sessions")["session_id"]
    deciding.decide(home, session, excluded=True)
    zone(home, "Europe/Stockholm")
    (done,) = reloading.reload(home, ReloadRequest())
    assert done.state is State.LOADED
    assert starts(home) == [("07:00", 6, True)]
    assert query(home, "SELECT shots - replaced FROM ingest_log ORDER BY ALL").rows() == [
        (0,),
        (6,),
    ]
    assert reloading.reload(home, ReloadRequest()) == []
    before = query(home, "FROM shots ORDER BY ALL")
    ledger.rebuild(home)
    assert query(home, "FROM shots ORDER BY ALL").equals(before)


def test_other_bytes_of_a_visit_in_another_zone_are_the_same_visit(home: Home) -> None:
    zone(home, "UTC")
    take(home, visit=seven_irons())
    zone(home, "Europe/Stockholm")
    take(home, visit=seven_irons() + "\n")
    assert starts(home) == [("07:00", 6, False)]


def test_a_note_that_comes_late_names_the_player(home: Home) -> None:
    nameless = "\n".join(row.split(",", 1)[1] for row in seven_irons().splitlines())
    take(home, visit=nameless)
    (home.inbox / "visit.toml").write_text('player = "Mia Sander"\n')
    take(home, visit=nameless)
    assert query(home, "SELECT DISTINCT player FROM shots").rows() == [("unknown",)]
    reloading.reload(home, ReloadRequest())
    assert query(home, "SELECT DISTINCT player FROM shots").rows() == [("Mia Sander",)]
    assert query(home, "SELECT DISTINCT player FROM carry_by_club").rows() == [("Mia Sander",)]


def test_a_refused_export_is_read_when_its_mapping_has_come(home: Home) -> None:
    take(home, odd=UNCLEAR)
    assert (home.quarantine / "odd.csv").exists()
    (again,) = reloading.reload(home, ReloadRequest(["odd.csv"]))
    assert again.state is State.QUARANTINED
    (home.mappings / "odd.toml").write_text(MAPPING)
    (again,) = reloading.reload(home, ReloadRequest())
    assert (again.state, again.shot_count) == (State.LOADED, 6)
    assert list(home.quarantine.iterdir()) == []
    assert archived(home, again.source_file) is not None
    assert query(home, "SELECT count(*) FROM shots").item() == 6


def test_an_export_that_can_not_be_read_any_more_keeps_its_shots(home: Home) -> None:
    (home.mappings / "odd.toml").write_text(MAPPING)
    take(home, odd=UNCLEAR)
    (home.mappings / "odd.toml").unlink()
    (again,) = reloading.reload(home, ReloadRequest())
    assert again.state is State.QUARANTINED
    assert query(home, "SELECT count(*) FROM shots").item() == 6
    with pytest.raises(UsageError, match="neither in the archive nor in quarantine"):
        reloading.reload(home, ReloadRequest(["nothing.csv"]))


class _Killed(BaseException):
    """Stands for the end of the process."""


def test_killed_on_the_way_it_is_completed_by_the_next_start(home: Home, tmp_path: Path) -> None:
    def killed() -> None:
        raise _Killed

    zone(home, "UTC")
    take(home, odd=UNCLEAR, visit=seven_irons())
    (home.mappings / "odd.toml").write_text(MAPPING)
    zone(home, "Europe/Stockholm")
    for at in range(1, 40, 4):
        with pytest.MonkeyPatch.context() as patch:
            operations = Operations(at, killed)
            operations.hook(patch.setattr)
            try:
                reloading.reload(home, ReloadRequest())
            except _Killed:
                ledger.complete(home)
            else:
                break
        found = query(home, "SELECT count(*), count(DISTINCT shot_id) FROM shots").row(0)
        assert found in ((6, 6), (12, 12))
    reloading.reload(home, ReloadRequest())
    assert query(home, "SELECT count(*) FROM shots").item() == 12
    assert list(home.quarantine.iterdir()) == []
    assert [row for row in starts(home) if row[0] is not None] == [("07:00", 6, False)]
