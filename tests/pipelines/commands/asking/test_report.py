"""`rangeledger report`."""

from __future__ import annotations

from pathlib import Path

import pytest
from rangeledger.pipelines.main import app
from rangeledger.pipelines.output.pages import file_word
from rangeledger.warehouse.home import Home
from typer.testing import CliRunner

from tests.made_home import ADA, HOSTILE


def run(home: Home, *words: str) -> tuple[int, str, str]:
    done = CliRunner().invoke(app, ["--home", str(home.root), "report", *words])
    return done.exit_code, done.stdout, done.stderr


def test_pages_of_all_players_and_the_overview(made_home: Home, tmp_path: Path) -> None:
    code, out, err = run(made_home, "--out", str(tmp_path / "new" / "pages"))
    assert code == 0, err
    files = [Path(line) for line in out.split("\n") if line]
    assert len(files) == 7
    assert all(file.stat().st_size > 0 for file in files)
    assert files[-1].name == "overview.html"
    assert {file.parent for file in files} == {tmp_path / "new" / "pages"}


def test_pages_of_one_player(made_home: Home, tmp_path: Path) -> None:
    code, out, _ = run(made_home, "--player", "ada", "--out", str(tmp_path), "--unit", "m")
    assert code == 0
    names = [Path(line).name for line in out.split()]
    assert names == ["report-ada-brook.html", "card-ada-brook.html", "card-ada-brook.pdf"]
    assert "metres" in (tmp_path / names[0]).read_text(encoding="utf-8")


def test_only_the_cards(made_home: Home, tmp_path: Path) -> None:
    code, out, _ = run(made_home, "--card", "--out", str(tmp_path))
    assert code == 0
    names = [Path(line).name for line in out.split("\n") if line]
    assert len(names) == 4
    assert all(name.startswith("card-") for name in names)


def test_without_a_folder_the_pages_go_into_the_home(made_home: Home) -> None:
    code, out, _ = run(made_home, "--player", ADA, "--card")
    assert code == 0
    folders = {Path(line).parent for line in out.split("\n") if line}
    assert folders == {made_home.root / "reports"}


def test_a_folder_that_is_a_file_is_told(made_home: Home, tmp_path: Path) -> None:
    (tmp_path / "taken").write_text("")
    code, _, err = run(made_home, "--player", ADA, "--out", str(tmp_path / "taken"))
    assert code == 3
    assert "Name another place" in err


def test_an_unknown_player_is_told(made_home: Home, tmp_path: Path) -> None:
    code, _, err = run(made_home, "--player", "Nobody", "--out", str(tmp_path))
    assert code == 2
    assert "There is no player 'Nobody'" in err


@pytest.mark.parametrize(
    "name", ["../../etc/passwd", "CON", "", "王小明", HOSTILE, "a/b\\c:d", "." * 9]
)
def test_names_of_files_are_harmless(name: str) -> None:
    word = file_word(name)
    assert word
    assert set(word) <= set("abcdefghijklmnopqrstuvwxyz0123456789-")


def test_different_players_have_different_files() -> None:
    names = [
        "Zoe Berg",
        "zoe berg",
        "ZOE BERG",
        "Zoë Berg",
        "zoe-berg",
        "Zoe  Berg",
        "王小明",
        "王小红",
    ]
    assert len({file_word(name) for name in names}) == len(names)
