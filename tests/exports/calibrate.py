"""How sure the reader says it is, against how often it is right.

`python -m tests.exports.calibrate FROM:TO` reads random exports as they are, and again with one
to three measured headings in words of no language, so that only their numbers can tell. It
prints the share that was right by what `inspect` calls sure, and the share of columns that would
be wrong and taken if only those above some sureness were.
"""

from __future__ import annotations

import re
import sys
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np
from rangeledger.pipelines.reader.prepare import prepare_export
from rangeledger.pipelines.reader.recognising.columns.by_numbers import FOUND
from rangeledger.pipelines.reader.recognising.tables.report import ColumnReport
from rangeledger.schemas.errors import ExportError

from tests.exports.score import ZONE, generated, judge

_INVENTED = ("Zorp", "Quax", "Blim", "Wump", "Trezzle", "Gnarv", "Plonder", "Skiv")
_MOST_DISGUISED = 3
_BINS = (0.0, 0.8, 0.9, 0.95, 0.98, 0.99, 0.995, 1.01)


@dataclass(frozen=True)
class Answer:
    """One measured column that was there: what was said of it and whether that was right."""

    column: str
    disguised: bool
    sure: float | None
    right: bool


def _read(path: Path, truth: dict[str, Any]) -> tuple[list[ColumnReport], set[str]] | None:
    note = path.with_suffix(".toml")
    try:
        export = prepare_export(path, zone=ZONE, note=note if note.exists() else None)
    except ExportError:
        return None
    wrong = {name for name, _ in judge(export.shots, export.rejected, truth).wrong}
    return export.recognition.columns, wrong


def _disguised(text: str, reports: list[ColumnReport], rng: np.random.Generator) -> Any:
    """The text with some headings in invented words, and the columns that these were."""
    able = [r for r in reports if r.column in FOUND and text.count(r.heading) == 1]
    if not able:
        return None
    chosen = rng.permutation(len(able))[: rng.integers(1, _MOST_DISGUISED + 1)]
    names = set()
    for place, word in zip(chosen, rng.permutation(_INVENTED), strict=False):
        report = able[place]
        unit = re.search(r"[(\[][^()\[\]]*[)\]]\s*$", report.heading)
        text = text.replace(report.heading, f"{word} {unit[0]}" if unit else str(word))
        names.add(report.column)
    return text, names


def answers(seeds: range) -> Iterator[Answer]:
    """What is said of the measured columns of random exports, plain and disguised."""
    with tempfile.TemporaryDirectory() as folder:
        for path, truth in generated(seeds, Path(folder)):
            plain = _read(path, truth)
            if plain is None:
                continue
            reports, wrong = plain
            for report in reports:
                if report.column in FOUND:
                    yield Answer(
                        report.column, False, report.confidence, report.column not in wrong
                    )
            try:
                text = path.read_bytes().decode("utf-8")
            except UnicodeDecodeError:
                continue
            hidden = _disguised(text, reports, np.random.default_rng(len(text)))
            if hidden is None:
                continue
            path.write_text(hidden[0], encoding="utf-8", newline="")
            again = _read(path, truth)
            taken = {r.column: r.confidence for r in again[0]} if again else {}
            for name in hidden[1]:
                fit = again is not None and name in taken and name not in again[1]
                yield Answer(name, True, taken.get(name), fit)
            for name in (again[1] if again else set()) - hidden[1]:
                if name in taken and name in FOUND:
                    yield Answer(name, True, taken[name], right=False)


def table(found: list[Answer]) -> str:
    """Reliability, and risk against coverage, as a Markdown table."""
    lines = [
        "| sure | columns | right | taken from here on | wrong of these |",
        "|---|---|---|---|---|",
    ]
    said = [a for a in found if a.sure is not None]
    for low, high in pairwise(_BINS):
        within = [a for a in said if low <= (a.sure or 0.0) < high]
        above = [a for a in said if (a.sure or 0.0) >= low]
        if within:
            right = sum(a.right for a in within) / len(within)
            wrong = sum(not a.right for a in above)
            share = len(above) / len(found)
            span = f"{low:.3g} to {min(high, 1.0):.3g}"
            lines.append(
                f"| {span} | {len(within)} | {right:.1%} | {share:.0%} | {wrong} of {len(above)} |"
            )
    return "\n".join(lines)


def main(arguments: list[str]) -> int:
    """Print the tables of columns in plain words and of disguised ones."""
    first, last = map(int, arguments[0].split(":"))
    found = list(answers(range(first, last)))
    for hidden in (False, True):
        print(f"\nHeadings in {'invented' if hidden else 'plain'} words")
        some = [a for a in found if a.disguised is hidden]
        print(table(some))
        print("not taken:", sum(a.sure is None for a in some), "of", len(some))
        for name in FOUND:
            of_it = [a for a in some if a.column == name]
            taken = [a for a in of_it if a.sure is not None]
            print(
                f"  {name}: {len(of_it)}, taken {len(taken)}, right {sum(a.right for a in taken)}"
            )
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
