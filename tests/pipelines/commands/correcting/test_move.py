"""`rangeledger move`, `rangeledger merge`, and what `status` tells of them."""

from __future__ import annotations

from rangeledger.pipelines.main import app
from rangeledger.warehouse.database import query
from rangeledger.warehouse.home import Home
from typer.testing import CliRunner

from tests.made_home import ADA, HOSTILE


def test_sessions_are_moved_and_merged_and_taken_back(own_made_home: Home) -> None:
    home = own_made_home

    def told(*words: str, code: int = 0) -> str:
        answer = CliRunner().invoke(app, ["--home", str(home.root), *words])
        assert answer.exit_code == code, answer.output
        return " ".join(answer.output.split())

    def counts() -> dict[str, int]:
        sql = "SELECT player, count(*) FROM sessions GROUP BY player"
        return dict(query(home, sql).rows())

    before = counts()
    assert "add --new" in told("move", "ada-s1", "--to", "Cara Lind", code=2)
    moved = told("move", "ada-s1", "--to", "Cara Lind", "--new")
    assert f"60 shots of {ADA} are Cara Lind's now: Session ada-s1" in moved
    assert counts() == before | {ADA: before[ADA] - 1, "Cara Lind": 1}
    assert "is Cara Lind's already" in told("move", "ada-s1", "--to", "cara", code=2)
    status = told("status")
    assert "sessions moved 1" in status
    assert "Moved here from another player: Cara Lind 2026-05-11 (ada-s1)." in status
    assert "To take one back: rangeledger move --undo SESSION" in status
    assert f"is {ADA}'s again: 60 shots in 1 session" in told("move", "ada-s1", "--undo")
    assert counts() == before
    assert "was not moved" in told("move", "ada-s1", "--undo", code=2)
    assert "Name the player with --to" in told("move", "ada-s1", code=2)

    # The other player hit in the same hours: then it is one visit with that one's own.
    joined = told("move", "ada-s1", "--to", "<script")
    assert counts() == before | {ADA: before[ADA] - 1}
    told("move", joined.split("rangeledger move ")[1].split()[0], "--undo")
    assert counts() == before
    told("move", "--export", "1.csv", "--to", "Cara Lind", "--new")
    assert counts() == {HOSTILE: before[HOSTILE], "Cara Lind": before[ADA]}
    told("move", "--export", "1.csv", "--undo")
    assert counts() == before

    merged = told("merge", "ada-s1", "ada-s2")
    assert merged.startswith("120 shots in 1 session: ")
    assert counts()[ADA] == before[ADA] - 1
    session = merged.split(": ")[1].split(".")[0]
    assert "sessions merged 1" in told("status")
    assert "are sessions of" in told("merge", session, "zoe-s1", code=2)
    assert "was not merged" in told("merge", "ada-s3", "--undo", code=2)
    assert "Name two sessions" in told("merge", session, code=2)
    assert "120 shots in 2 sessions" in told("merge", session, "--undo")
    assert counts() == before


def test_status_names_the_sessions_that_are_left_out(own_made_home: Home) -> None:
    def told(*words: str) -> str:
        answer = CliRunner().invoke(app, ["--home", str(own_made_home.root), *words])
        assert answer.exit_code == 0, answer.output
        return " ".join(answer.output.split())

    assert "Left out" not in told("status")
    told("exclude", "ada-s1")
    status = told("status")
    assert "sessions left out 1" in status
    assert f"Left out, so that no fit counts them: {ADA} 2026-05-11 (ada-s1)." in status
    assert "To take one back: rangeledger include SESSION" in status
