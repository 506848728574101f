"""`rangeledger exclude` and `include`."""

from __future__ import annotations

from pathlib import Path

from typer.testing import CliRunner

from pipelines.main import app
from tests.made_home import ADA, make_home
from warehouse.database import query


def test_a_session_is_left_out_once_and_taken_back_once(tmp_path: Path) -> None:
    home = make_home(tmp_path / "home", (ADA,))

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
