"""Refused exports in quarantine: which of them still want putting right."""

from __future__ import annotations

import os
import re
from collections.abc import Iterator
from pathlib import Path

from rangeledger.pipelines.loading.offered import content_hash
from rangeledger.warehouse.home import Home
from rangeledger.warehouse.published import published

_REASON = ".reason.txt"
# Of a large file so much is compared; a part of a session is as good as the whole.
_MOST_READ = 4 << 20
# A line with fewer digits is no shot. Whatever was put right, most shots keep their numbers.
_LEAST_DIGITS, _LEAST_SHARE = 6, 0.5
_LATER_LOADS = """
    SELECT DISTINCT refused.source_file, later.source_file
    FROM ingest_log AS refused
    INNER JOIN ingest_log AS later
        ON later.offered_at > refused.offered_at
        AND (later.source_file = refused.source_file OR later.file_name = refused.file_name)
    WHERE refused.state = 'quarantined' AND later.state IN ('loaded', 'loaded-with-rejects')
        AND list_contains($1, refused.source_file)"""


def open_refusals(home: Home) -> list[Path]:
    """Refused exports that still want putting right.

    Parameters
    ----------
    home : Home

    Returns
    -------
    list of Path
        Files in quarantine, by name.

    Notes
    -----
    One is settled when its bytes were loaded after it was refused, or an export of its name that
    holds its shots: many devices give all their exports the same name.
    """
    reasons = sorted(home.quarantine.glob(f"*{_REASON}"))
    exports = (path.with_name(path.name.removesuffix(_REASON)) for path in reasons)
    refused = [path for path in exports if os.path.lexists(path)]
    there = {path: content_hash(path) for path in refused if path.is_file()}
    if not there or not home.database.exists():
        return refused
    with published(home) as connection:
        rows = connection.execute(_LATER_LOADS, [list(there.values())]).fetchall()
    later: dict[str, set[str]] = {}
    for source, loaded in rows:
        later.setdefault(str(source), set()).add(str(loaded))
    return [path for path in refused if not _is_settled(home, path, there, later)]


def _is_settled(home: Home, path: Path, there: dict[Path, str], later: dict[str, set[str]]) -> bool:
    source = there.get(path, "")
    loads = later.get(source, set())
    if source in loads:
        return True
    digits = set(_shot_digits(path)) if loads else set()
    if not digits:
        return bool(loads)
    archived = (f for load in loads for f in home.archive.glob(f"{load[:2]}/{load}.*"))
    return any(
        len(digits.intersection(_shot_digits(file))) >= _LEAST_SHARE * len(digits)
        for file in archived
        if not file.name.endswith(".note.toml")
    )


def _shot_digits(path: Path) -> Iterator[bytes]:
    """Digits of each line that may be a shot; marks, separators and encoding do not count."""
    with path.open("rb") as stream:
        text = stream.read(_MOST_READ)
    for line in re.split(rb"[\r\n]+", text):
        digits = re.sub(rb"\D", b"", line)
        if len(digits) >= _LEAST_DIGITS:
            yield digits
