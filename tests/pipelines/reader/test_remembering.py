"""What words meant in earlier exports changes no answer: each is read as if it were the first."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import fields
from pathlib import Path
from typing import Any

import pytest
from rangeledger.pipelines.reader.prepare import prepare_export
from rangeledger.schemas.errors import ExportError

from tests.exports.generator import random_export
from tests.exports.score import ZONE, from_folder, generated
from tests.remembered_words import forget_words

SETS = sorted((Path(__file__).parents[2] / "exports" / "strangers").iterdir())
HEADING = "Golfer;Stick;Ball speed ({speed});Flown ({length});Offline ({length}, + = right);When\n"


def reading_of(path: Path) -> dict[str, Any]:
    """All that reading an export gives."""
    note, mappings = path.with_suffix(".toml"), path.parent / "mappings"
    try:
        export = prepare_export(
            path, zone=ZONE, mappings_dir=mappings, note=note if note.exists() else None
        )
    except ExportError as refusal:
        return {"refusal": str(refusal), "code": refusal.code, "mapping": refusal.mapping}
    tables = (export.shots, export.rejected, export.other_lines, export.remark_rows())
    how = {field.name: str(getattr(export.recognition, field.name))
           for field in fields(export.recognition)}  # fmt: skip
    return how | {str(place): table.to_dicts() for place, table in enumerate(tables)}


def assert_read_alike(paths: Iterable[Path]) -> None:
    """All exports in turn, then each with nothing remembered."""
    remembered = {path: reading_of(path) for path in paths}
    assert remembered
    for path, reading in remembered.items():
        forget_words()
        assert reading_of(path) == reading, path.name


@pytest.fixture(autouse=True)
def _nothing_remembered() -> None:
    forget_words()


def test_random_exports(tmp_path: Path) -> None:
    assert_read_alike([path for path, _ in generated(range(700, 708), tmp_path)])


@pytest.mark.long
def test_many_random_exports(tmp_path: Path) -> None:
    assert_read_alike([path for path, _ in generated(range(708, 740), tmp_path)])


@pytest.mark.slow
def test_some_exports_of_strangers() -> None:
    paths = [path for folder in SETS for path, _ in from_folder(folder)]
    assert_read_alike(paths[::80])


@pytest.mark.long
@pytest.mark.parametrize("folder", SETS, ids=lambda folder: folder.name)
def test_all_exports_of_strangers(folder: Path) -> None:
    assert_read_alike([path for path, _ in from_folder(folder)])


def shots(
    speed: str = "mph", length: str = "yd", sign: int = 1, day: int = 3, club: str = "7 Iron",
    scale: float = 1.0,
) -> str:  # fmt: skip
    """Twelve shots below one heading; what is asked for differs, the layout does not."""
    rows = [
        f"Ann Breck;{club};{(118 + k % 5) * scale:.1f};{(168 + 2 * k % 9) * scale:.1f};"
        f"{sign * (2.5 + k) * scale:.1f};2026-05-{day:02d} 09:{k:02d}:20\n"
        for k in range(12)
    ]
    return HEADING.format(speed=speed, length=length) + "".join(rows)


def test_an_equal_layout_with_other_contents(tmp_path: Path) -> None:
    """Equal headings above other numbers, sides, days, clubs and scales, and other units."""
    texts = [
        shots(), shots(sign=-1), shots(day=21), shots(club="Putter"), shots(club="Zwack"),
        shots(scale=0.44704), shots(scale=3.0), shots(scale=30.0), shots(length="m"),
        shots(speed="km/h"), shots(speed="km/h", length="m"), shots(speed="", length=""),
        shots(speed="", length="", scale=0.9144), shots().replace(";2.5", ";-999"),
        shots().replace("2026-05-03", "03/05/2026"), shots().replace(".", ","),
        shots().replace("2026-05-03", "13/05/2026"), "Left is plus\n" + shots(),
        "Minus is left\n" + shots(), "All distances in metres\n" + shots(length=""),
        shots() + "Mean;;120;170;8;\n", re.sub(";7 Iron;", ";;", shots()),
    ]  # fmt: skip
    paths = [tmp_path / f"visit-{place}.csv" for place in range(len(texts))]
    for path, text in zip(paths, texts, strict=True):
        path.write_text(text)
    assert_read_alike(paths)


def test_numbers_and_units_of_a_known_layout_are_the_files_own(tmp_path: Path) -> None:
    """Regression: the same heading twice, then in other units; values follow each file."""
    carries = []
    for name, text in {"a": shots(), "b": shots(scale=1.05), "c": shots(length="m")}.items():
        (tmp_path / f"{name}.csv").write_text(text)
        carries.append(prepare_export(tmp_path / f"{name}.csv").shots["carry_m"][0])
    assert carries == pytest.approx([168 * 0.9144, 176.4 * 0.9144, 168.0])


def test_forgetting_reaches_the_words(tmp_path: Path) -> None:
    """Words are remembered from one export to the next, and forgotten when asked: no idle test."""
    from rangeledger.schemas.words import fold

    (tmp_path / "one.csv").write_bytes(random_export(700).content)
    reading_of(tmp_path / "one.csv")
    kept = next(
        c.cell_contents for c in fold.__closure__ or () if hasattr(c.cell_contents, "cache_info")
    )
    assert kept.cache_info().currsize > 0
    forget_words()
    assert kept.cache_info().currsize == 0
