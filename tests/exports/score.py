"""Judge the reader by exports with known truth, and print what it got wrong.

`python -m tests.exports.score` reads random exports; `python -m tests.exports.score FOLDER` reads
the exports of a folder with their answers in `FOLDER/truth`; `--seeds FROM:TO` picks the seeds.
"""

from __future__ import annotations

import json
import re
import sys
import tempfile
import time
import traceback
from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import polars as pl
from rangeledger.schemas.columns import ASSIGNED, NUMBERS
from rangeledger.schemas.errors import ExportError

ZONE = ZoneInfo("Europe/Berlin")
DEFAULTS = {"player": "unknown", "ball": "unknown", "surface": "unknown", "swing": "full"}
RIGHT, REFUSED, PARTLY, WRONG = "right", "refused", "partly", "WRONG"
_SPOILT = {
    "fast": "ball_speed_mps",
    "no number": "ball_speed_mps",
    "negative": "carry_m",
    "short": "total_m",
}
# Plain words for what a ball does, apart from the reader's own vocabularies.
_MAIN = re.compile(r"\b(?:ball speed|launch|spin|carry|total|apex|start direction|offline)\b", re.I)
_LOOKED_AT = 50
_NOT_JUDGED = {*ASSIGNED, "struck_at", "flight_basis", "extras"}


@dataclass
class Verdict:
    """What became of one export.

    Parameters
    ----------
    file : str
        Its name.
    verdict : str
        `right`, `refused`, `partly` or `WRONG`.
    wrong : list[tuple[str, str]]
        Column (or `rows`) and what is wrong with it.
    lacking : list[tuple[str, str]]
        Column (or `rows`) and what is missing.
    reason : str
        The refusal.
    silent : list[str]
        Columns of numbers that a word of a main quantity heads, not taken and named in no remark.
    """

    file: str
    verdict: str
    wrong: list[tuple[str, str]] = field(default_factory=list)
    lacking: list[tuple[str, str]] = field(default_factory=list)
    reason: str = ""
    silent: list[str] = field(default_factory=list)


def _choices(expected: Any) -> list[Any]:
    return expected["any"] if isinstance(expected, dict) else [expected]


def _right(found: Any, expected: Any, tolerance: float) -> bool:
    for choice in _choices(expected):
        if found is None or choice is None:
            if found is None and choice is None:
                return True
        elif isinstance(choice, str):
            if found == choice:
                return True
        elif abs(found - choice) <= tolerance * (1.0 + 1e-9) + 1e-9:
            return True
    return False


def _right_time(found: datetime | None, expected: str, kind: str) -> bool:
    if found is None:
        return False
    if kind == "date":
        return found.astimezone(ZONE).date().isoformat() == expected
    zone = ZoneInfo("UTC") if kind == "utc" else ZONE
    wanted = datetime.fromisoformat(expected)
    return abs((found.astimezone(zone).replace(tzinfo=None) - wanted).total_seconds()) < 0.0015


def _matched(shots: pl.DataFrame, truth: dict[str, Any], verdict: Verdict) -> list[tuple[int, int]]:
    """Pairs of place in the truth and row of the frame; rows that should not be there are wrong."""
    rows = shots["source_row"].to_list()
    if truth.get("any_rows"):
        expected = next((len(v) for v in truth["data"].values()), 0)
        if len(rows) != expected:
            verdict.wrong.append(("rows", f"{len(rows)} shots instead of {expected}"))
            return []
        return [(k, k) for k in range(expected)]
    place: dict[int, list[int]] = {}
    for k, row in enumerate(truth["source_row"]):
        place.setdefault(row, []).append(k)  # a line may hold several shots, side by side
    reasons = dict(truth["must_reject"]) | dict(truth["may_reject"])
    for row in rows:
        if row not in place:
            why = reasons.get(row, "?")
            # A reader that lost the spoilt column as a whole could not see the fault.
            unseen = why in _SPOILT and shots[_SPOILT[why]].null_count() == len(shots)
            kind = verdict.lacking if unseen else verdict.wrong
            kind.append(("rows", f"took a line that is no shot: {why}"))
    lost = set(place) - set(rows) - set(truth["optional_rows"])
    if lost:
        verdict.lacking.append(("rows", f"{len(lost)} of {len(place)} shots rejected"))
    pairs = []
    for k, row in enumerate(rows):
        if place.get(row):
            pairs.append((place[row].pop(0), k))
    if any(place[row] for row in set(rows) & set(place)):
        verdict.wrong.append(("rows", "several shots of a line, of which some are lost"))
    return pairs


def _judge_column(
    name: str, found: list[Any], truth: dict[str, Any], pairs: list[tuple[int, int]], out: Verdict
) -> None:
    expected, tolerance = truth["data"].get(name), truth["tol"].get(name, 0.0)
    for place, row in pairs:
        value = found[row]
        if expected is None:
            if value != DEFAULTS.get(name) and name not in truth["derivable"]:
                out.wrong.append((name, f"{value!r} where the export says nothing"))
                return
        elif not _right(value, expected[place], tolerance):
            kind = out.lacking if value in (None, DEFAULTS.get(name)) else out.wrong
            kind.append((name, f"{value!r} instead of {expected[place]!r}"))
            if kind is out.wrong:
                return


def judge(shots: pl.DataFrame, rejected: pl.DataFrame, truth: dict[str, Any]) -> Verdict:
    """Compare what was read with the truth.

    Parameters
    ----------
    shots : pl.DataFrame
        Canonical shots.
    rejected : pl.DataFrame
        Rejected rows with `source_row` and `reason_code`.
    truth : dict
        The answer.

    Returns
    -------
    Verdict
        `WRONG` if any value or row is wrong, `partly` if any is missing, else `right`.
    """
    out = Verdict(truth["file"], RIGHT)
    if not any(state.startswith("loaded") for state in truth["outcome"]):
        out.wrong.append(("rows", f"loaded {len(shots)} shots from {truth['hard']}"))
        out.verdict = WRONG
        return out
    pairs = _matched(shots, truth, out)
    for name in shots.columns:
        if name not in _NOT_JUDGED and (name in NUMBERS or name in DEFAULTS or name == "club"):
            _judge_column(name, shots[name].to_list(), truth, pairs, out)
    _judge_times(shots["struck_at"].to_list(), truth, pairs, out)
    must = {row for row, _ in truth["must_reject"]} - set(shots["source_row"].to_list())
    unnamed = must - set(rejected["source_row"].to_list())
    if unnamed:
        out.wrong.append(("rows", f"{len(unnamed)} bad lines vanished without a reason"))
    sessions = shots["session_id"].n_unique() if "session_id" in shots.columns else None
    if sessions is not None and sessions not in truth["sessions"] and not out.lacking:
        wanted = truth["sessions"]
        out.wrong.append(("session_id", f"{sessions} sessions instead of {wanted}"))
    out.verdict = WRONG if out.wrong else PARTLY if out.lacking else RIGHT
    return out


def _judge_times(
    found: list[datetime | None], truth: dict[str, Any], pairs: list[tuple[int, int]], out: Verdict
) -> None:
    for place, row in pairs:
        value = found[row]
        expected = truth["struck_at"][place] if truth["struck_at"] else None
        if expected is None:
            if value is not None:
                out.wrong.append(("struck_at", f"{value} where the export says nothing"))
                return
        elif value is None:
            out.lacking.append(("struck_at", f"nothing instead of {expected}"))
        elif not _right_time(value, expected, truth["time_kind"]):
            local = value.astimezone(ZONE).replace(tzinfo=None)
            out.wrong.append(("struck_at", f"{local} local instead of {expected}"))
            return


def read_and_judge(path: Path, truth: dict[str, Any]) -> Verdict:
    """Read one export as a service would, and judge it.

    Parameters
    ----------
    path : Path
        The export; a note of the same name lies beside it.
    truth : dict
        The answer.

    Returns
    -------
    Verdict
        A refusal is `right` where the truth wants one.
    """
    from rangeledger.pipelines.reader.prepare import prepare_export

    note = path.with_suffix(".toml")
    mappings = path.parent / "mappings"
    try:
        export = prepare_export(
            path,
            mappings_dir=mappings,
            zone=ZONE,
            note=note if note.exists() else None,
            file_name=path.name,
        )
    except ExportError as refusal:
        wanted = "quarantined" in truth["outcome"]
        reason = f"{refusal.code}: {refusal}"
        return Verdict(truth["file"], RIGHT if wanted else REFUSED, reason=reason)
    verdict = judge(export.shots, export.rejected, truth)
    verdict.silent = _silent(export.shots["extras"], "\n".join(map(str, export.remarks)))
    return verdict


def _silent(extras: pl.Series, told: str) -> list[str]:
    """Main columns among the extras of which no remark speaks."""
    cells: dict[str, list[str]] = defaultdict(list)
    for row in extras.drop_nulls().head(_LOOKED_AT):
        for heading, cell in json.loads(row).items():
            cells[heading].append(str(cell))
    return [
        heading
        for heading, found in cells.items()
        if _MAIN.search(heading)
        and 2 * sum(any(map(str.isdigit, cell)) for cell in found) > len(found)
        and f"{heading!r}" not in told
    ]


def generated(seeds: Iterable[int], folder: Path) -> Iterator[tuple[Path, dict[str, Any]]]:
    """Write random exports to a folder, one at a time, with their truth."""
    from tests.exports.generator import random_export

    for seed in seeds:
        one = random_export(seed)
        path = folder / f"g{seed}.csv"
        path.write_bytes(one.content)
        if one.note is not None:
            path.with_suffix(".toml").write_text(one.note, encoding="utf-8")
        yield path, one.truth | {"file": path.name}


def from_folder(folder: Path) -> Iterator[tuple[Path, dict[str, Any]]]:
    """The exports of a folder with their answers in `truth/NAME.json`."""
    for answer in sorted((folder / "truth").glob("*.json")):
        yield folder / answer.name.removesuffix(".json"), json.loads(answer.read_text("utf-8"))


def judge_all(exports: Iterable[tuple[Path, dict[str, Any]]]) -> list[tuple[Verdict, list[str]]]:
    """Verdicts with the tags of each export; a crash counts as WRONG."""
    verdicts = []
    for path, truth in exports:
        try:
            verdict = read_and_judge(path, truth)
        except Exception as error:  # noqa: BLE001 - a crash is what this looks for
            last = traceback.extract_tb(error.__traceback__)[-1]
            where = f"{Path(last.filename).name}:{last.lineno}"
            crash = f"{type(error).__name__}: {error} ({where})"
            verdict = Verdict(truth["file"], WRONG, wrong=[("crash", crash)])
        printed = truth.get("printed", {})
        for found in (verdict.wrong, verdict.lacking):
            found[:] = [(c, f"{w} [{printed[c]}]" if c in printed else w) for c, w in found]
        verdicts.append((verdict, truth.get("tags", [])))
    return verdicts


def report(verdicts: list[tuple[Verdict, list[str]]], shown: int = 3) -> str:
    """Counts by verdict, wrong values by column, refusals by reason, trouble by tag."""
    lines = [f"{len(verdicts)} exports"]
    counts = Counter(v.verdict for v, _ in verdicts)
    lines += [f"  {name:8} {counts[name]}" for name in (RIGHT, PARTLY, REFUSED, WRONG)]
    for title, pick_items in (("WRONG", lambda v: v.wrong), ("lacking", lambda v: v.lacking)):
        examples: dict[str, list[str]] = defaultdict(list)
        for verdict, _ in verdicts:
            for column, what in dict(pick_items(verdict)).items():
                examples[column].append(f"{verdict.file}: {what}")
        lines.append(f"{title} by column")
        for column, found in sorted(examples.items(), key=lambda item: -len(item[1])):
            lines.append(f"  {column:22} {len(found):4}  " + " || ".join(found[:shown]))
    reasons = Counter(v.reason.split(":")[0] for v, _ in verdicts if v.verdict == REFUSED)
    lines += ["refused by code"] + [f"  {code:22} {n}" for code, n in reasons.most_common()]
    return "\n".join(lines + _by_tag(verdicts))


def _by_tag(verdicts: list[tuple[Verdict, list[str]]]) -> list[str]:
    total: Counter[str] = Counter()
    trouble: dict[str, Counter[str]] = defaultdict(Counter)
    for verdict, tags in verdicts:
        for tag in tags:
            total[tag] += 1
            trouble[tag][verdict.verdict] += 1
    ranked = sorted(total, key=lambda tag: -(total[tag] - trouble[tag][RIGHT]) / total[tag])
    lines = ["tag: not right / all (WRONG, partly, refused)"]
    for tag in ranked:
        found = trouble[tag]
        bad = total[tag] - found[RIGHT]
        if bad:
            split = f"{found[WRONG]}, {found[PARTLY]}, {found[REFUSED]}"
            lines.append(f"  {tag:24} {bad}/{total[tag]} ({split})")
    return lines


def main(arguments: list[str]) -> int:
    """Print the report; exit 1 if any value is wrong."""
    seeds = range(200)
    folders = [a for a in arguments if not a.startswith("--") and ":" not in a]
    for argument in arguments:
        if ":" in argument and not argument.startswith("/"):
            first, last = argument.removeprefix("--seeds=").split(":")
            seeds = range(int(first), int(last))
    began = time.perf_counter()
    with tempfile.TemporaryDirectory() as temporary:
        exports = from_folder(Path(folders[0])) if folders else generated(seeds, Path(temporary))
        verdicts = judge_all(exports)
    print(report(verdicts, 30 if "--all" in arguments else 3))
    if "--refused" in arguments:
        refused = [v for v, _ in verdicts if v.verdict == REFUSED]
        print("\n".join(f"{v.file}: {v.reason}" for v in refused))
    print(f"{(time.perf_counter() - began) / max(1, len(verdicts)) * 1000:.0f} ms an export")
    return int(any(v.verdict == WRONG for v, _ in verdicts))


if __name__ == "__main__":
    raise SystemExit(main(sys.argv[1:]))
