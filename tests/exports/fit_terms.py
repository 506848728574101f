"""Fit the numbers of `recognising/columns/following.toml` on random exports.

`python -m tests.exports.fit_terms FROM:TO` prints for each quantity the middle of
log(observed / expected), how that middle differs from export to export, and the scatter from row
to row. Judge the reader anew after a change of the file.
"""

from __future__ import annotations

import sys
from collections import defaultdict

import numpy as np
from rangeledger.pipelines.reader.recognising.columns.by_numbers import FOUND
from rangeledger.pipelines.reader.recognising.columns.following import (
    middle_and_scatter,
    predictions,
)

from tests.exports.generator import random_export

_FEWEST_ROWS = 6


def _numbers(values: list[object]) -> np.ndarray:
    """Truth as numbers; a value that may be one of several counts as its first."""
    plain = [v["any"][0] if isinstance(v, dict) else v for v in values]
    return np.array([np.nan if v is None else float(v) for v in plain])


def fitted(seeds: range) -> dict[str, tuple[float, float, float]]:
    """Bias, offset and floor of each quantity."""
    found: defaultdict[str, list[tuple[float, float]]] = defaultdict(list)
    for seed in seeds:
        data = random_export(seed).truth["data"]
        known = {n: _numbers(v) for n, v in data.items() if n in FOUND}
        for name in known:
            others = {n: v for n, v in known.items() if n != name}
            predicted = predictions(others).get(name)
            if predicted is None:
                continue
            with np.errstate(invalid="ignore", divide="ignore"):
                logs = np.log(known[name] / predicted)
            logs = logs[np.isfinite(logs)]
            if logs.size >= _FEWEST_ROWS:
                found[name].append(middle_and_scatter(logs))
    return {
        name: (
            float(np.median([m for m, _ in both])),
            middle_and_scatter(np.array([m for m, _ in both]))[1],
            float(np.median([s for _, s in both])),
        )
        for name, both in found.items()
        if len(both) >= _FEWEST_ROWS
    }


def main(arguments: list[str]) -> int:
    """Print the table."""
    first, last = map(int, arguments[0].split(":"))
    for name, (bias, offset, floor) in fitted(range(first, last)).items():
        print(f"[{name}]\nbias = {bias:.3f}\noffset = {offset:.3f}\nfloor = {floor:.3f}\n")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
