"""Exports that people wrote who had not read the reader, with their own answers.

Each folder of `strangers/` is one author's. They were scored before anything was mended for them;
those first figures stand in DEVELOPERS.md. Here they keep what was reached: `not_right.toml` names
what is not right, and every other file must be.

All files are read where long tests are asked for. The suite reads a sample that is always the same:
each file that is not right, each sixth by the checksum of its name, and of each kind of layout that
several files were tagged with, whoever wrote them, at least one.
"""

from __future__ import annotations

import json
import tomllib
import zlib
from collections import Counter
from collections.abc import Callable
from functools import cache
from pathlib import Path

import pytest

from tests.exports.score import PARTLY, REFUSED, RIGHT, WRONG, from_folder, judge_all, report

SETS = Path(__file__).parent / "strangers"
NOT_RIGHT = tomllib.loads((Path(__file__).parent / "not_right.toml").read_text("utf-8"))
NAMES = sorted(NOT_RIGHT)
# Both leave a user without something; neither tells him anything false.
WORTH = {WRONG: 0, PARTLY: 1, REFUSED: 1, RIGHT: 2}


@cache
def tagged() -> dict[tuple[str, str], list[str]]:
    """Tags of each file of each set, in the order of the checksums of their names."""
    found = {}
    for name in NAMES:
        for answer in (SETS / name / "truth").glob("*.json"):
            file = answer.name.removesuffix(".json")
            found[name, file] = list(json.loads(answer.read_text("utf-8")).get("tags", []))
    return dict(sorted(found.items(), key=lambda item: (checksum(*item[0]), item[0])))


def checksum(name: str, file: str) -> int:
    return zlib.crc32(f"{name}/{file}".encode())


@cache
def sample() -> frozenset[tuple[str, str]]:
    known = {(name, file) for name in NAMES for file in NOT_RIGHT[name]}
    chosen = known | {each for each in tagged() if checksum(*each) % 6 == 0}
    count = Counter(tag for tags in tagged().values() for tag in tags)
    there = {tag for each in chosen for tag in tagged()[each]}
    for each, tags in tagged().items():
        if any(count[tag] > 1 and tag not in there for tag in tags):
            chosen.add(each)
            there.update(tags)
    return frozenset(chosen)


def is_as_well_read_as_it_was(name: str, is_wanted: Callable[[str], bool]) -> None:
    exports = [(path, truth) for path, truth in from_folder(SETS / name) if is_wanted(path.name)]
    verdicts = judge_all(exports)
    assert verdicts
    lost = {
        verdict.file: verdict.verdict
        for verdict, _ in verdicts
        if WORTH[verdict.verdict] < WORTH[NOT_RIGHT[name].get(verdict.file, RIGHT)]
    }
    assert lost == {}, report(verdicts)
    silent = {verdict.file: verdict.silent for verdict, _ in verdicts if verdict.silent}
    assert not silent, "main columns that were left aside without a word"


@pytest.mark.slow
@pytest.mark.parametrize("name", NAMES)
def test_exports_of_strangers_stay_as_well_read_as_they_were(name: str) -> None:
    is_as_well_read_as_it_was(name, lambda file: (name, file) in sample())


@pytest.mark.long
@pytest.mark.parametrize("name", NAMES)
def test_all_exports_of_strangers_stay_as_well_read_as_they_were(name: str) -> None:
    is_as_well_read_as_it_was(name, lambda file: True)


def test_every_set_is_judged_and_what_is_not_right_is_there() -> None:
    assert {folder.name for folder in SETS.iterdir()} == set(NAMES)
    assert [(name, file) for name in NAMES for file in NOT_RIGHT[name]
            if (name, file) not in tagged()] == []  # fmt: skip
