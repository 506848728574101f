"""The Arrow and polars schemas of the lake, derived from the dictionary of columns."""

from __future__ import annotations

import polars as pl
import pyarrow as pa
from rangeledger.schemas.columns import CANONICAL, EXTRAS, Column, Kind

SCHEMA_VERSION = 2

_ARROW = {
    Kind.TEXT: pa.string(),
    Kind.INTEGER: pa.int32(),
    Kind.NUMBER: pa.float64(),
    Kind.INSTANT: pa.timestamp("ms", tz="UTC"),
}
_POLARS: dict[Kind, pl.DataType] = {
    Kind.TEXT: pl.String(),
    Kind.INTEGER: pl.Int32(),
    Kind.NUMBER: pl.Float64(),
    Kind.INSTANT: pl.Datetime("ms", "UTC"),
}
LAKE_COLUMNS: tuple[Column, ...] = (*CANONICAL, EXTRAS)
# Rows of exports that are not accepted, in the lake.
REJECTED_SCHEMA = pl.Schema(
    {
        "source_file": pl.String(),
        "source_row": pl.Int32(),
        "raw_text": pl.String(),
        "reason_code": pl.String(),
        "reason": pl.String(),
    }
)
# Lines of exports that are neither shots nor rejected rows, and what a load noticed, in the lake.
OTHER_LINES_SCHEMA = pl.Schema(
    {
        "source_file": pl.String(),
        "source_row": pl.Int32(),
        "taken_for": pl.String(),
        "raw_text": pl.String(),
    }
)
REMARKS_SCHEMA = pl.Schema(
    {
        "source_file": pl.String(),
        "place": pl.String(),
        "remark": pl.String(),
        "settled_by": pl.String(),
    }
)
# Tables that accompany the shots, by folder; a batch without rows of a kind has no file of it.
COMPANION_SCHEMAS: dict[str, pl.Schema] = {
    "rejected_rows": REJECTED_SCHEMA,
    "other_lines": OTHER_LINES_SCHEMA,
    "remarks": REMARKS_SCHEMA,
}


def _field(column: Column) -> pa.Field:
    metadata = {"meaning": column.meaning, "unit": column.unit}
    return pa.field(column.name, _ARROW[column.kind], not column.required, metadata)


def shots_arrow_schema() -> pa.Schema:
    """Arrow schema of a lake file, with meaning and unit as field metadata."""
    return pa.schema(
        [_field(column) for column in LAKE_COLUMNS],
        metadata={"rangeledger_schema_version": str(SCHEMA_VERSION)},
    )


def shots_polars_schema() -> pl.Schema:
    """Polars schema of canonical shots, in canonical order, `extras` last."""
    return pl.Schema({column.name: _POLARS[column.kind] for column in LAKE_COLUMNS})
