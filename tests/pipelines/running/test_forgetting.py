"""What is forgotten leaves nothing in the home, and what is not stays as it was."""

from __future__ import annotations

import hashlib
import subprocess
from collections.abc import Callable
from pathlib import Path

import pytest
from rangeledger.pipelines.loading import inbox
from rangeledger.pipelines.main import app
from rangeledger.pipelines.running import arranging, deciding, forgetting, ledger
from rangeledger.schemas.errors import UsageError
from rangeledger.warehouse import lake
from rangeledger.warehouse.database import query
from rangeledger.warehouse.home import Home
from rangeledger.warehouse.kept_accounts import KeptAccount
from rangeledger.warehouse.opening import open_home
from rangeledger.warehouse.removing.forgetting import forgotten_files
from typer.testing import CliRunner

from tests.exports_text import HEADING, seven_irons
from tests.pipelines.killing import Operations
from tests.pipelines.remembering import remember_reading_and_fits

ADA, BO = "Ada Brook", "Bo Lind"


def both() -> str:
    """One export of two players' shots, with a summing line that names one of them."""
    rows = [*seven_irons(ADA).splitlines()[1:], *seven_irons(BO, "2026-05-03").splitlines()[1:]]
    return "\n".join([HEADING, *rows]) + "\n"


def take(home: Home, **texts: str) -> None:
    for name, text in texts.items():
        (home.inbox / f"{name}.csv").write_text(text)
    ledger.load_plainly(home, inbox.waiting(home))
    ledger.complete(home)


@pytest.fixture(autouse=True)
def _read_and_fit_once(monkeypatch: pytest.MonkeyPatch) -> None:
    remember_reading_and_fits(monkeypatch)


@pytest.fixture
def decided(filled: Home, tmp_path: Path) -> Home:
    """A home in which a player is named everywhere."""
    return _copier(filled, tmp_path)(0)


@pytest.fixture(scope="module")
def filled(tmp_path_factory: pytest.TempPathFactory) -> Home:
    """The same home, which the tests copy."""
    home = open_home(Home(tmp_path_factory.mktemp("filled") / "home"))
    take(
        home,
        **{
            "ada brook visit": seven_irons(ADA),
            "ada again": seven_irons("ADA BROOK", "2026-06-01"),
            "bo": seven_irons(BO, "2026-05-09"),
            "odd": f"nothing of the kind, said {ADA}\n",
        },
    )
    (session,) = query(home, f"SELECT min(session_id) FROM sessions WHERE player = '{ADA}'").row(0)
    deciding.decide(home, session, excluded=True, why="new balls")
    (other,) = query(home, f"SELECT session_id FROM sessions WHERE player = '{BO}'").row(0)
    deciding.decide(home, other, excluded=True, why=f"hit with {ADA}'s club")
    deciding.rename(home, "ADA BROOK", "Ada Brook-Vane")
    home.settings_file.write_text(
        f'zone = "UTC"\n[hands]\n"{ADA}" = "left"\n"{BO}" = "right"\n'
        f'[players."{ADA}"]\nhandicap = 18\n[players."{BO}"]\nhandicap = 9\n'
    )
    home.reports.mkdir()
    (home.reports / "report-ada-brook.html").write_text("of her")
    (home.reports / "card-ada-brook-vane.pdf").write_bytes(b"%PDF packed")
    (home.reports / "overview.html").write_text(f"{ADA} and {BO}")
    (home.reports / "report-bo-lind.html").write_text("of him")
    (home.logs / "service.log").write_text(
        f"loaded bo.csv\nfitted {ADA}\nloaded ada brook visit.csv\n"
    )
    (home.state / "prefect").mkdir()
    (home.state / "prefect" / "runs.db").write_bytes(b"records of ada brook visit.csv")
    account = KeptAccount(home)
    account.write({"artifact": {"description": "Load 1", "markdown": "ada brook visit.csv"}})
    account.close()
    (home.state / "writer.duckdb.damaged").write_bytes(b"\x00packed")
    ledger.complete(home)
    return home


def grep(home: Home, word: str) -> str:
    """What a search of the home's bytes finds (grep of POSIX.1-2017)."""
    words = ["grep", "-r", "-i", "-a", "-l", "-e", word, str(home.root)]
    return subprocess.run(words, capture_output=True, text=True, check=False).stdout


def test_a_player_is_gone_from_everywhere_and_the_others_stay(decided: Home) -> None:
    assert grep(decided, "ada.brook")
    before = query(decided, f"FROM shots WHERE player = '{BO}' ORDER BY ALL")
    fits = query(decided, f"FROM carry_by_club WHERE player = '{BO}'")
    weighed = forgetting.weigh_player(decided, "ada brook-vane")
    assert "export ada brook visit.csv" in weighed.summary
    assert forgetting.forget(decided, weighed) == []
    assert grep(decided, "ada.brook") == ""
    assert forgotten_files(decided, [ADA, "Ada Brook-Vane"]) == []
    assert query(decided, "SELECT DISTINCT player FROM shots").rows() == [(BO,)]
    assert query(decided, "FROM shots ORDER BY ALL").equals(before)
    assert query(decided, "FROM carry_by_club").equals(fits)
    assert query(decided, "SELECT excluded FROM sessions").rows() == [(True,)]
    assert [d["why"] for d in lake.read_decisions(decided)] == ["hit with (removed)'s club"]
    assert [p.name for p in decided.reports.iterdir()] == ["report-bo-lind.html"]
    assert decided.logs.joinpath("service.log").read_text() == "loaded bo.csv\n"
    settings = decided.settings_file.read_text()
    assert settings == f'zone = "UTC"\n[hands]\n"{BO}" = "right"\n[players."{BO}"]\nhandicap = 9\n'
    assert list(decided.quarantine.iterdir()) == []
    ledger.rebuild(decided)
    assert query(decided, "FROM shots ORDER BY ALL").equals(before)


def test_the_same_bytes_offered_again_load_again(decided: Home) -> None:
    forgetting.forget(decided, forgetting.weigh_player(decided, "Ada Brook-Vane"))
    take(decided, again=seven_irons(ADA))
    found = query(decided, "SELECT player, count(*) FROM shots GROUP BY ALL ORDER BY ALL").rows()
    assert found == [(ADA, 6), (BO, 6)]


def test_an_export_is_gone_and_loads_again(decided: Home) -> None:
    sha = hashlib.sha256(seven_irons(BO, "2026-05-09").encode()).hexdigest()
    weighed = forgetting.weigh_export(decided, "bo.csv")
    assert forgetting.forget(decided, weighed) == []
    assert grep(decided, sha) == ""
    assert grep(decided, r"bo\.csv") == ""
    assert query(decided, "SELECT DISTINCT player FROM shots").rows() == [("Ada Brook-Vane",)]
    assert not (decided.reports / "report-bo-lind.html").exists()
    take(decided, bo=seven_irons(BO, "2026-05-09"))
    assert query(decided, "SELECT count(DISTINCT player) FROM shots").item() == 2


def test_a_shared_original_is_refused_or_cut_or_forgotten_for_both(home: Home) -> None:
    take(home, shared=both())
    (session,) = query(home, f"SELECT session_id FROM sessions WHERE player = '{BO}'").row(0)
    deciding.decide(home, session, excluded=True)
    before = query(home, f"FROM shots WHERE player = '{BO}' ORDER BY shot_number")
    weighed = forgetting.weigh_player(home, ADA)
    assert [(one.file_name, one.others) for one in weighed.shared] == [("shared.csv", [BO])]
    cut = forgetting.weigh_player(home, ADA, cut=True)
    assert forgetting.forget(home, cut) == []
    assert grep(home, ADA) == ""
    after = query(home, "FROM shots ORDER BY shot_number")
    same = [name for name in after.columns if name not in ("shot_id", "source_file", "source_row")]
    assert after.select(same).equals(before.select(same))
    assert after["excluded"].all()
    (original,) = (p for p in home.archive.rglob("*.csv"))
    text = original.read_text()
    assert hashlib.sha256(text.encode()).hexdigest() == after["source_file"][0]
    lines = text.splitlines()
    assert all(BO in lines[row - 1] for row in after["source_row"])
    assert len(lines) == 7


def test_a_session_that_was_moved_goes_with_its_player_and_not_with_the_other(home: Home) -> None:
    take(home, first=seven_irons(ADA), second=seven_irons(ADA, "2026-05-03"))
    (session,) = query(home, "SELECT arg_max(session_id, started_at) FROM sessions").row(0)
    arranging.move_session(home, session, BO)
    assert [one.others for one in forgetting.weigh_player(home, ADA).shared] == [[BO]]
    weighed = forgetting.weigh_player(home, BO)
    assert weighed.shared == []
    assert forgetting.forget(home, weighed) == []
    assert query(home, "SELECT player, count(*) FROM shots GROUP BY ALL").rows() == [(ADA, 6)]
    assert lake.read_decisions(home) == []


def test_shared_originals_may_go_for_both(home: Home) -> None:
    take(home, shared=both(), bo=seven_irons(BO, "2026-06-09"))
    forgetting.forget(home, forgetting.weigh_player(home, ADA, both=True))
    assert query(home, "SELECT player, count(*) FROM shots GROUP BY ALL").rows() == [(BO, 6)]
    assert grep(home, ADA) == ""


def test_what_can_not_be_meant_is_refused(decided: Home) -> None:
    for wanted in ("Nobody", "unknown", "Ada"):
        with pytest.raises(UsageError):
            forgetting.weigh_player(decided, wanted)
    with pytest.raises(UsageError, match="No export"):
        forgetting.weigh_export(decided, "nothing.csv")
    (decided.inbox / "new.csv").write_text(seven_irons("Ada Brook-Vane"))
    with pytest.raises(UsageError, match=r"new\.csv names the player"):
        forgetting.weigh_player(decided, "Ada Brook-Vane")


def test_the_command_asks_first(decided: Home) -> None:
    words = ["--home", str(decided.root), "forget", "--player", "Ada Brook-Vane"]
    refused = CliRunner().invoke(app, words, input="n\n")
    assert refused.exit_code == 0
    assert "Nothing was changed" in refused.output
    assert query(decided, "SELECT count(*) FROM shots").item() == 18
    done = CliRunner().invoke(app, [*words, "--yes"])
    assert done.exit_code == 0, done.output
    assert "All this is gone" in done.output
    assert grep(decided, "ada.brook") == ""


class _Killed(BaseException):
    """Stands for the end of the process."""


@pytest.mark.parametrize("cut", [False, True])
@pytest.mark.parametrize("every", [13, pytest.param(3, marks=pytest.mark.long)])
def test_killed_on_the_way_it_is_gone_after_the_next_start(
    home: Home, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, cut: bool, every: int
) -> None:
    def killed() -> None:
        raise _Killed

    take(home, shared=both()) if cut else take(home, ada=seven_irons(ADA))
    take(home, bo=seven_irons(BO, "2026-06-09"))
    expected = 12 if cut else 6
    copies = _copier(home, tmp_path)
    for at in range(1, 80, every):
        copy = copies(at)
        weighed = forgetting.weigh_player(copy, ADA, cut=cut)
        with pytest.MonkeyPatch.context() as patch:
            Operations(at, killed).hook(patch.setattr)
            try:
                forgetting.forget(copy, weighed)
            except _Killed:
                pass
            else:
                break
        ledger.complete(copy)
        if any(ADA in str(row) for row in query(copy, "FROM shots").rows()):
            forgetting.forget(copy, forgetting.weigh_player(copy, ADA, cut=cut))
        assert grep(copy, ADA) == ""
        assert query(copy, "SELECT count(*) FROM shots").item() == expected
    else:
        pytest.fail("never ran to its end")


def _copier(home: Home, folder: Path) -> Callable[[int], Home]:
    def copied(number: int) -> Home:
        target = folder / f"copy-{number}"
        subprocess.run(["cp", "-a", str(home.root), str(target)], check=True)
        return open_home(Home(target))

    return copied
