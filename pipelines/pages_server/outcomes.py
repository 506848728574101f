"""How far an export has come since it was dropped, and what became of it."""

from __future__ import annotations

import json
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from rangeledger.pipelines.output.pages import file_word
from rangeledger.pipelines.service.presence import service_of
from rangeledger.schemas.errors import NothingPublishedError
from rangeledger.schemas.units import counted

if TYPE_CHECKING:
    from rangeledger.pipelines.pages_server.site import Site

_LOG_SQL = """
    SELECT file_name, state, reason, shots, rejected, offered_at, details, mapping FROM ingest_log
    WHERE source_file = $1 ORDER BY offered_at DESC LIMIT 1"""
_WHOSE_SQL = """
    SELECT player, count(DISTINCT session_id) AS sessions, count(*) AS shots FROM shots
    WHERE source_file = $1 GROUP BY player ORDER BY player"""
_WORDS = {
    "loaded": "Loaded", "loaded-with-rejects": "Loaded, with some rows rejected",
    "duplicate": "Known already", "quarantined": "Refused",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Progress:
    """Where an export is.

    Parameters
    ----------
    source_file : str
        Hash of its bytes.
    name : str
        Its file name.
    done : bool
        Whether nothing more will happen.
    words : str
        In a few words.
    state : str
        As in ingest_log, or `waiting`, `loading`, `publishing`, `unknown`.
    told : list of str
        Reason, remarks and rejected rows, in sentences.
    whose : list of dict
        Players, with word of the address, sessions and shots.
    """

    source_file: str
    name: str
    done: bool
    words: str
    state: str
    told: list[str] = field(default_factory=list)
    whose: list[dict[str, Any]] = field(default_factory=list)


def progress_of(site: Site, source_file: str) -> Progress:
    """How far an export has come.

    Parameters
    ----------
    site : Site
    source_file : str
        Hash of its bytes.

    Returns
    -------
    Progress
    """
    dropped = site.drops.files.get(source_file)
    row = _logged(site, source_file)
    if row and (dropped is None or row["offered_at"] >= dropped.at):
        return _ended(site, source_file, row)
    if dropped is None:
        unknown = "Not known: perhaps it was never dropped here, or was removed for good."
        return Progress(source_file, source_file[:10], True, unknown, "unknown")
    name = dropped.path.name
    if not dropped.path.exists():
        return Progress(
            source_file, name, False, "Loaded; the numbers are being worked out", "publishing"
        )
    service = service_of(site.home)
    if service is None:
        waits = "Waits in the inbox: nobody watches it at the moment"
        return Progress(source_file, name, False, waits, "waiting")
    if service.problem:
        return Progress(source_file, name, False, f"Waits: {service.problem}", "waiting")
    words = {"loading": "Being read", "starting": "Waits: the service is starting"}
    doing = words.get(service.doing, "Waits until it has come to rest")
    return Progress(source_file, name, False, doing, service.doing)


def _logged(site: Site, source_file: str) -> dict[str, Any] | None:
    try:
        with site.publications.opened() as connection:
            rows = connection.execute(_LOG_SQL, [source_file]).pl().to_dicts()
    except NothingPublishedError:
        return None
    return rows[0] if rows else None


def _ended(site: Site, source_file: str, row: dict[str, Any]) -> Progress:
    with site.publications.opened() as connection:
        whose = connection.execute(_WHOSE_SQL, [source_file]).pl().to_dicts()
    for one in whose:
        one["word"] = file_word(one["player"])
    told = [row["reason"]] if row["reason"] else []
    if row["state"].startswith("loaded"):
        told.insert(
            0,
            f"{counted(row['shots'], 'shot')} loaded, {counted(row['rejected'], 'row')} rejected.",
        )
    told += [f"{remark[:1].upper()}{remark[1:]}" for remark in remarks_of(row["details"])]
    return Progress(
        source_file, row["file_name"], True, _WORDS.get(row["state"], row["state"]), row["state"],
        told, whose,
    )  # fmt: skip


def remarks_of(details: str | None) -> list[str]:
    """What a load noticed, from the details of its line in the log."""
    try:
        found = json.loads(details or "{}").get("remarks", [])
    except ValueError:
        return []
    return [str(remark) for remark in found]
