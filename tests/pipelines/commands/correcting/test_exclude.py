"""`rangeledger exclude` and `include`."""

from __future__ import annotations

from rangeledger.pipelines.main import app
from rangeledger.warehouse.database import query
from rangeledger.warehouse.home import Home
from typer.testing import CliRunner

from tests.made_home import ADA


def test_a_session_is_left_out_once_and_taken_back_once(own_made_home: Home) -> None:
    home = own_made_home

    def told(*words: str) -> str:
        answer = CliRunner().invoke(app, ["--home", str(home.root), *words])
        assert answer.exit_code == 0, answer.output
        return answer.stdout

    assert "counts already" in told("include", "ada-s1")
    assert "is left out of the fits" in told("exclude", "ada-s1")
    assert "is left out already" in told("exclude", "ada-s1")
    assert "is left out of the fits" in told("exclude", "ada-s1", "--why", "new balls")
    assert query(home, "SELECT count(*) FROM sessions WHERE excluded").item() == 1
    assert "counts again" in told("include", "ada-s1")
    assert query(home, "SELECT count(*) FROM sessions WHERE excluded").item() == 0


def test_a_session_is_named_by_its_day_or_the_beginning_of_its_id(own_made_home: Home) -> None:
    home = own_made_home

    def told(*words: str) -> str:
        answer = CliRunner().invoke(app, ["--home", str(home.root), *words])
        return " ".join(answer.output.split())

    day = str(query(home, "SELECT min(started_at)::DATE AS day FROM sessions").item())
    assert f"Several sessions are meant by {day}: " in told("exclude", day)
    assert f"({ADA}, {day}" in told("exclude", day, "--player", ADA)
    assert query(home, "SELECT player FROM sessions WHERE excluded").rows() == [(ADA,)]
    assert "Several sessions are meant by ada-s: ada-s0" in told("include", "ada-s")
    assert "counts again" in told("include", day, "--player", "ada")
    assert query(home, "SELECT count(*) FROM sessions WHERE excluded").item() == 0
    assert "There is no session 2031-01-01." in told("exclude", "2031-01-01")
    assert "There is no session ." in told("exclude", "")


def test_a_session_or_an_export_is_named(own_made_home: Home) -> None:
    home = own_made_home

    def told(*words: str) -> str:
        answer = CliRunner().invoke(app, ["--home", str(home.root), *words])
        return " ".join(answer.output.split())

    assert "Name a session" in told("exclude")
    assert "Name a session" in told("include", "ada-s1", "--export", "a.csv")
    name = query(home, "SELECT file_name, shots FROM ingest_log WHERE shots > 0").row(0)
    assert f"{name[0]} is taken out: {name[1]} shots fewer count." in told(
        "exclude", "--export", name[0]
    )
    assert f"{name[0]} counts again: {name[1]} shots more." in told("include", "--export", name[0])
