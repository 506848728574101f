from __future__ import annotations

import polars as pl
import pytest
from rangeledger.pipelines.loading.stacked import stacked
from rangeledger.pipelines.loading.validation import _gate, _validate, judge, split_failing
from rangeledger.schemas.columns import CANONICAL, Kind
from rangeledger.schemas.expectations import rules, with_computed

from tests.shots import make_shots

GOOD = make_shots([140.0, 150.0, 145.0], total_m=[150.0, 155.0, None])


def test_good_shots_pass() -> None:
    verdict = judge(GOOD)
    assert (verdict.passed, verdict.failed, verdict.seen, verdict.rows) == (True, (), 3, 3)


@pytest.mark.parametrize(
    ("change", "rule"),
    [
        ({"ball_speed_mps": 190.0}, "ball_speed_mps possible"),
        ({"spin_rate_rpm": 0.0}, "spin_rate_rpm possible"),
        ({"carry_side_m": float("nan")}, None),
        ({"ball": "balata"}, "ball known"),
        ({"club": None}, "club present"),
        ({"shot_id": "ffffffff-0"}, "shot_id unique"),
        ({"total_m": 120.0}, "total not short of carry"),
    ],
)
def test_a_bad_row_is_found_by_the_gate_and_named_by_the_rules(
    change: dict[str, object], rule: str | None
) -> None:
    last = pl.int_range(pl.len()) == 2
    bad = GOOD.with_columns(
        pl.when(last).then(pl.lit(value, dtype=GOOD.schema[name])).otherwise(name).alias(name)
        for name, value in change.items()
    )
    kept, failing = split_failing(bad)
    twice = "shot_id" in change
    assert failing["source_row"].to_list() == ([2, 4] if twice else [4])
    assert kept.height == (1 if twice else 2)
    assert set(failing["reason_code"]) == {"expectation-failed"}
    assert judge(kept).passed
    if rule is not None:  # a pandas frame can't tell NaN from a missing value
        assert judge(bad).failed == (rule,)


def test_the_suite_is_derived_from_the_dictionary() -> None:
    named = {rule.column for rule in rules()}
    bounded = {c.name for c in CANONICAL if c.kind is Kind.NUMBER or c.choices or c.required}
    assert bounded <= named


def test_a_large_load_is_judged_on_an_even_sample_and_every_row_by_the_rules(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr("rangeledger.pipelines.loading.validation.SAMPLE_ROWS", 100)
    many = make_shots([140.0 + n / 100 for n in range(1000)])
    verdict = judge(many)
    assert (verdict.passed, verdict.seen, verdict.rows) == (True, 100, 1000)
    kept, failing = split_failing(
        many.with_columns(apex_m=pl.when(pl.int_range(pl.len()) == 3).then(500.0))
    )
    assert (kept.height, failing["source_row"].to_list()) == (999, [5])


def test_all_columns_at_once_are_judged_as_rule_by_rule() -> None:
    """Every limit, from within and from without: Great Expectations finds the same both ways."""
    at, beyond = [], []
    for column in CANONICAL:
        for limit, outward in ((column.low, -1), (column.high, 1)):
            if limit is not None and column.name in GOOD.columns:
                moved = limit + outward * max(1e-6, abs(limit) * 1e-6)
                value = moved if column.kind is Kind.NUMBER else limit + outward
                for rows, number in ((at, limit), (beyond, value)):
                    kind = GOOD.schema[column.name]
                    row = GOOD[:1].with_columns(pl.lit(number).cast(kind).alias(column.name))
                    rows.append(row.with_columns(shot_id=pl.lit(f"{len(rows)}-0")))
    assert len(beyond) > 40
    gate = _gate()
    for row in beyond:
        assert not _validate(gate, gate.at_once, stacked(with_computed(row), gate.rules)).success
    possible = {rule.name for rule in gate.rules if rule.name.endswith(" possible")}
    failed = judge(pl.concat(beyond)).failed
    assert possible <= set(failed)
    assert not possible & set(judge(pl.concat(at)).failed)
