"""One file never stops another, whatever its name or kind."""

from __future__ import annotations

import os
from pathlib import Path

import pytest
from rangeledger.pipelines.loading import inbox
from rangeledger.pipelines.loading import load as steps
from rangeledger.pipelines.loading.outcome import Outcome, Unread
from rangeledger.pipelines.loading.read_one import ReadResult
from rangeledger.pipelines.running.plain_loads import load_one_by_one, load_plainly
from rangeledger.schemas.reasons import State
from rangeledger.warehouse import lake
from rangeledger.warehouse.home import Home

from tests.exports_text import seven_irons

NOT_UTF8 = os.fsdecode(b"visit-\xe9\xff.csv")
LONG = "v" * 251 + ".csv"
LONG_REFUSED = "w" * 251 + ".csv"


def load(home: Home) -> dict[str, State]:
    outcomes = load_plainly(home, inbox.waiting(home))
    assert [(o.offered.file_name, o.left) for o in outcomes if o.left] == []
    return {o.offered.file_name: o.state for o in outcomes}


def test_names_that_are_no_text_or_very_long_are_loaded_and_refused_like_others(
    home: Home,
) -> None:
    (home.inbox / "plain.csv").write_text(seven_irons("Ada Brook"))
    (home.inbox / NOT_UTF8).write_text(seven_irons("Bo Lind"))
    (home.inbox / LONG).write_text(seven_irons("Cy Vale"))
    (home.inbox / LONG_REFUSED).write_text("a,b\n1,2\n")
    (home.inbox / os.fsdecode(b"refused-\xff.csv")).write_text("c,d\n1,2\n")
    (home.inbox / ("x." + "y" * 240)).write_text(seven_irons("Di Moor"))
    states = load(home)
    assert states["plain.csv"] is State.LOADED
    assert states["visit-\\xe9\\xff.csv"] is State.LOADED
    assert states[LONG] is State.LOADED
    assert states[LONG_REFUSED] is State.QUARANTINED
    assert states["refused-\\xff.csv"] is State.QUARANTINED
    assert list(home.inbox.iterdir()) == []
    assert len([p for p in home.archive.rglob("*") if p.is_file()]) == 4
    kept = {p.read_bytes() for p in home.quarantine.glob("*.csv")}
    assert kept == {b"a,b\n1,2\n", b"c,d\n1,2\n"}
    named = [offer.file_name for offer in lake.read_batch(home, 1).offers]
    assert "visit-\\xe9\\xff.csv" in named


def test_an_interrupted_load_of_an_odd_name_is_completed(home: Home) -> None:
    (home.inbox / NOT_UTF8).write_text(seven_irons())
    outcomes = load_plainly(home, inbox.waiting(home))
    assert [o.state for o in outcomes] == [State.LOADED]
    (original,) = home.archive.rglob("*.csv")
    os.rename(original, home.inbox / NOT_UTF8)  # as if killed before it was moved
    (home.state / "settled").write_text("0")
    steps.recover(home)
    assert list(home.inbox.iterdir()) == []
    assert [p.name for p in home.archive.rglob("*.csv")] == [original.name]


def test_links_are_refused_and_never_reach_the_archive(home: Home, tmp_path: Path) -> None:
    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()
    (elsewhere / "s.csv").write_text(seven_irons())
    (home.inbox / "link.csv").symlink_to(elsewhere / "s.csv")
    (home.inbox / "dangling.csv").symlink_to(tmp_path / "nowhere")
    (home.inbox / "folder").symlink_to(elsewhere)
    (home.inbox / "plain.csv").write_text(seven_irons("Bo Lind"))
    (tmp_path / "note.toml").write_text('ball = "range"\n')
    (home.inbox / "plain.toml").symlink_to(tmp_path / "note.toml")
    states = load(home)
    assert states.pop("plain.csv") is State.LOADED
    assert set(states) == {"link.csv", "dangling.csv", "folder"}
    assert set(states.values()) == {State.QUARANTINED}
    assert list(home.inbox.iterdir()) == []
    assert [p for p in home.archive.rglob("*") if p.is_symlink()] == []
    (note,) = home.archive.rglob("*.note.toml")
    assert note.read_text() == 'ball = "range"\n'
    assert (tmp_path / "note.toml").exists()
    assert "link" in (home.quarantine / "folder.reason.txt").read_text()


def test_an_export_that_makes_a_load_fail_is_refused_and_the_others_are_loaded(
    home: Home, monkeypatch: pytest.MonkeyPatch
) -> None:
    for name in ("a", "b", "c", "d", "e"):
        (home.inbox / f"{name}.csv").write_text(seven_irons(f"Player {name}"))
    read = Unread.read

    def upset(outcome: Unread, found: ReadResult) -> Outcome:
        if outcome.offered.file_name == "c.csv":
            raise ZeroDivisionError("a fault of the program")
        return read(outcome, found)

    monkeypatch.setattr(Unread, "read", upset)
    outcomes = load_one_by_one(home, inbox.waiting(home), ZeroDivisionError())
    states = {o.offered.file_name: o.state for o in outcomes}
    assert states.pop("c.csv") is State.QUARANTINED
    assert set(states.values()) == {State.LOADED}
    assert "made the load fail" in (home.quarantine / "c.csv.reason.txt").read_text()


def test_a_file_that_may_not_be_moved_stays_and_others_are_loaded(
    home: Home, monkeypatch: pytest.MonkeyPatch
) -> None:
    barred = home.inbox / "barred"
    barred.mkdir()
    (barred / "a.csv").write_text(seven_irons())
    (home.inbox / "b.csv").write_text(seven_irons("Bo Lind"))
    access = os.access

    def denied(path: Path, mode: int) -> bool:
        return Path(path) != barred and access(path, mode)

    monkeypatch.setattr(os, "access", denied)
    outcomes = {o.offered.file_name: o for o in load_plainly(home, inbox.waiting(home))}
    assert "permission to write is needed" in outcomes["a.csv"].left
    assert outcomes["b.csv"].state is State.LOADED
    assert (barred / "a.csv").exists()
