"""Tables of strokes of the user's own."""

from __future__ import annotations

from pathlib import Path

import pytest
from rangeledger.pipelines.holes.strokes_file import read_strokes
from rangeledger.schemas.errors import UsageError

ROWS = [("fairway", 0, 2.5), ("fairway", 200, 3.9), ("rough", 0, 2.8), ("rough", 200, 4.2),
        ("sand", 0, 3.0), ("sand", 200, 4.5), ("green", 0, 1.0), ("green", 20, 2.1)]  # fmt: skip
CSV = "lie,distance_yd,strokes\n" + "\n".join(",".join(map(str, row)) for row in ROWS)
TOML = """
[fairway]
distance_m = [0, 200]
strokes = [2.5, 3.9]
[rough]
distance_m = [0, 200]
strokes = [2.8, 4.2]
[sand]
distance_m = [0, 200]
strokes = [3.0, 4.5]
[green]
distance_ft = [0, 60]
strokes = [1.0, 2.1]
"""


def written(tmp_path: Path, text: str, name: str) -> Path:
    path = tmp_path / name
    path.write_text(text, encoding="utf-8")
    return path


def test_a_csv_table_in_yards(tmp_path: Path) -> None:
    table = read_strokes(written(tmp_path, CSV, "mine.csv"))
    assert float(table.strokes(200 * 0.9144, "rough")) == pytest.approx(4.2)
    assert table.source == "mine.csv"


def test_a_toml_table_with_its_own_units(tmp_path: Path) -> None:
    table = read_strokes(written(tmp_path, TOML, "mine.toml"))
    assert float(table.strokes(200.0, "sand")) == pytest.approx(4.5)
    assert float(table.strokes(60 * 0.3048, "green")) == pytest.approx(2.1)


@pytest.mark.parametrize(
    ("name", "text", "sentence"),
    [
        ("mine.csv", "lie,strokes\nrough,3", "line 1: the columns must be"),
        ("mine.csv", CSV.replace("3.9", "many"), "line 3: 'many' is not a number"),
        ("mine.csv", CSV.replace("sand", "beach"), "lie 'beach' is unknown"),
        ("mine.toml", TOML.replace("[3.0, 4.5]", "[3.0]"), "sand: write distance_yd"),
        ("mine.toml", "[fairway", "not valid TOML"),
    ],
)
def test_faults_are_named(tmp_path: Path, name: str, text: str, sentence: str) -> None:
    with pytest.raises(UsageError) as caught:
        read_strokes(written(tmp_path, text, name))
    assert str(caught.value).startswith(name)
    assert sentence in str(caught.value)


def test_a_missing_file(tmp_path: Path) -> None:
    with pytest.raises(UsageError, match="no such file"):
        read_strokes(tmp_path / "none.csv")
