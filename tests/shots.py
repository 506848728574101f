"""Small canonical frames for tests."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Any

import polars as pl
from rangeledger.schemas.arrow import shots_polars_schema

START = datetime(2026, 5, 2, 9, 0, tzinfo=UTC)


def make_shots(carries: list[float], **constant: Any) -> pl.DataFrame:
    """Canonical shots with the given carries [m], a minute apart, all else plain."""
    source_file = constant.get("source_file", "f" * 64)
    count = len(carries)
    given: dict[str, Any] = {
        "shot_id": [f"{source_file[:8]}-{n}" for n in range(count)],
        "session_id": "s1", "player": "Ada Brook", "swing": "full", "club": "7-iron",
        "ball": "premium", "surface": "grass", "flight_basis": "unknown", "monitor": "unknown",
        "struck_at": [START + timedelta(minutes=n) for n in range(count)],
        "shot_number": list(range(1, count + 1)),
        "source_file": source_file, "source_row": list(range(2, count + 2)),
        "carry_m": carries,
    }  # fmt: skip
    given |= constant
    columns = {
        name: given[name] if isinstance(given.get(name), list) else [given.get(name)] * count
        for name in shots_polars_schema()
    }
    return pl.DataFrame(columns, schema=shots_polars_schema())
