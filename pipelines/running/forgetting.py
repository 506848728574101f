"""Forgetting a player or an export: what is to go, what stands in the way, and doing it.

The parts: `weigh` looks and changes nothing; `forget` removes what was weighed, for good.
"""

from __future__ import annotations

import os
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

import polars as pl
from rangeledger.pipelines.loading import inbox, load
from rangeledger.pipelines.loading.kept_originals import refused_originals
from rangeledger.pipelines.output.pages import file_word
from rangeledger.pipelines.running.cutting import as_cut, without_lines
from rangeledger.pipelines.running.deciding import loaded_export, loaded_exports
from rangeledger.schemas.errors import StorageError, UsageError
from rangeledger.warehouse import database, lake, ledger_file
from rangeledger.warehouse.counting.player_names import UNKNOWN, fold
from rangeledger.warehouse.home import Home
from rangeledger.warehouse.removing import forgetting
from rangeledger.warehouse.removing.forgetting import Cut, Plan
from rangeledger.warehouse.removing.leftover_names import Names
from rangeledger.warehouse.settings import read_settings
from rangeledger.warehouse.stores.adopted_fits import adopt_fits
from rangeledger.warehouse.stores.store import store_of
from rangeledger.warehouse.system.durable_files import sync_folder

if TYPE_CHECKING:
    from duckdb import DuckDBPyConnection

_MOST_LISTED = 5


class Shared(NamedTuple):
    """An original that also holds other players' shots."""

    source: str
    file_name: str
    others: list[str]


@dataclass(slots=True)
class Weighed:
    """What a removal would take.

    Attributes
    ----------
    plan : Plan
    left_bytes : dict of str to bytes
        What is left of originals that are cut, by its content hash.
    summary : list of str
        What goes, a line each.
    shared : list of Shared
        Originals that stand in the way: neither cut nor forgotten for both.
    """

    plan: Plan
    left_bytes: dict[str, bytes] = field(default_factory=dict)
    summary: list[str] = field(default_factory=list)
    shared: list[Shared] = field(default_factory=list)


def weigh_player(home: Home, sought: str, *, cut: bool = False, both: bool = False) -> Weighed:
    """What forgetting a player takes, under all names that stand for the player.

    Parameters
    ----------
    home : Home
    sought : str
        The player's name in full, whatever its letter case.
    cut : bool
        Whether originals that others share lose the player's lines alone.
    both : bool
        Whether they go whole, with the others' shots in them.

    Raises
    ------
    UsageError
        If there is no such player, an original can't be cut, or exports that name the player
        wait in the inbox.
    """
    with store_of(home).turn(alone=True):
        load.recover(home)
        with database.open_ledger(home) as connection:
            words = _names_of(connection, sought)
            moved = _moved_shots(connection)
            file_names = _file_names(connection)
    names = Names(words)
    _refuse_waiting(home, names)
    mentioning = _originals_mentioning(home, words, names, file_names, moved)
    whole_originals = [source for source, others in mentioning.items() if not others]
    shared = [
        Shared(source, file_names.get(source, source[:12]), others)
        for source, others in mentioning.items()
        if others
    ]
    if both:
        whole_originals, shared = [*whole_originals, *(one.source for one in shared)], []
    weighed = Weighed(
        Plan(whole_originals, words=words, players=words), shared=[] if cut else shared
    )
    if cut:
        for one in shared:
            _cut(home, one, words, names, weighed, moved)
    _refused_too(home, weighed.plan, names)
    _files_too(home, weighed.plan, names, [file_word(word) for word in words])
    _summarize(weighed, file_names)
    return weighed


def weigh_export(home: Home, sought: str) -> Weighed:
    """What forgetting an export takes: its shots, whoever struck them.

    Raises
    ------
    UsageError
        If no export or several are meant.
    """
    with store_of(home).turn(alone=True):
        load.recover(home)
        with database.open_ledger(home) as connection:
            refused = [one for one in refused_originals(home) if one.file_name == sought]
            if refused and not loaded_exports(connection, sought):
                source, name = refused[0].source_file, refused[0].file_name
            else:
                source, name, *_ = loaded_export(connection, sought)
            names = [n for n in _all_names(connection, source)
                     if n == name and not _is_shared_name(connection, source, n)]  # fmt: skip
            players = connection.execute(
                "SELECT DISTINCT player FROM ledger.counted_shots WHERE source_file = ?", [source]
            ).fetchall()
            file_names = _file_names(connection)
    plan = Plan([source], words=[source, *names])
    plan.files.extend(
        str(path.relative_to(home.root)) for one in refused_originals(home)
        if one.source_file == source for path in _files_of_refused(one.path)
    )  # fmt: skip
    _pages_too(home, plan, Names([]), [file_word(str(row[0])) for row in players])
    weighed = Weighed(plan)
    _summarize(weighed, file_names | {source: name})
    return weighed


def _names_of(connection: DuckDBPyConnection, sought: str) -> list[str]:
    """All names that stand for a player, the player's own first."""
    rows = connection.execute("SELECT said, player FROM ledger.player_names ORDER BY place")
    names = [(str(reported), str(player)) for reported, player in rows.fetchall()]
    matches = {
        player for reported, player in names if fold(sought) in (fold(reported), fold(player))
    }
    if fold(sought) == UNKNOWN:
        raise UsageError("'unknown' is no player. Forget an export with --export.")
    if not matches:
        known = ", ".join(sorted({player for _, player in names} - {UNKNOWN})[:_MOST_LISTED])
        raise UsageError(f"There is no player {sought!r}. There are: {known or 'none yet'}.")
    (player,) = matches
    return list(
        dict.fromkeys([player, *(reported for reported, resolved in names if resolved == player)])
    )


def _file_names(connection: DuckDBPyConnection) -> dict[str, str]:
    rows = connection.execute(
        "SELECT source_file, arg_max(file_name, batch) FROM ledger.offers GROUP BY ALL"
    ).fetchall()
    return {str(source): str(name) for source, name in rows}


def _all_names(connection: DuckDBPyConnection, source: str) -> list[str]:
    rows = connection.execute(
        "SELECT DISTINCT file_name FROM ledger.offers WHERE source_file = ? ORDER BY ALL", [source]
    ).fetchall()
    return [str(row[0]) for row in rows]


def _is_shared_name(connection: DuckDBPyConnection, source: str, name: str) -> bool:
    """Whether other exports have the same file name, as those of many devices do."""
    rows = connection.execute(
        "SELECT 1 FROM ledger.offers WHERE file_name = ? AND source_file <> ? LIMIT 1",
        [name, source],
    ).fetchall()
    return bool(rows)


def _refuse_waiting(home: Home, names: Names) -> None:
    waiting = [o.file_name for o in inbox.lying(home) if names.are_found_in_file(o.path)]
    waiting += [note.name for note in inbox.orphan_notes(home) if names.are_found_in_file(note)]
    if waiting:
        raise UsageError(
            f"In {home.inbox} {', '.join(waiting[:_MOST_LISTED])} names the player. "
            "Load it or take it away first."
        )


def _moved_shots(connection: DuckDBPyConnection) -> dict[str, str]:
    """Shots that were moved, each with the player whose they are."""
    rows = connection.execute(
        "SELECT c.shot_id, c.player FROM ledger.counted_shots AS c "
        "INNER JOIN ledger.arranged_sessions AS a "
        "ON a.player = c.player AND a.session_id = c.session_id WHERE a.moved"
    ).fetchall()
    return {str(shot): str(player) for shot, player in rows}


def _shots_of_players(path: Path, moved: Mapping[str, str]) -> pl.DataFrame:
    """Source, line and player of the shots of a file of the lake, as they were moved."""
    rows = pl.read_parquet(
        path, columns=["shot_id", "source_file", "source_row", "player"], hive_partitioning=False
    )
    if not moved:
        return rows
    theirs = pl.col("shot_id").replace_strict(moved, default=None, return_dtype=pl.String)
    return rows.with_columns(player=pl.coalesce(theirs, "player"))


def _originals_mentioning(
    home: Home,
    words: Sequence[str],
    names: Names,
    file_names: dict[str, str],
    moved: Mapping[str, str],
) -> dict[str, list[str]]:
    """Originals that tell of a player, each with the other players of its shots."""
    players_of: dict[str, set[str]] = {}
    for path in lake.shot_files(home, lake.batch_numbers(home)):
        rows = _shots_of_players(path, moved).select("source_file", "player")
        for source, player in rows.unique().iter_rows():
            players_of.setdefault(source, set()).add(player)
    ours, store = set(words), store_of(home)
    found = {}
    for source in sorted({*players_of, *file_names}):
        original = store.original(source)
        mentioned = bool(players_of.get(source, set()) & ours) or names.are_in(
            file_names.get(source, "")
        )
        mentioned = mentioned or (original is not None and names.are_found_in_file(original))
        if mentioned:
            found[source] = sorted(players_of.get(source, set()) - ours)
    return found


def _cut(
    home: Home,
    one: Shared,
    words: Sequence[str],
    names: Names,
    weighed: Weighed,
    moved: Mapping[str, str],
) -> None:
    """Weigh cutting a player's lines out of an original."""
    original = store_of(home).original(one.source)
    if original is None:
        raise UsageError(f"The original of {one.file_name} is not in the archive: use --both.")
    begins, theirs, others = _records(home, one.source, words, moved)
    raw = original.read_bytes()
    left, lines = without_lines(raw, one.file_name, begins, theirs, others, names)
    cut = as_cut(one.source, left, lines)
    weighed.plan.cuts.append(cut)
    weighed.left_bytes[cut.becomes] = left


def _records(
    home: Home, source: str, words: Sequence[str], moved: Mapping[str, str]
) -> tuple[list[int], set[int], set[int]]:
    """Lines at which an original's records begin, those of a player's shots, those of others'."""
    numbers = lake.batch_numbers(home)
    theirs: set[int] = set()
    others: set[int] = set()
    for path in lake.shot_files(home, numbers):
        rows = _shots_of_players(path, moved).filter(pl.col("source_file") == source)
        for row, player in rows.select("source_row", "player").iter_rows():
            (theirs if player in words else others).add(row)
    companion_rows: set[int] = set()
    for kind in ("rejected_rows", "other_lines"):
        for path in lake.companion_files(home, kind, numbers):
            rows = pl.read_parquet(path, columns=["source_file", "source_row"])
            companion_rows |= set(rows.filter(pl.col("source_file") == source)["source_row"])
    return sorted(theirs | others | companion_rows), theirs, others


def _files_of_refused(path: Path) -> list[Path]:
    """A refused export with its reason, its proposed mapping and its note."""
    names = (path.name, f"{path.name}.reason.txt", f"{path.name}.mapping.toml", f"{path.stem}.toml")
    return [path.with_name(name) for name in names if path.with_name(name).exists()]


def _refused_too(home: Home, plan: Plan, names: Names) -> None:
    for one in refused_originals(home):
        files = _files_of_refused(one.path)
        if any(names.are_found_in_file(path) for path in files):
            plan.sources.append(one.source_file)
            plan.files.extend(str(path.relative_to(home.root)) for path in files)


def _files_too(home: Home, plan: Plan, names: Names, words: Iterable[str]) -> None:
    found = [path for path in home.mappings.glob("*.toml") if names.are_found_in_file(path)]
    plan.files.extend(str(path.relative_to(home.root)) for path in found)
    _pages_too(home, plan, names, words)


def _pages_too(home: Home, plan: Plan, names: Names, words: Iterable[str]) -> None:
    """Pages that tell of a player: the player's own, and those of all."""
    plain = (re.sub(r"-[0-9a-f]{6}$", "", word) for word in words)
    own = [re.compile(rf"-{re.escape(word)}(-[0-9a-f]{{6}})?\.") for word in plain]
    for path in sorted(home.reports.rglob("*")):
        if path.is_file() and (
            path.name == "overview.html"
            or any(part.search(path.name) for part in own)
            or names.are_found_in_file(path)
        ):
            plan.files.append(str(path.relative_to(home.root)))


def _summarize(weighed: Weighed, file_names: dict[str, str]) -> None:
    plan = weighed.plan
    weighed.summary += [f"export {file_names.get(source, source[:12])}" for source in plan.sources]
    weighed.summary += [
        f"lines in {file_names.get(cut.source, cut.source[:12])}; what is left becomes "
        f"{cut.becomes[:12]}"
        for cut in plan.cuts
    ]
    weighed.summary += [f"file {path}" for path in plan.files]
    weighed.summary += [
        "their shots, sessions and decisions in the lake and both databases",
        "their lines in logs and settings, and the flow engine's records of runs",
    ]


def forget(home: Home, weighed: Weighed) -> list[Path]:
    """Remove what was weighed, for good; killed anywhere, the next start completes it.

    Returns
    -------
    list of Path
        Files in which the names can still be found; empty if all is well.

    Raises
    ------
    StorageError
        If the disk refuses; running the command again goes on.
    """
    plan = weighed.plan
    with store_of(home).turn(alone=True):
        load.recover(home)
        try:
            _keep_cut_originals(home, plan.cuts, weighed.left_bytes)
            forgetting.write_plan(home, plan)
            forgetting.remove_from_files(home, plan)
            store_of(home).remove(plan)
            _renew_databases(home)
            forgetting.remove_plan(home)
        except OSError as error:
            raise StorageError(
                f"The machine refused while forgetting ({error.strerror}). Free space or "
                "permission is needed; any command that loads goes on with it."
            ) from error
    return forgetting.forgotten_files(home, plan.words)


def _keep_cut_originals(home: Home, cuts: Iterable[Cut], left_bytes: dict[str, bytes]) -> None:
    """Put what is left of cut originals into the archive, before anything goes."""
    store = store_of(home)
    for cut in cuts:
        former = store.original(cut.source)
        if former is None:
            continue
        target = home.archive / cut.becomes[:2] / f"{cut.becomes}{former.suffix}"
        target.parent.mkdir(parents=True, exist_ok=True)
        temporary = target.with_name(f".{target.name}.{os.getpid()}.tmp")
        temporary.write_bytes(left_bytes[cut.becomes])
        changed = former.stat()
        os.utime(temporary, ns=(changed.st_atime_ns, changed.st_mtime_ns))
        os.replace(temporary, target)
        sync_folder(target.parent)


def _renew_databases(home: Home) -> None:
    """Make the writer's database anew, keep the fits that nothing touched, and publish."""
    from rangeledger.pipelines.running.fitting import fit_changed

    rebuilt = home.ledger.with_name("forgetting.duckdb")
    ledger_file.remove(rebuilt)
    with database.open_ledger(home, rebuilt) as connection:
        adopt_fits(connection, home.ledger)
        fit_changed(home, connection, read_settings(home))
    ledger_file.remove(home.ledger)
    os.replace(rebuilt, home.ledger)
    store_of(home).publish()
