"""The rules that accepted shots must meet, derived from the dictionary of columns.

Each rule exists twice on purpose: as a Great Expectations expectation, which is the independent
gate before anything is stored, and as a polars expression, which names the failing rows.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import polars as pl
from rangeledger.schemas.columns import CANONICAL, Column, Kind
from rangeledger.schemas.limits import LONG_CARRY_M, LONG_SPUN_BACK_M, SPUN_BACK_M

if TYPE_CHECKING:
    from great_expectations.expectations.expectation import Expectation

TOTAL_NOT_SHORT = "total_not_short_of_carry"


@dataclass(frozen=True, slots=True)
class Rule:
    """One rule: which rows keep it, and how Great Expectations is asked."""

    name: str
    column: str
    kept: pl.Expr
    expectation: str
    arguments: dict[str, Any]
    sentence: str

    def as_expectation(self) -> Expectation:
        """Expectation object of this rule."""
        import great_expectations.expectations as gxe

        expectation: Expectation = getattr(gxe, self.expectation)(**self.arguments)
        return expectation


def _present(column: Column) -> Rule:
    return Rule(
        f"{column.name} present", column.name, pl.col(column.name).is_not_null(),
        "ExpectColumnValuesToNotBeNull", {"column": column.name}, f"{column.name} is missing",
    )  # fmt: skip


def _among(column: Column) -> Rule:
    return Rule(
        f"{column.name} known", column.name, pl.col(column.name).is_in(column.choices),
        "ExpectColumnValuesToBeInSet",
        {"column": column.name, "value_set": list(column.choices)},
        f"{column.name} is none of {', '.join(column.choices)}",
    )  # fmt: skip


def _between(column: Column) -> Rule:
    value = pl.col(column.name)
    kept = pl.lit(True)
    if column.low is not None:
        kept &= value >= column.low
    if column.high is not None:
        kept &= value <= column.high
    if column.kind is Kind.NUMBER:
        kept &= ~value.is_nan()
    limits = {"min_value": column.low, "max_value": column.high}
    return Rule(
        f"{column.name} possible", column.name, kept.fill_null(True),
        "ExpectColumnValuesToBeBetween", {"column": column.name, **limits},
        f"{column.name} is outside {column.low} to {column.high} {column.unit}".rstrip(),
    )  # fmt: skip


def rules() -> list[Rule]:
    """All rules for accepted shots, in the order of the columns."""
    found: list[Rule] = []
    for column in CANONICAL:
        if column.required:
            found.append(_present(column))
        if column.choices:
            found.append(_among(column))
        if column.low is not None or column.high is not None:
            found.append(_between(column))
    found.append(
        Rule(
            "shot_id unique", "shot_id", pl.col("shot_id").is_unique(),
            "ExpectColumnValuesToBeUnique", {"column": "shot_id"},
            "shot_id stands for more than one shot",
        )
    )  # fmt: skip
    found.append(
        Rule(
            "total not short of carry", TOTAL_NOT_SHORT, total_not_short(),
            "ExpectColumnValuesToBeInSet", {"column": TOTAL_NOT_SHORT, "value_set": [True]},
            "total_m is far short of carry_m",
        )
    )  # fmt: skip
    return found


def total_not_short() -> pl.Expr:
    """Whether the ball rests no further short of its landing point than it can spin back."""
    back = pl.when(pl.col("carry_m") > LONG_CARRY_M).then(LONG_SPUN_BACK_M).otherwise(SPUN_BACK_M)
    return (pl.col("total_m") >= pl.col("carry_m") - back).fill_null(True)


def with_computed(shots: pl.DataFrame) -> pl.DataFrame:
    """Shots with the columns that rules over several columns look at."""
    rule = rules()[-1]
    return shots.with_columns(rule.kept.alias(TOTAL_NOT_SHORT))
