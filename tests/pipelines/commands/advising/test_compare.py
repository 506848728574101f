"""`rangeledger compare`."""

from __future__ import annotations

import json

from rangeledger.pipelines.main import app
from rangeledger.warehouse.database import query
from rangeledger.warehouse.home import Home
from typer.testing import CliRunner

WAYS = ("--first", "player=Ada Brook,swing=full", "--second", "player=Ada Brook,swing=9:00")


def run(home: Home, *words: str) -> str:
    done = CliRunner().invoke(app, ["--home", str(home.root), "compare", *words])
    assert done.exit_code == 0, done.output
    return done.stdout


def test_the_table_is_narrow_and_the_verdicts_are_sentences(made_home: Home) -> None:
    out = run(made_home, *WAYS)
    assert max(map(len, out.splitlines())) <= 100
    assert "Spread of carry: " in out
    assert out.rstrip().endswith(".")


def test_programs_get_every_column(made_home: Home) -> None:
    found = json.loads(run(made_home, *WAYS, "--format", "json"))
    assert {"measure", "difference", "verdict", "model_version"} <= set(found[0])


def test_a_player_may_be_named_by_the_beginning(made_home: Home) -> None:
    short = [words.replace("Ada Brook", "ada") for words in WAYS]
    assert run(made_home, *short).split("\n")[2:] == run(made_home, *WAYS).split("\n")[2:]


def test_it_is_told_whose_shots_each_way_has(made_home: Home) -> None:
    out = run(made_home, *WAYS[:3], "swing=9:00")
    first, second = (line.strip() for line in out.splitlines()[2:4])
    assert first.startswith("First way: ")
    assert first.endswith(" of Ada Brook in 4 sessions")
    assert " of 2 players in 8 sessions" in second


def test_a_date_holds_the_shots_since_against_those_before(made_home: Home) -> None:
    visits = query(made_home, "SELECT started_at FROM sessions WHERE player = 'Ada Brook'")
    day = str(visits["started_at"].sort()[2].date())
    dated = run(made_home, "--first", "player=Ada Brook", "--date", day)
    both = run(made_home, "--first", f"player=Ada Brook,since={day}",
               "--second", f"player=Ada Brook,until={day}")  # fmt: skip
    assert dated == both
    assert "Carry: " in dated


def test_a_second_way_or_a_date_but_not_both(made_home: Home) -> None:
    for words in (WAYS[:2], (*WAYS, "--date", "2026-05-01")):
        done = CliRunner().invoke(app, ["--home", str(made_home.root), "compare", *words])
        assert done.exit_code == 2
        assert "either a second way" in done.output
