"""How far an export has come since it was dropped, and what became of it."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from rangeledger.pipelines.output.pages import file_word
from rangeledger.pipelines.pages_server.fixing.fix_words import said_here
from rangeledger.pipelines.service.presence import service_of
from rangeledger.schemas.errors import NothingPublishedError
from rangeledger.schemas.units import counted

if TYPE_CHECKING:
    from duckdb import DuckDBPyConnection
    from rangeledger.pipelines.pages_server.shared.site import Site

_LOG_SQL = """
    SELECT file_name, state, reason, shots, rejected, offered_at, taken_out FROM ingest_log
    WHERE source_file = $1 ORDER BY offered_at DESC LIMIT 1"""
_WHOSE_SQL = """
    SELECT player, count(DISTINCT session_id) AS sessions, count(*) AS shots FROM shots
    WHERE source_file = $1 GROUP BY player ORDER BY player"""
_REMARKS_SQL = """
    SELECT DISTINCT place, remark, settled_by FROM remarks
    WHERE source_file = $1 ORDER BY place, remark"""
_REJECTED_SQL = """
    SELECT source_row, reason FROM rejected_rows WHERE source_file = $1 ORDER BY source_row"""
# The log puts the reason's code before the sentence.
_CODE = re.compile(r"^[a-z]+(-[a-z]+)*: ")
# More rejected rows are counted, not listed.
_MOST_REJECTED = 10
_WORDS = {
    "loaded": "Loaded", "loaded-with-rejects": "Loaded in part",
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
    taken_out : bool
        Whether it was taken out again, so that nothing of it counts.
    """

    source_file: str
    name: str
    done: bool
    words: str
    state: str
    told: list[str] = field(default_factory=list)
    whose: list[dict[str, Any]] = field(default_factory=list)
    taken_out: bool = False


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
    loaded = row["state"].startswith("loaded")
    with site.publications.opened() as connection:
        whose = connection.execute(_WHOSE_SQL, [source_file]).pl().to_dicts()
        told = [said_here(_CODE.sub("", row["reason"]))] if row["reason"] else []
        if loaded:
            shots, rejected = counted(row["shots"], "shot"), counted(row["rejected"], "row")
            told.insert(0, f"{shots} loaded, {rejected} rejected.")
            told += _remarks(connection, source_file) + _rejections(connection, source_file)
    for one in whose:
        one["word"] = file_word(one["player"])
    words = state_words(row["state"])
    if row["taken_out"]:
        words = f"{words}, and taken out again: nothing of it counts"
    return Progress(
        source_file, row["file_name"], True, words, row["state"], told, whose, row["taken_out"]
    )


def state_words(state: str) -> str:
    """What became of an export, by the word of ingest_log."""
    return _WORDS.get(state, state)


def summary_of(files: Sequence[Progress]) -> str:
    """How many files were loaded, known, refused, and what is to be done, in a sentence."""
    shares = [
        (counted(len(files), "file"), len(files)),
        *((f"{count} {word}", count) for word, count in (
            ("loaded", _count(files, "loaded")), ("known already", _count(files, "duplicate")),
            ("refused", _count(files, "quarantined")),
        )),
    ]  # fmt: skip
    first, *others = [words for words, count in shares if count]
    todo = (
        " What was refused stands first, to be put right." if _count(files, "quarantined") else ""
    )
    return f"{first}: {', '.join(others)}.{todo}" if others else f"{first}.{todo}"


def _count(files: Sequence[Progress], state: str) -> int:
    return sum(one.state.startswith(state) for one in files)


def _remarks(connection: DuckDBPyConnection, source_file: str) -> list[str]:
    """What the load noticed: where, what, and what settles it."""
    rows = connection.execute(_REMARKS_SQL, [source_file]).fetchall()
    places = [f"{place[:1].upper()}{place[1:]}: " if place else "" for place, _, _ in rows]
    return [
        f"{'' if remark.startswith(where) else where}{remark} {settled}".strip()
        for where, (_, remark, settled) in zip(places, rows, strict=True)
    ]


def _rejections(connection: DuckDBPyConnection, source_file: str) -> list[str]:
    """The first rejected rows, and how many more there are."""
    rows = connection.execute(_REJECTED_SQL, [source_file]).fetchall()
    told = [f"Line {line} was rejected: {reason}" for line, reason in rows[:_MOST_REJECTED]]
    more = len(rows) - len(told)
    return told + ([f"{counted(more, 'more row')} rejected."] if more else [])
