"""The generator of random exports: repeatable, varied, and true to itself."""

from __future__ import annotations

import numpy as np
import pytest
from rangeledger.schemas.clubs import CANONICAL_CLUBS
from rangeledger.schemas.columns import STATABLE

from tests.exports.flights import BAG, random_shots
from tests.exports.generator import GeneratedExport, random_export

SEEDS = range(400)


@pytest.fixture(scope="module")
def exports() -> list[GeneratedExport]:
    return [random_export(seed) for seed in SEEDS]


def test_a_seed_always_gives_the_same_file() -> None:
    first, second = random_export(7), random_export(7)
    assert (first.content, first.truth, first.note) == (second.content, second.truth, second.note)
    assert random_export(8).content != first.content


def test_every_list_of_the_truth_runs_over_the_same_shots(exports: list[GeneratedExport]) -> None:
    for export in exports:
        truth = export.truth
        lengths = {len(values) for values in truth["data"].values()}
        if not truth.get("any_rows"):
            lengths.add(len(truth["source_row"]))
        if truth["struck_at"]:
            lengths.add(len(truth["struck_at"]))
        assert len(lengths) == 1, export.name
        assert set(truth["data"]) <= set(STATABLE)
        assert set(truth["data"].get("club", [])) <= set(CANONICAL_CLUBS)


def test_the_lines_of_the_truth_are_lines_of_the_file(exports: list[GeneratedExport]) -> None:
    for export in exports:
        truth = export.truth
        named = [n for n, _ in truth["must_reject"] + truth["may_reject"]]
        rows = truth["source_row"] + named
        assert len(rows) == len(set(rows)), export.name
        encoding = next((t[4:] for t in truth["tags"] if t.startswith("enc:")), "utf-8")
        codec = "utf-8" if encoding == "cp1252" else encoding
        lines = export.content.decode(codec, "replace").count("\n")
        assert not rows or max(rows) <= lines, export.name


def test_the_files_are_of_many_kinds(exports: list[GeneratedExport]) -> None:
    tags = {tag for export in exports for tag in export.truth["tags"]}
    wanted = {
        "other", "units:none", "units:row", "units:cell", "sides:suffix", "sides:prefix",
        "left-positive", "carry:straight", "summary", "heading:repeated", "heading:two-rows",
        "blocks:club", "transposed", "preamble", "missing", "impossible", "spin:back-side",
        "swing:clock", "time:utc", "time:clock", "time:two", "time:date", "lang:sv", "num:, ",
    }  # fmt: skip
    assert wanted <= tags, wanted - tags


def test_the_shots_are_possible() -> None:
    rng = np.random.default_rng(3)
    shots = random_shots(rng, [club for club in BAG for _ in range(20)])
    assert (shots["total_m"] > shots["carry_m"]).all()
    assert shots["carry_m"].is_between(30, 290).all()
    assert shots["apex_m"].is_between(3, 60).all()
    smash = shots["ball_speed_mps"] / shots["clubhead_speed_mps"]
    assert smash.is_between(0.95, 1.55).all()
