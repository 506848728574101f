"""Local times against the zone rules of the standard library (PEP 495, fold=0)."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import polars as pl
import pytest
from hypothesis import given
from hypothesis import strategies as st
from rangeledger.pipelines.reader.normalising.zones import to_utc

BERLIN = ZoneInfo("Europe/Berlin")


@pytest.mark.parametrize("zone", ["Europe/Berlin", "America/New_York", "Australia/Lord_Howe"])
@given(moments=st.lists(st.datetimes(datetime(1995, 1, 1), datetime(2035, 1, 1)), max_size=8))
def test_local_times_follow_the_zone_rules_of_the_standard_library(
    zone: str, moments: list[datetime]
) -> None:
    key = ZoneInfo(zone)
    whole = [m.replace(microsecond=0) for m in moments]
    found, _ = to_utc(pl.Series(whole, dtype=pl.Datetime("ms")), key)
    assert found.to_list() == [m.replace(tzinfo=key).astimezone(UTC) for m in whole]


@pytest.mark.parametrize("start", [datetime(2025, 3, 30, 0, 30), datetime(2025, 10, 26, 0, 30)])
def test_the_hours_around_a_change_of_the_clocks(start: datetime) -> None:
    local = [start + timedelta(minutes=10 * k) for k in range(24)]
    found, remark = to_utc(pl.Series(local, dtype=pl.Datetime("ms")), BERLIN)
    assert found.to_list() == [m.replace(tzinfo=BERLIN).astimezone(UTC) for m in local]
    assert remark
