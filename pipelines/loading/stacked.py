"""All values of a load under each other, so that Great Expectations looks at few columns.

What it takes grows with the number of expectations, some milliseconds each, and hardly with that
of rows. So it is asked of all columns at once what each of their rules asks: values that must be
there, words out of a list, numbers scaled by their limits to 0 and 1.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import polars as pl
from rangeledger.schemas.expectations import Rule

if TYPE_CHECKING:
    from great_expectations.expectations.expectation import Expectation

_PRESENT, _KNOWN, _SHARE = "present", "known", "share_of_range"
_NOT_NULL, _IN_SET, _BETWEEN = (
    "ExpectColumnValuesToNotBeNull", "ExpectColumnValuesToBeInSet", "ExpectColumnValuesToBeBetween"
)  # fmt: skip


def _of_kind(rules: Sequence[Rule], kind: str) -> list[Rule]:
    return [rule for rule in rules if rule.expectation == kind]


def _is_word_set(rule: Rule) -> bool:
    return rule.expectation == _IN_SET and all(isinstance(v, str) for v in _values(rule))


def _values(rule: Rule) -> list[Any]:
    return list(rule.arguments["value_set"])


def _by_themselves(rules: Sequence[Rule]) -> list[Rule]:
    """Rules of which there is one of a kind."""
    return [r for r in rules if r.expectation not in (_NOT_NULL, _BETWEEN) and not _is_word_set(r)]


def _word(column: str, value: object) -> str:
    return f"{column}: {value}"


def stacked_expectations(rules: Sequence[Rule]) -> list[Expectation]:
    """What is expected of the columns that `stacked` makes."""
    import great_expectations.expectations as gxe

    known = [_word(r.column, v) for r in rules if _is_word_set(r) for v in _values(r)]
    return [
        getattr(gxe, _NOT_NULL)(column=_PRESENT),
        getattr(gxe, _IN_SET)(column=_KNOWN, value_set=known),
        getattr(gxe, _BETWEEN)(column=_SHARE, min_value=0.0, max_value=1.0),
        *(rule.as_expectation() for rule in _by_themselves(rules)),
    ]


def stacked(shots: pl.DataFrame, rules: Sequence[Rule]) -> pl.DataFrame:
    """The values of shots that rules look at.

    Parameters
    ----------
    shots : polars.DataFrame
        Canonical shots, with the columns that rules over several columns look at.
    rules : sequence of Rule

    Returns
    -------
    polars.DataFrame
        `present`: 1, or null for a value that is missing; `known`: words with their column;
        `share_of_range`: numbers as shares of their range; and columns of other rules as they are.
        Shorter columns are filled up with what keeps their rule.
    """
    present = [pl.when(pl.col(r.column).is_not_null()).then(1) for r in _of_kind(rules, _NOT_NULL)]
    known = [
        pl.format(_word("{}", "{}"), pl.lit(r.column), pl.col(r.column))
        for r in rules
        if _is_word_set(r)
    ]
    shares = [_share(rule) for rule in _of_kind(rules, _BETWEEN)]
    columns = [
        _under_each_other(shots, present, pl.Int8).alias(_PRESENT),
        _under_each_other(shots, known, pl.String).alias(_KNOWN),
        _under_each_other(shots, shares, pl.Float64).alias(_SHARE),
        *(shots[rule.column] for rule in _by_themselves(rules)),
    ]
    height = max(len(column) for column in columns)
    return pl.DataFrame([_filled_up(column, height) for column in columns])


def _share(rule: Rule) -> pl.Expr:
    """Values from 0 to 1 where a rule's limits are kept; with one limit, by how far from it."""
    low: float | None = rule.arguments["min_value"]
    high: float | None = rule.arguments["max_value"]
    value = pl.col(rule.column).cast(pl.Float64)
    if low is not None and high is not None:
        return (value - low) / (high - low)
    above = value - low if low is not None else pl.lit(high) - value
    return above / (1.0 + above.abs())


def _under_each_other(
    shots: pl.DataFrame, values: Sequence[pl.Expr], dtype: type[pl.DataType]
) -> pl.Series:
    parts = shots.select(value.cast(dtype).alias(str(n)) for n, value in enumerate(values))
    return pl.concat([part.rechunk() for part in parts.get_columns()], rechunk=True)


def _filled_up(column: pl.Series, height: int) -> pl.Series:
    if column.name == _PRESENT:
        return column.extend_constant(1, height - len(column))
    return column.extend_constant(None, height - len(column))
