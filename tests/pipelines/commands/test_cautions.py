"""Numbers that somebody may act on come with words of caution, in every format."""

from __future__ import annotations

from pathlib import Path

import polars as pl
import pytest
from rangeledger.pipelines.commands.advising import compare
from rangeledger.pipelines.main import app
from rangeledger.sample_exports import sample_folder
from rangeledger.schemas.cautions import CLEAR_PEOPLE, HOW_MUCH, MOST_WORTH_HITTING
from rangeledger.warehouse.home import Home
from typer.testing import CliRunner

from tests.made_home import ADA

HOLE = str(sample_folder() / "courses" / "alder_meadow_3.toml")


def said(home: Home, *words: str) -> str:
    done = CliRunner().invoke(app, ["--home", str(home.root), *words])
    assert done.exit_code == 0, done.output
    assert CLEAR_PEOPLE not in done.stdout
    return done.stderr


@pytest.mark.parametrize("form", ["table", "csv", "json"])
def test_aims_and_drawn_shots_ask_to_clear_people_ahead(made_home: Home, form: str) -> None:
    assert CLEAR_PEOPLE in said(made_home, "target", HOLE, "--player", ADA, "--format", form)
    drawn = ("simulate", "--player", ADA, "--club", "7-iron", "--shots", "3", "--format", form)
    assert CLEAR_PEOPLE in said(made_home, *drawn)


@pytest.mark.parametrize(
    ("needed", "told"),
    [
        (0, ""),
        (MOST_WORTH_HITTING, f"Hit about {MOST_WORTH_HITTING} more shots each way"),
        (MOST_WORTH_HITTING + 1, "it is not worth settling by hitting"),
    ],
)
def test_more_shots_come_with_how_much_a_day_and_not_without_end(
    needed: int, told: str, capsys: pytest.CaptureFixture[str]
) -> None:
    table = pl.DataFrame({"measure": ["spread of carry"], "more_shots": [needed]})
    compare._print_shots_needed(table)
    heard = " ".join(capsys.readouterr().err.split())
    assert told in heard
    assert (HOW_MUCH in heard) == (0 < needed <= MOST_WORTH_HITTING)


def test_practice_advice_on_pages_says_how_much_is_for_the_coach(
    made_home: Home, tmp_path: Path
) -> None:
    said(made_home, "report", "--out", str(tmp_path))
    pages = [path.read_text() for path in tmp_path.glob("*.html") if "card" not in path.name]
    assert len(pages) >= 2
    for page in pages:
        assert HOW_MUCH in page
        assert CLEAR_PEOPLE in page
