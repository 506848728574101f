from __future__ import annotations

from collections.abc import Callable
from threading import Event
from typing import Any

import pytest
from rangeledger.pipelines.loading import inbox
from rangeledger.pipelines.main import app
from rangeledger.pipelines.running import exhaustion, fitting, ledger
from rangeledger.pipelines.running.fit_exhaustion import FitWatch
from rangeledger.pipelines.running.fit_faults import fit_faults
from rangeledger.warehouse.database import query
from rangeledger.warehouse.home import Home
from rangeledger.warehouse.system.memory import Memory
from typer.testing import CliRunner

from tests.exports_text import seven_irons


@pytest.fixture
def three_players(home: Home) -> Home:
    for name in ("Ada Brook", "Bo Lind", "Emil Vasse"):
        (home.inbox / f"{name}.csv").write_text(seven_irons(name))
    ledger.load_plainly(home, inbox.waiting(home))
    return home


def fails_for(player: str, monkeypatch: pytest.MonkeyPatch) -> list[int]:
    """Have one player's fit fail; returns a list that grows with every attempt."""
    real, attempts = fitting.fit_player, list[int]()

    def fit_player(shots: Any, settings: Any) -> Any:
        if shots["player"].first() == player:
            attempts.append(shots.height)
            raise ZeroDivisionError("no such curve")
        return real(shots, settings)

    monkeypatch.setattr(fitting, "fit_player", fit_player)
    return attempts


def fitted(home: Home) -> list[str]:
    rows = query(home, "SELECT DISTINCT player FROM carry_by_club ORDER BY ALL")
    return rows["player"].to_list()


def status(home: Home, *words: str) -> str:
    return CliRunner().invoke(app, ["--home", str(home.root), *words]).output


def test_one_players_failing_fit_stops_nobody_and_is_told(
    three_players: Home, monkeypatch: pytest.MonkeyPatch
) -> None:
    attempts = fails_for("Bo Lind", monkeypatch)
    assert ledger.complete(three_players)
    assert fitted(three_players) == ["Ada Brook", "Emil Vasse"]
    assert query(three_players, "SELECT count(*) FROM shots").item() == 18
    told = " ".join(status(three_players, "status").split())
    assert "fit of Bo Lind (ZeroDivisionError) failed" in told
    assert "'rangeledger fit' tries again" in told
    assert "lacks fits" in status(three_players, "checkup")
    assert "no such curve" in (three_players.logs / "faults.log").read_text()
    assert not ledger.complete(three_players)
    assert attempts == [6]


def test_a_failed_fit_is_tried_again_with_the_next_load_and_on_demand(
    three_players: Home, monkeypatch: pytest.MonkeyPatch
) -> None:
    with monkeypatch.context() as patch:
        attempts = fails_for("Bo Lind", patch)
        ledger.complete(three_players)
        (three_players.inbox / "later.csv").write_text(seven_irons("Ada Brook", "2026-07-01"))
        ledger.load_plainly(three_players, inbox.waiting(three_players))
        ledger.complete(three_players)
        assert attempts == [6, 6]
        answer = CliRunner().invoke(app, ["--home", str(three_players.root), "fit"])
        assert answer.exit_code == 3
        assert attempts == [6, 6, 6]
    assert "Fitted 1 player." in status(three_players, "fit")
    assert fitted(three_players) == ["Ada Brook", "Bo Lind", "Emil Vasse"]
    assert fit_faults(three_players) == {}
    assert "failed fits" not in status(three_players, "status")


def test_a_fit_that_the_tables_do_not_take_is_the_players_fault_too(
    three_players: Home, monkeypatch: pytest.MonkeyPatch
) -> None:
    real = fitting.fit_player

    def twice_the_same(shots: Any, settings: Any) -> Any:
        fits = real(shots, settings)
        if shots["player"].first() == "Bo Lind":
            fits["carry"] = fits["carry"].rename({"club": "no_club"})
        return fits

    monkeypatch.setattr(fitting, "fit_player", twice_the_same)
    ledger.complete(three_players)
    assert list(fit_faults(three_players)) == ["Bo Lind"]
    assert fitted(three_players) == ["Ada Brook", "Emil Vasse"]


_PUTTS = "Date,Player,Club,Ball Speed (mph),Launch Direction (deg),{heading}\n" + "".join(
    f"2026-05-02 10:{n:02}:00,Ada Brook,Putter,5.{n % 9},{0.2 * (n % 5) - 0.5:.1f},"
    f"{{cells[{n % 3}]}}\n"
    for n in range(36)
)


def putts_of_ada(home: Home, name: str, heading: str, *cells: str) -> list[tuple[str, int]]:
    """Load 36 putts with a column beside; putts by break as the published view has them."""
    (home.inbox / name).write_text(_PUTTS.format(heading=heading, cells=cells))
    ledger.load_plainly(home, inbox.waiting(home))
    ledger.complete(home)
    return query(home, "SELECT break, putts FROM putting_start_line ORDER BY ALL").rows()


def test_putts_are_told_by_break_where_their_export_says_it(home: Home) -> None:
    told = putts_of_ada(home, "putts.csv", "Break", "Left to right", "R-L", "")
    assert told == [("all", 36), ("left-to-right", 12), ("right-to-left", 12)]


def test_a_corrected_break_counts(home: Home) -> None:
    assert putts_of_ada(home, "putts.csv", "Remark", "good", "fair", "") == [("all", 36)]
    told = putts_of_ada(home, "later.csv", "Slope", "straight", "straight", "uphill")
    assert told == [("all", 36), ("straight", 24)]


class Ended(BaseException):
    """Stands for the end of the process."""


def exhausts_for(
    player: str, monkeypatch: pytest.MonkeyPatch
) -> tuple[Callable[[Home], bool], list[str], list[str]]:
    """Have one player's fit take all memory: how to go on with a home, whose fits, what is said."""
    real, attempts, said = fitting.fit_player, list[str](), list[str]()
    full, ended = Event(), Event()
    monkeypatch.setattr(exhaustion, "_POLL_S", 0.01)

    def fit_player(shots: Any, settings: Any) -> Any:
        attempts.append(str(shots["player"].first()))
        if attempts[-1] == player:
            full.set()
            ended.wait()
            raise Ended
        return real(shots, settings)

    def memory() -> Memory:
        return Memory(200.0, 10000.0, 9000.0) if full.is_set() else Memory(8000.0, 10000.0, 500.0)

    def end(sentence: str) -> None:
        said.append(sentence)
        ended.set()

    def goes_on(home: Home) -> bool:
        full.clear()
        ended.clear()
        try:
            ledger.complete(home)
        except Ended:
            return False
        return True

    monkeypatch.setattr(fitting, "fit_player", fit_player)
    monkeypatch.setattr(fitting, "FitWatch", lambda home: FitWatch(home, end=end, memory=memory))
    return goes_on, attempts, said


def test_a_fit_that_exhausts_the_machine_is_given_up_and_the_others_go_on(
    three_players: Home, monkeypatch: pytest.MonkeyPatch
) -> None:
    with monkeypatch.context() as patch:
        goes_on, attempts, said = exhausts_for("Bo Lind", patch)
        assert not goes_on(three_players)
        assert not goes_on(three_players)  # now each by itself
        assert said[-1].startswith("Fitting Bo Lind took nearly all memory and was ended")
        assert goes_on(three_players)
        assert attempts.count("Bo Lind") == 2
        assert fitted(three_players) == ["Ada Brook", "Emil Vasse"]
        told = " ".join(status(three_players, "status").split())
        assert "fit of Bo Lind (took nearly all memory) failed" in told
        assert not ledger.complete(three_players)  # nothing is left that could be done
        # Other players' loads leave it alone; a load of the player's own is another fit.
        for name, day in (("Ada Brook", "2026-07-01"), ("Bo Lind", "2026-07-02")):
            (three_players.inbox / f"{day}.csv").write_text(seven_irons(name, day))
            ledger.load_plainly(three_players, inbox.waiting(three_players))
            assert goes_on(three_players) is (name == "Ada Brook")
        assert attempts.count("Bo Lind") == 3
        assert goes_on(three_players)
    assert "Fitted 1 player." in status(three_players, "fit")  # who asks has it tried again
    assert fitted(three_players) == ["Ada Brook", "Bo Lind", "Emil Vasse"]
    assert fit_faults(three_players) == {}
