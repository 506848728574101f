"""The machine's zone, and local times as instants in UTC: some happen twice or not at all."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import polars as pl

INSTANT = pl.Datetime("ms", "UTC")
NAIVE = pl.Datetime("ms")


def machine_zone() -> ZoneInfo:
    """The machine's time zone by name, UTC where it has none."""
    local = Path("/etc/localtime")
    if local.is_symlink():
        _, _, name = str(local.resolve()).partition("zoneinfo/")
        if name:
            try:
                return ZoneInfo(name)
            except (KeyError, ValueError, OSError):
                pass
    key = str(datetime.now().astimezone().tzinfo)
    try:
        return ZoneInfo(key)
    except (KeyError, ValueError, OSError):
        return ZoneInfo("UTC")


def to_utc(local: pl.Series, zone: ZoneInfo) -> tuple[pl.Series, str]:
    """Local times as instants.

    Parameters
    ----------
    local : pl.Series
        Datetime without a zone, ms.
    zone : ZoneInfo
        The zone in which they were written.

    Returns
    -------
    tuple[pl.Series, str]
        Instants in UTC, and a remark where the change of the clocks left a choice.

    Notes
    -----
    As PEP 495 with fold=0: a time that happens twice is the earlier one; a time that the clocks
    skipped is read with the offset before the change.
    """
    try:  # on nearly all days every time happens once
        return local.dt.replace_time_zone(zone.key).dt.convert_time_zone("UTC").cast(INSTANT), ""
    except pl.exceptions.ComputeError:
        return _around_a_change(local, zone)


def _around_a_change(local: pl.Series, zone: ZoneInfo) -> tuple[pl.Series, str]:
    """The same where the clocks went forward or back among the times."""
    args: dict[str, Any] = {"time_zone": zone.key, "non_existent": "null"}
    early = local.dt.replace_time_zone(ambiguous="earliest", **args)
    late = local.dt.replace_time_zone(ambiguous="latest", **args)
    twice = int((early != late).fill_null(False).sum())
    skipped = early.is_null() & local.is_not_null()
    instants = early.dt.convert_time_zone("UTC").cast(INSTANT)
    if skipped.any():
        fixed = {
            naive: naive.replace(tzinfo=zone).astimezone(UTC)
            for naive in local.filter(skipped).unique()
        }
        places = skipped.arg_true()
        late_ones = pl.Series([fixed[naive] for naive in local.gather(places)], dtype=INSTANT)
        instants = instants.clone().scatter(places, late_ones)
    remarks = []
    if twice:
        remarks.append(f"{twice} times happened twice when the clocks went back; took the first")
    if skipped.any():
        remarks.append(f"{skipped.sum()} times were skipped when the clocks went forward")
    return instants, "; ".join(remarks)
