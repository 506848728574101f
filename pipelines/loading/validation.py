"""The gate before the lake: Great Expectations over all shots that a load would accept."""

from __future__ import annotations

import logging
import os
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING, Any

import polars as pl
from rangeledger.pipelines.loading.stacked import stacked, stacked_expectations
from rangeledger.schemas.expectations import Rule, rules, with_computed
from rangeledger.schemas.reasons import RowReason
from rangeledger.warehouse.system.importing import hidden

if TYPE_CHECKING:
    from great_expectations.core.expectation_suite import ExpectationSuite

# Above this, Great Expectations sees an evenly spaced sample: it reads a pandas frame of Python
# objects, which costs seconds and gigabytes at a million rows. The rules still meet every row.
SAMPLE_ROWS = 50_000
# It asks databases and buckets by these; none of that is asked here, and a load waits for them.
_DONE_WITHOUT = ("sqlalchemy", "boto3", "botocore")


@dataclass(frozen=True, slots=True)
class Verdict:
    """Outcome of the gate.

    Attributes
    ----------
    passed : bool
        Whether every expectation was met.
    failed : tuple of str
        Names of the rules that were not.
    seen : int
        Rows that Great Expectations looked at.
    rows : int
        Rows offered.
    """

    passed: bool
    failed: tuple[str, ...]
    seen: int
    rows: int


@dataclass(frozen=True, slots=True)
class _Gate:
    """Great Expectations, ready to be asked: of all columns at once, and rule by rule."""

    definition: Any
    at_once: ExpectationSuite
    each: ExpectationSuite
    rules: tuple[Rule, ...]


@cache
def _gate() -> _Gate:
    os.environ.setdefault("GX_ANALYTICS_ENABLED", "false")
    with hidden(*_DONE_WITHOUT):
        import great_expectations as gx
        from great_expectations.data_context.types.base import ProgressBarsConfig

    # Importing the package sets the levels of its loggers, so ours come after.
    for name in ("great_expectations", "great_expectations.data_context.types.base"):
        logging.getLogger(name).setLevel(logging.WARNING)
    context = gx.get_context(mode="ephemeral")
    context.variables.progress_bars = ProgressBarsConfig(globally=False)
    source = context.data_sources.add_pandas("shots")
    asset = source.add_dataframe_asset("accepted")
    definition: Any = asset.add_batch_definition_whole_dataframe("load")
    found = tuple(rules())
    at_once, each = (
        context.suites.add(gx.ExpectationSuite(name=name, expectations=expectations))
        for name, expectations in (
            ("accepted shots", stacked_expectations(found)),
            ("accepted shots, rule by rule", [rule.as_expectation() for rule in found]),
        )
    )
    return _Gate(definition, at_once, each, found)


def warm_up() -> None:
    """Import Great Expectations and build the suite, so that the first load need not wait."""
    _gate()


def judge(shots: pl.DataFrame) -> Verdict:
    """Ask Great Expectations whether shots meet every rule.

    Parameters
    ----------
    shots : polars.DataFrame
        Canonical shots.

    Returns
    -------
    Verdict
    """
    if not shots.height:
        return Verdict(True, (), 0, 0)
    gate = _gate()
    step = -(-shots.height // SAMPLE_ROWS)
    seen = with_computed(shots.gather_every(step))
    if _validate(gate, gate.at_once, stacked(seen, gate.rules)).success:
        return Verdict(True, (), seen.height, shots.height)
    outcome = _validate(gate, gate.each, seen)
    by_key = {(r.expectation, _subject(r.arguments)): r.name for r in gate.rules}
    failed = tuple(
        by_key[_key(result.expectation_config)] for result in outcome.results if not result.success
    )
    return Verdict(False, failed, seen.height, shots.height)


def _validate(gate: _Gate, suite: ExpectationSuite, rows: pl.DataFrame) -> Any:
    batch = gate.definition.get_batch({"dataframe": rows.to_pandas()})
    return batch.validate(suite, result_format="BOOLEAN_ONLY")


def _key(configuration: Any) -> tuple[str, str]:
    return _class_name(configuration.type), _subject(configuration.kwargs)


def _subject(arguments: dict[str, Any]) -> str:
    return str(arguments["column"])


def _class_name(snake: str) -> str:
    return "".join(part.capitalize() for part in snake.split("_"))


def split_failing(shots: pl.DataFrame) -> tuple[pl.DataFrame, pl.DataFrame]:
    """Part shots into those that keep every rule and a table of those that do not.

    Returns
    -------
    kept : polars.DataFrame
        Shots that keep every rule.
    failing : polars.DataFrame
        `source_file`, `source_row`, `reason_code`, `reason` of the others.
    """
    found = rules()
    broken = [
        pl.when(~rule.kept).then(pl.lit(rule.sentence)).alias(f"_{n}")
        for n, rule in enumerate(found)
    ]
    reason = pl.concat_str([f"_{n}" for n in range(len(found))], separator="; ", ignore_nulls=True)
    judged = shots.with_columns(broken).with_columns(reason.alias("reason"))
    kept = judged.filter(pl.col("reason") == "").select(shots.columns)
    failing = judged.filter(pl.col("reason") != "").select(
        "source_file",
        "source_row",
        pl.lit(RowReason.EXPECTATION_FAILED.value).alias("reason_code"),
        pl.col("reason") + ". Correct the export and offer it again.",
    )
    return kept, failing
