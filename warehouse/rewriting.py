"""Rewriting the lake's files to today's columns, as an upgrade of the home does.

Each file is written beside the former one and takes its name in one step, so that a reader, and
a rewriting that was interrupted, find either the one or the other; running it again goes on where
it ended. Rows stay what and where they were: the counts in the markers hold.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import asdict
from pathlib import Path
from typing import Any

import polars as pl
import pyarrow.parquet as pq
from rangeledger.schemas.arrow import shots_arrow_schema, shots_polars_schema
from rangeledger.schemas.columns import FORMER_NAMES, UNKNOWN_MONITOR
from rangeledger.schemas.compositions import FORMER_HELPERS
from rangeledger.schemas.errors import HomeError
from rangeledger.schemas.reasons import FORMER_ROW_REASONS
from rangeledger.warehouse import lake
from rangeledger.warehouse.home import Home
from rangeledger.warehouse.settings import ReadingDefaults
from rangeledger.warehouse.system.durable_files import write_atomically

_FORMER = FORMER_NAMES | FORMER_HELPERS


def rewrite_lake(home: Home, defaults: ReadingDefaults) -> None:
    """Bring every file of the lake to today's names; call it under the writer lock.

    Parameters
    ----------
    home : Home
    defaults : ReadingDefaults
        What the settings say of wind heights and the place, for shots that could not say it.

    Raises
    ------
    HomeError
        If a file is damaged; those before it are rewritten, the others as they were.
    """
    for left in home.lake.glob("*/**/*.tmp"):
        left.unlink()
    for path in sorted(home.lake.rglob("*.parquet")):
        try:
            _rewrite_rows(path, defaults)
        except (pl.exceptions.PolarsError, ValueError) as error:
            raise HomeError(
                f"{path} is damaged, so the home can't be upgraded ({error}). "
                "Restore it from a backup, then run the command again."
            ) from error
    for marker in sorted((home.lake / "batches").glob("*.json")):
        _rename_in_marker(marker)


def _rewrite_rows(path: Path, defaults: ReadingDefaults) -> None:
    names = pq.read_schema(path).names
    if "reason_code" in names:
        rows = pl.read_parquet(path)
        renamed = rows.with_columns(pl.col("reason_code").replace(FORMER_ROW_REASONS))
        if not renamed.equals(rows):
            lake.write_parquet(path, renamed.to_arrow())
    elif "shot_id" in names and not shots_arrow_schema().equals(
        pq.read_schema(path), check_metadata=True
    ):
        shots = in_todays_columns(pl.read_parquet(path), defaults)
        lake.write_parquet(path, shots.to_arrow(), shots_arrow_schema())


def in_todays_columns(shots: pl.DataFrame, defaults: ReadingDefaults) -> pl.DataFrame:
    """Shots of an older lake in today's schema.

    Parameters
    ----------
    shots : polars.DataFrame
        With the columns of its time.
    defaults : ReadingDefaults
        What holds for noted winds.

    Returns
    -------
    polars.DataFrame
        `shots_polars_schema()`; what was not asked at the time is as a new load would have it.
    """
    renamed = shots.rename({old: new for old, new in FORMER_NAMES.items() if old in shots.columns})
    windy = pl.any_horizontal(pl.col("wind_speed_mps", "wind_from_deg").is_not_null())
    new = {
        "wind_height": pl.when(windy).then(pl.lit(defaults.wind_height)),
        "monitor": pl.lit(UNKNOWN_MONITOR),
        "site": pl.lit(defaults.site),
    }
    added = {name: value for name, value in new.items() if name not in renamed.columns}
    return renamed.with_columns(**added).select(
        pl.col(name).cast(kind) for name, kind in shots_polars_schema().items()
    )


def _rename_in_marker(path: Path) -> None:
    """Let a marker say what headings became in today's names; its counts stay as they are."""
    text = path.read_text(encoding="utf-8")
    try:
        marker = json.loads(text)
        for offer in marker["offers"]:
            _rename_in_details(offer["details"])
        if "files" in marker:  # the files were written anew, so their marks are others
            marks = lake.marks_of(Home(path.parents[2]), int(path.stem))
            marker["files"] = {name: asdict(mark) for name, mark in marks.items()}
    except (ValueError, KeyError, TypeError) as error:
        raise HomeError(
            f"{path} is damaged, so the home can't be upgraded. Restore it from a backup, then "
            "run the command again."
        ) from error
    renamed = json.dumps(marker, ensure_ascii=False, indent=1)
    if renamed != text:
        write_atomically(path, renamed)


def _rename_in_details(details: dict[str, Any]) -> None:
    columns: Mapping[str, str | None] = details.get("columns", {})
    if columns:
        details["columns"] = {
            heading: _FORMER.get(column or "", column) for heading, column in columns.items()
        }
