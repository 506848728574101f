"""Layouts that stand in for a monitor which nobody named, and their naming in the settings."""

from __future__ import annotations

import json
import re
import tomllib
from typing import TYPE_CHECKING, NamedTuple

from rangeledger.schemas.errors import HomeError, UsageError
from rangeledger.warehouse.settings import read_settings
from rangeledger.warehouse.system.durable_files import write_atomically

if TYPE_CHECKING:
    from duckdb import DuckDBPyConnection
    from rangeledger.warehouse.home import Home

# Layouts that stand in for a monitor where a player was measured by others besides.
_ASKED = """
    WITH asked AS (
        SELECT monitor FROM monitors WHERE NOT named AND monitor <> 'unknown'
            AND player IN (SELECT player FROM monitors GROUP BY player HAVING count(*) > 1)
    ),
    loaded AS (
        SELECT source_file, arg_max(file_name, offered_at) AS file_name,
               arg_max(details ->> '$.layout', offered_at) AS layout
        FROM ingest_log WHERE starts_with(state, 'loaded') GROUP BY source_file
    )
    SELECT layout, count(*), min(file_name) FROM loaded
    WHERE layout IN (SELECT monitor FROM asked)
    GROUP BY layout ORDER BY count(*) DESC, layout"""
_HEADER = re.compile(r"""[ \t]*\[[ \t]*(?:monitors|"monitors"|'monitors')[ \t]*\][ \t]*(?:#.*)?""")
# A name fits a column of a table.
MOST_NAME = 60


class UnnamedLayout(NamedTuple):
    """A layout without a monitor's name, how many exports share it, and one of them."""

    layout: str
    exports: int
    such_as: str


def unnamed_layouts(connection: DuckDBPyConnection, home: Home) -> list[UnnamedLayout]:
    """Layouts of which a user should say what measured, those of most exports first.

    One that the settings name already is none, though its exports were not read again yet.
    """
    named = {key for key, _ in read_settings(home).reading.monitors}
    found = [UnnamedLayout(*row) for row in connection.execute(_ASKED).fetchall()]
    return [one for one in found if one.layout not in named]


def name_monitor(home: Home, layout: str, name: str) -> str:
    """Name in the settings what made exports of a layout; all else in the file stays as it is.

    Returns
    -------
    str
        The name as it was written.

    Raises
    ------
    UsageError
        If it is no name, or the file writes its monitors so that nothing can be added.
    HomeError
        If the settings can't be read.
    """
    name = " ".join(name.split())
    if not name or len(name) > MOST_NAME or not name.isprintable():
        raise UsageError(f"Give the monitor a name of up to {MOST_NAME} letters, such as bay B.")
    read_settings(home)  # told in plain words where the file is wrong already
    path = home.settings_file.resolve()
    try:
        text = path.read_bytes().decode("utf-8")
        mode = path.stat().st_mode & 0o777
    except FileNotFoundError:
        text, mode = "", None
    except OSError as error:
        raise HomeError(f"{path} can't be read ({error.strerror}).") from error
    write_atomically(path, with_monitor(text, layout, name), mode=mode)
    return name


def with_monitor(text: str, layout: str, name: str) -> str:
    """Settings with one more monitor, after those that are there: of several that fit, the first
    counts.

    Parameters
    ----------
    text : str
        The file as it stands.
    layout, name : str
        What the settings' `[monitors]` gets.

    Raises
    ------
    UsageError
        If the file writes its monitors in another way than a table of their own.
    """
    end = "\r\n" if "\r\n" in text else "\n"
    entry = f"{_quoted(layout)} = {_quoted(name)}{end}"
    lines = text.splitlines(keepends=True)
    place = _end_of_table(lines)
    if place is None:
        gap = "" if not text or text.endswith("\n") else end
        added = f"{text}{gap}[monitors]{end}{entry}"
    else:
        before = "".join(lines[:place])
        gap = "" if before.endswith("\n") else end
        added = before + gap + entry + "".join(lines[place:])
    former = tomllib.loads(text)
    wanted = [*former.get("monitors", {}).items(), (layout, name)]
    try:
        found = tomllib.loads(added)
    except tomllib.TOMLDecodeError:
        found = {}
    monitors = found.pop("monitors", {})
    former.pop("monitors", None)
    if list(monitors.items()) != wanted or found != former:
        raise UsageError(
            f"settings.toml writes its monitors so that nothing can be added here. Add this line "
            f"to them yourself: {entry.strip()}"
        )
    return added


def _end_of_table(lines: list[str]) -> int | None:
    """Index after the last entry of the table of monitors; None where there is no such table."""
    place = None
    for number, line in enumerate(lines):
        if place is None:
            if _HEADER.fullmatch(line.rstrip("\r\n")):
                place = number + 1
        elif line.lstrip().startswith("["):
            break
        elif line.strip() and not line.lstrip().startswith("#"):
            place = number + 1
    return place


def _quoted(words: str) -> str:
    """A basic string of TOML 1.0: as JSON writes it, which escapes all that TOML does but DEL."""
    return json.dumps(words, ensure_ascii=False).replace("\x7f", "\\u007f")
