"""All benchmarks in one table: what, figure, anchor in the same run, ratio, bar.

    python -m tests.benchmarks [--quick] [--write] [NAME ...]

NAME is a part of a script's name, such as `flight`. `--quick` measures small and compares each
ratio with `usual_ratios.toml`: more than three times the usual is a gross loss, and an error. Bars
are judged otherwise. `--write` notes the quick ratios of this run as the usual ones.
"""

from __future__ import annotations

import argparse
import os
import sys
import tomllib
from importlib import import_module
from pathlib import Path

from tests.benchmarks.figures import Figure

USUAL = Path(__file__).with_name("usual_ratios.toml")
GROSS = 3.0
TOO_SHORT_MS = 50.0  # one other process beside it makes three of such a figure
SCRIPTS = (
    "carry_models", "course", "flight", "normalising", "pages", "prepare", "reading", "commands",
    "fleet", "service", "tree_memory",
)  # fmt: skip


def main() -> int:
    """Print the table; 1 if a bar is missed or, in quick mode, a ratio is a gross loss."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("names", nargs="*", metavar="NAME", help=f"of {', '.join(SCRIPTS)}")
    parser.add_argument("--quick", action="store_true", help="small, beside the usual ratios")
    parser.add_argument("--write", action="store_true", help="note the quick ratios as the usual")
    asked = parser.parse_args()
    names = [one for one in SCRIPTS if not asked.names or any(n in one for n in asked.names)]
    usual = tomllib.loads(USUAL.read_text()) if USUAL.exists() else {}
    quick, found, faults = asked.quick or asked.write, {}, []
    head = ("what", "figure", "anchor in the same run", "its figure", "ratio", "bar")
    print("{:<50}{:>11}     {:<41}{:>10} {:>9}  {}".format(*head))
    again = []
    for name in names:
        missed = _measured(name, asked, usual, found)
        faults += missed
        again += [name] if missed else []
    if quick and faults:  # other work beside one run is no loss: only what is slow twice
        print("\nonce more, by itself")
        twice = {
            word.partition(":")[0]
            for name in again
            for word in _measured(name, asked, usual, found)
        }
        faults = [word for word in faults if word.partition(":")[0] in twice]
    if asked.write:
        _write(usual | found)
        return 0
    print(f"{os.cpu_count()} processors, load average {os.getloadavg()[0]:.1f}")
    print("\n".join(["", *faults] if faults else ["no gross loss" if quick else "all bars held"]))
    return int(bool(faults))


def _measured(
    name: str, asked: argparse.Namespace, usual: dict[str, float], found: dict[str, float]
) -> list[str]:
    """Print the figures of a script; what is wrong with them."""
    quick, faults = asked.quick or asked.write, []
    for figure in import_module(f"tests.benchmarks.bench_{name}").figures(quick):
        found[figure.what] = figure.ratio
        word = "" if asked.write else _judged(figure, usual if quick else None)
        faults += [f"{figure.what}: {word}"] if word else []
        print(_line(figure, word), flush=True)
    return faults


def _judged(figure: Figure, usual: dict[str, float] | None) -> str:
    """What is wrong with a figure, by its bars or by the usual ratios."""
    if usual is None:
        return "MISSED" if figure.missed else ""
    if figure.what not in usual:
        return "not among the usual ratios: python -m tests.benchmarks --write"
    if figure.unit == "ms" and figure.value < TOO_SHORT_MS:
        return ""
    times = figure.ratio / usual[figure.what]
    return f"{times:.1f} TIMES THE USUAL" if times > GROSS else ""


def _line(figure: Figure, word: str) -> str:
    bars = [
        *([f"{figure.bar:.3g} {figure.unit}"] if figure.bar is not None else []),
        *([f"ratio {figure.ratio_bar:g}"] if figure.ratio_bar is not None else []),
    ]
    return (
        f"{figure.what:<50}{figure.value:>11.4g} {figure.unit:<3} {figure.anchor:<41}"
        f"{figure.beside:>10.4g} {figure.ratio:>9.3g}  {' and '.join(bars):<22} {word}"
    ).rstrip()


def _write(ratios: dict[str, float]) -> None:
    head = (
        "# Ratios of the quick figures to their anchors, as they usually are (regression);\n"
        "# written by `python -m tests.benchmarks --write`.\n"
    )
    USUAL.write_text(head + "".join(f'"{what}" = {r:.3g}\n' for what, r in ratios.items()))


if __name__ == "__main__":
    sys.exit(main())
