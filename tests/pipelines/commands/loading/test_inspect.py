"""`rangeledger inspect` as a person calls it."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from rangeledger.pipelines.main import app
from typer.testing import CliRunner

GOOD = (
    "Stick,Ball velocity (m/s),Take-off (°),Flown (m)\n"
    "7i,48.0,17.5,137.9\n7i,148.0,18.0,135.0\n7i,47,18,134\n"
)
UNCLEAR = "Stick,Flown\n7i,137.9\n7i,135.0\n7i,134.2\n"


@pytest.fixture
def home(tmp_path: Path) -> Path:
    return tmp_path / "home"


def call(home: Path, *words: str | Path) -> tuple[int, str]:
    result = CliRunner().invoke(app, ["--home", str(home), "inspect", *map(str, words)])
    return result.exit_code, result.output


def test_it_tells_columns_shots_and_rejects(home: Path, tmp_path: Path) -> None:
    file = tmp_path / "visit.csv"
    file.write_text(GOOD)
    code, told = call(home, file)
    assert code == 0
    for expected in ("ball_speed_mps", "line 2: 7i,48.0,17.5,137.9", "out-of-range", "7-iron"):
        assert expected in told
    assert max(map(len, told.splitlines())) <= 100
    assert not home.exists()


def test_json_uses_the_canonical_names(home: Path, tmp_path: Path) -> None:
    file = tmp_path / "visit.csv"
    file.write_text(GOOD)
    _, told = call(home, file, "--format", "json", "--rows", "1")
    found = json.loads(told)
    assert found["state"] == "loaded-with-rejects"
    assert [c["column"] for c in found["columns"]][:2] == ["club", "ball_speed_mps"]
    assert found["first_shots"][0]["carry_m"] == 137.9


def test_a_refusal_ends_in_one_and_proposes_a_mapping(home: Path, tmp_path: Path) -> None:
    file, mapping = tmp_path / "visit.csv", tmp_path / "map.toml"
    file.write_text(UNCLEAR)
    code, told = call(home, file, "--write-mapping", mapping)
    assert code == 1
    assert "unclear-units" in told
    assert '[columns."Flown"]' in mapping.read_text()
    code, _ = call(home, file, "--write-mapping", mapping)
    assert code == 2


def test_a_written_mapping_reads_the_same(home: Path, tmp_path: Path) -> None:
    file = tmp_path / "visit.csv"
    file.write_text(GOOD)
    (home / "mappings").mkdir(parents=True)
    _, before = call(home, file, "--format", "json", "--write-mapping", home / "mappings/own.toml")
    _, after = call(home, file, "--format", "json")
    first, second = json.loads(before[before.index("{") :]), json.loads(after)
    assert second["mapping"] == "own.toml"
    assert first["first_shots"] == second["first_shots"]


def test_a_path_that_is_no_file_is_wrong_usage(home: Path, tmp_path: Path) -> None:
    assert call(home, tmp_path / "gone.csv")[0] == 2
    assert "There is no file" in call(home, tmp_path / "gone.csv")[1]
    assert call(home, tmp_path)[0] == 2
    assert "is a folder" in call(home, tmp_path)[1]
