"""How old an export is, as far as can be known: its own time stamp, and its file's last change.

Of two exports that hold the same shots the newer one counts.
"""

from __future__ import annotations

import re
from datetime import UTC, datetime
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

import polars as pl
from rangeledger.pipelines.loading.offered import Stamp
from rangeledger.pipelines.reader.normalising.times import read_times
from rangeledger.schemas.errors import ExportError
from rangeledger.schemas.words import fold, words_of

if TYPE_CHECKING:
    from rangeledger.pipelines.reader.prepared_export import PreparedExport

# Words, then what begins with a digit and has a time of day in it: a day alone orders nothing.
_STAMP = re.compile(r"^(?P<words>[^0-9]{3,60}?)(?P<moment>[0-9].*[0-9]:[0-9]{2}.*)$")
_BETWEEN_CELLS = re.compile(r"[,;|\t\"]+")
_NS = 1_000_000_000


def modified_at(stamp: Stamp) -> str:
    """When a file was last changed, in UTC to the microsecond, as text."""
    seconds, ns = divmod(stamp.modified_ns, _NS)
    moment = datetime.fromtimestamp(seconds, UTC).replace(microsecond=ns // 1000, tzinfo=None)
    return moment.isoformat(timespec="microseconds")


def exported_at(export: PreparedExport) -> str | None:
    """The time at which an export says that it was made, in UTC, as text; None where it does not.

    Parameters
    ----------
    export : PreparedExport
        Its lines beside the shots are looked at: `Exported: 2026-05-02 18:03`.
    """
    zone = ZoneInfo(export.recognition.zone or "UTC")
    for text in export.other_lines["raw_text"].to_list():
        match = _STAMP.match(_BETWEEN_CELLS.sub(" ", text))
        if match and fold(match["words"]) in words_of("export_stamps"):
            moment = _moment(match["moment"].strip(), zone, export.recognition.language)
            if moment is not None:
                return moment.replace(tzinfo=None).isoformat(timespec="milliseconds")
    return None


def _moment(text: str, zone: ZoneInfo, language: str | None) -> datetime | None:
    try:
        found = read_times(pl.Series([text]), zone=zone, language=language).struck_at[0]
    except ExportError:  # day and month can't be told apart: better no stamp than a wrong one
        return None
    return found.astimezone(UTC) if isinstance(found, datetime) else None
