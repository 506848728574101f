"""Removing players and exports from a home for good: the lake, originals, pages, logs, records.

What is to go is written down first, in `lake/forgetting.json`; each step may be done again, so a
killed removal is completed by the next start. The plan itself goes last.
"""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable, Sequence
from dataclasses import asdict, dataclass, field, replace
from pathlib import Path
from typing import Any

import polars as pl
from rangeledger.schemas.arrow import COMPANION_SCHEMAS, shots_arrow_schema
from rangeledger.warehouse import lake, ledger_file
from rangeledger.warehouse.access_tokens import forget_players
from rangeledger.warehouse.home import Home
from rangeledger.warehouse.kept_accounts import remove_kept_accounts
from rangeledger.warehouse.removing.leftover_names import Names
from rangeledger.warehouse.system.durable_files import sync_folder, write_atomically

_REMOVED = "(removed)"


@dataclass(frozen=True, slots=True)
class Cut:
    """An original out of which one player's lines were cut.

    Attributes
    ----------
    source : str
        Content hash of the original.
    becomes : str
        Content hash of what is left of it, which is in the archive already.
    lines : dict of str to int
        Line of the original (as text, for JSON) -> line of what is left; cut lines are missing.
    """

    source: str
    becomes: str
    lines: dict[str, int]


@dataclass(frozen=True, slots=True)
class Plan:
    """What is to go.

    Attributes
    ----------
    sources : list of str
        Content hashes of the originals that go whole.
    cuts : list of Cut
        Originals of which a part goes.
    words : list of str
        Names of players and of files that must not be found any more.
    players : list of str
        Names of players that go, as they are written; empty if only exports do.
    files : list of str
        Other files of the home that go, relative to it.
    """

    sources: list[str]
    cuts: list[Cut] = field(default_factory=list)
    words: list[str] = field(default_factory=list)
    players: list[str] = field(default_factory=list)
    files: list[str] = field(default_factory=list)


def _plan_file(home: Home) -> Path:
    return home.lake / "forgetting.json"


def write_plan(home: Home, plan: Plan) -> None:
    """Write down what is to go; from here on it will, whatever happens."""
    write_atomically(_plan_file(home), json.dumps(asdict(plan), ensure_ascii=False))


def read_plan(home: Home) -> Plan | None:
    """A removal that was begun and is not done; None where there is none."""
    try:
        raw = json.loads(_plan_file(home).read_text(encoding="utf-8"))
    except FileNotFoundError:
        return None
    return Plan(**(raw | {"cuts": [Cut(**cut) for cut in raw["cuts"]]}))


def remove_plan(home: Home) -> None:
    """Let go of the plan when all is done."""
    _plan_file(home).unlink(missing_ok=True)
    sync_folder(home.lake)


def complete_forgetting(
    home: Home, remove_elsewhere: Callable[[Plan], None] = lambda _: None
) -> bool:
    """Complete a removal that was interrupted; call it under the writer lock.

    Both databases are removed: the next command makes them anew from the lake.

    Parameters
    ----------
    home : Home
    remove_elsewhere : callable
        Removes what is kept outside the home too.

    Returns
    -------
    bool
        Whether there was one.
    """
    plan = read_plan(home)
    if plan is None:
        return False
    remove_from_files(home, plan)
    remove_elsewhere(plan)
    ledger_file.remove(home.ledger)
    home.database.unlink(missing_ok=True)
    remove_plan(home)
    return True


def remove_from_files(home: Home, plan: Plan) -> None:
    """Remove from all files of the home but its databases; may be done again."""
    names = Names(plan.words)
    for number in lake.batch_numbers(home):
        _rewrite_batch(home, number, plan, names)
    _rewrite_decisions(home, plan, names)
    _remove_originals(home, plan, names)
    for path in plan.files:
        (home.root / path).unlink(missing_ok=True)
    _rewrite_settings(home, names)
    forget_players(home, names.are_in)
    for log in home.logs.rglob("*"):
        if log.is_file():
            _rewrite_lines(log, lambda line: not names.are_in(line))
    _remove_records(home, names)


def _rewrite_batch(home: Home, number: int, plan: Plan, names: Names) -> None:
    batch = lake.read_batch(home, number)
    removed = {*plan.sources, *(cut.source for cut in plan.cuts)}
    left = {cut.becomes for cut in plan.cuts}
    if not any(o.source_file in removed | left or names.are_in(str(o)) for o in batch.offers):
        return
    counts = {kind: _rewrite_kind(home, number, kind, plan, names) for kind in
              ("shots", *COMPANION_SCHEMAS)}  # fmt: skip
    becomes = {cut.source: cut.becomes for cut in plan.cuts}
    offers = [
        _offer_left(offer, becomes, counts, names)
        for offer in batch.offers
        if offer.source_file not in plan.sources
    ]
    lake.write_marker(home, replace(batch, offers=tuple(offers)))


def _offer_left(
    offer: lake.Offer,
    becomes: dict[str, str],
    counts: dict[str, dict[str, int]],
    names: Names,
) -> lake.Offer:
    """An offer as it stands after the removal: counts as in the files, names removed."""
    source = becomes.get(offer.source_file, offer.source_file)
    fields = asdict(offer)
    if source in becomes.values():
        fields |= {"source_file": source}
        if offer.state.startswith("loaded"):
            fields |= {"shots": counts["shots"].get(source, 0),
                     "rejected": counts["rejected_rows"].get(source, 0)}  # fmt: skip
            fields |= {kind: counts[kind].get(source, 0) for kind in ("other_lines", "remarks")
                     if fields[kind] is not None}  # fmt: skip
    return lake.Offer(**_without(fields, names))


def _without(value: Any, names: Names) -> Any:
    """A value of a marker with the names removed from its words."""
    if isinstance(value, dict):
        return {_without(key, names): _without(each, names) for key, each in value.items()}
    if isinstance(value, list):
        return [_without(each, names) for each in value]
    return names.removed_from(value, _REMOVED) if isinstance(value, str) else value


def _rewrite_kind(home: Home, number: int, kind: str, plan: Plan, names: Names) -> dict[str, int]:
    """Rewrite a batch's files of one kind; how many rows each export has in them now."""
    files = (
        lake.shot_files(home, [number])
        if kind == "shots"
        else lake.companion_files(home, kind, [number])
    )
    counts: dict[str, int] = {}
    for path in files:
        rows = pl.read_parquet(path, hive_partitioning=False)
        kept = _rows_left(rows, plan, names)
        if not kept.height:
            path.unlink()
        elif not kept.equals(rows):
            schema = shots_arrow_schema() if kind == "shots" else None
            lake.write_parquet(path, kept.to_arrow(), schema)
        for source, count in kept["source_file"].value_counts().iter_rows():
            counts[source] = counts.get(source, 0) + count
    return counts


def _rows_left(rows: pl.DataFrame, plan: Plan, names: Names) -> pl.DataFrame:
    """Rows that stay, those of a cut original with their new lines."""
    kept = rows.filter(~pl.col("source_file").is_in(plan.sources))
    for cut in plan.cuts:
        kept = _cut_rows(kept, cut)
    texts = [n for n, kind in kept.schema.items() if kind == pl.String and n != "source_file"]
    cut_to = [cut.becomes for cut in plan.cuts]
    if not cut_to or not texts:
        return kept
    joined = pl.concat_str(texts, separator="\n", ignore_nulls=True)
    clean = [not names.are_in(text) for text in kept.select(joined).to_series()]
    return kept.filter(~pl.col("source_file").is_in(cut_to) | pl.Series(clean, dtype=pl.Boolean))


def _cut_rows(rows: pl.DataFrame, cut: Cut) -> pl.DataFrame:
    ours = pl.col("source_file") == cut.source
    if "source_row" not in rows.columns:
        return rows.with_columns(
            pl.when(ours).then(pl.lit(cut.becomes)).otherwise("source_file").alias("source_file")
        )
    line = pl.col("source_row").cast(pl.String)
    lines = list(cut.lines.items())
    olds, news = [old for old, _ in lines], [new for _, new in lines]
    kept = rows.filter(~ours | line.is_in(olds))
    moved = line.replace_strict(olds, news, default=None, return_dtype=pl.Int32)
    changed = {
        "source_row": pl.when(ours).then(moved).otherwise("source_row"),
        "source_file": pl.when(ours).then(pl.lit(cut.becomes)).otherwise("source_file"),
    }
    if "shot_id" in rows.columns:
        place = pl.col("shot_id").str.extract(r"(\.[0-9]+)$").fill_null("")
        new_id = pl.concat_str(pl.lit(cut.becomes[:16] + "-"), moved.cast(pl.String), place)
        changed["shot_id"] = pl.when(ours).then(new_id).otherwise("shot_id")
    return kept.with_columns(**changed).select(rows.columns)


def _rewrite_decisions(home: Home, plan: Plan, names: Names) -> None:
    """Decisions without what went; one that is about nothing else goes."""
    for path in sorted((home.lake / "decisions").glob("*.json")):
        decision = json.loads(path.read_text(encoding="utf-8"))
        left = decision_left(decision, plan, names)
        if left is None:
            path.unlink()
        elif left != decision:
            write_atomically(path, json.dumps(left, ensure_ascii=False))


def decision_left(decision: dict[str, Any], plan: Plan, names: Names) -> dict[str, Any] | None:
    """A decision without what went; None where it is about nothing else.

    Parameters
    ----------
    decision : dict
        As it stands in the lake.
    plan : Plan
        What goes.
    names : Names
        Names that must not be found any more.
    """
    removed = {source[:16] for source in plan.sources}
    cuts = {cut.source[:16]: cut for cut in plan.cuts}
    left = dict(decision)
    if decision.get("shots"):
        moved = (_shot_left(shot, removed, cuts) for shot in decision["shots"])
        left["shots"] = [shot for shot in moved if shot is not None]
        if not left["shots"]:
            return None
    becomes = {cut.source: cut.becomes for cut in plan.cuts}
    if "source_file" in decision:
        if decision["source_file"] in plan.sources:
            return None
        left["source_file"] = becomes.get(decision["source_file"], decision["source_file"])
    if "over" in decision:
        kept = [source for source in decision["over"] if source not in plan.sources]
        left["over"] = [becomes.get(source, source) for source in kept]
        if not left["over"]:
            return None
    if names.are_in(f"{decision.get('player', '')}\n{decision.get('to', '')}"):
        return None
    if decision.get("why"):
        left["why"] = names.removed_from(str(decision["why"]), _REMOVED)
    return left


def _shot_left(shot: str, removed: set[str], cuts: dict[str, Cut]) -> str | None:
    """Id of a shot after the removal; None if it went."""
    source, _, place = shot.rpartition("-")
    if source in removed:
        return None
    cut = cuts.get(source)
    if cut is None:
        return shot
    line, point, column = place.partition(".")
    return f"{cut.becomes[:16]}-{cut.lines[line]}{point}{column}" if line in cut.lines else None


def _remove_originals(home: Home, plan: Plan, names: Names) -> None:
    for source in plan.sources:
        for path in (home.archive / source[:2]).glob(f"{source}.*"):
            path.unlink()
    for cut in plan.cuts:
        for path in (home.archive / cut.source[:2]).glob(f"{cut.source}.*"):
            if path.name.endswith(".note.toml") and not names.are_in(path.read_bytes()):
                target = home.archive / cut.becomes[:2] / path.name.replace(cut.source, cut.becomes)
                shutil.copyfile(path, target)
            path.unlink()


def _rewrite_settings(home: Home, names: Names) -> None:
    """Settings without the lines and tables that name who went."""
    under = {"gone": False}

    def stays(line: bytes) -> bool:
        if line.lstrip().startswith(b"["):
            under["gone"] = names.are_in(line)
        return not under["gone"] and not names.are_in(line)

    if home.settings_file.exists():
        _rewrite_lines(home.settings_file, stays)


def _rewrite_lines(path: Path, stays: Callable[[bytes], bool]) -> None:
    lines = path.read_bytes().splitlines(keepends=True)
    kept = [line for line in lines if stays(line)]
    if kept != lines:
        temporary = path.with_name(f".{path.name}.tmp")
        temporary.write_bytes(b"".join(kept))
        temporary.replace(path)


def _remove_records(home: Home, names: Names) -> None:
    """Remove the flow engine's records of runs, and what else the program kept for itself."""
    remove_kept_accounts(home)
    shutil.rmtree(home.state / "prefect", ignore_errors=True)
    kept = {home.ledger, home.ledger.with_name(f"{home.ledger.name}.wal"), home.lock}
    for path in home.state.rglob("*"):
        if path.is_file() and path not in kept and (
            path.suffix == ".damaged" or names.are_in(path.read_bytes())
            or names.are_in(path.name)
        ):  # fmt: skip
            path.unlink()


def forgotten_files(home: Home, words: Sequence[str]) -> list[Path]:
    """Files of a home in which names can still be found, in their bytes, rows or own names."""
    names = Names(words)
    return [
        path
        for path in sorted(home.root.rglob("*"))
        if path.is_file() and path != home.lock and names.are_found_in_file(path)
    ]
