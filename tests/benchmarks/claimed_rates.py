"""Print what is claimed beside what is observed, on makes of players that nothing was tuned on.

    python tests/benchmarks/claimed_rates.py [--players 60] [--only monitors] [--tuned] [--quick]

Bands are those of the next session; false claims are made of players who have not changed, ways
that are equal, and players who are as usual. `--tuned` takes the makes that numbers were set on.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import numpy as np
import polars as pl

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))
sys.path.insert(0, str(Path(__file__).resolve().parents[2] / ".src"))

from rangeledger.models.clubs.carry_model import CarryModel
from rangeledger.models.clubs.shot_distribution import carry_quantile
from rangeledger.models.clubs.shot_groups import GROUP_KEYS
from rangeledger.models.coaching.comparison import compare
from rangeledger.models.sessions.level_changes import level_changes
from rangeledger.models.sessions.monitor_offsets import monitor_offsets, without_offsets

from tests.benchmarks.claimed_advice import advice, flags, shapes
from tests.benchmarks.claimed_winds import winds
from tests.models.other_players import JUDGED_ON, TUNED_ON, WEAK, Make, Season, make_season, name_of

Row = tuple[str, str, float]
SEASON = Season()
BANDS = {
    "steady, 5 shots of one club": (SEASON.changed(sessions=1, clubs=1), 0),
    "steady, 20 shots a club": (SEASON.changed(sessions=4), 0),
    "steady, 100 shots a club": (SEASON.changed(sessions=10, shots=10), 0),
    "6 % gain, 20 shots a club": (SEASON.changed(shots=3, presence=0.8, gain=0.06), 0),
    "6 % gain, 100 shots a club": (SEASON.changed(sessions=10, shots=10, gain=0.06), 0),
    "4 % step two sessions old": (SEASON.changed(step=0.04, after=2), 0),
    "level wanders 0.8 % a session": (SEASON.changed(sessions=10, walk=0.008), 0),
    "two monitors 2.5 % apart": (SEASON.changed(sessions=10, monitors=0.025), 0),
    "handicap 25, 20 shots a club": (SEASON.changed(sessions=4), 1),
    "handicap 25, 5 shots of one club": (SEASON.changed(sessions=1, clubs=1), 1),
    "the same, handicap told": (SEASON.changed(sessions=1, clubs=1), 2),
}  # fmt: skip


def bands(makes: dict[str, Make], players: int) -> Iterator[Row]:
    """Share of the shots of the next session inside the 10-90 % band."""
    for name, (season, weak) in BANDS.items():
        inside = []
        for place, make in enumerate(makes.values()):
            made_by = replace(make, **WEAK) if weak else make
            count = players if season.clubs > 1 else 5 * players
            made = make_season(count, made_by, season, seed=1000 + place)
            told = {name_of(number): 25.0 for number in range(count)} if weak == 2 else {}
            parameters = CarryModel(handicaps=told).fit(made.shots).parameters_
            ends = parameters.select(*GROUP_KEYS).with_columns(
                low=pl.Series(carry_quantile(parameters, 0.1)),
                high=pl.Series(carry_quantile(parameters, 0.9)),
            )
            wide = made.later.join(ends, on=list(GROUP_KEYS))
            inside.append(wide["still_carry_m"].is_between(wide["low"], wide["high"]).mean())
        low, high = min(inside), max(inside)
        yield f"band, {name} ({low:.2f} to {high:.2f} by make)", ".80", float(np.mean(inside))


def changes(makes: dict[str, Make], players: int) -> Iterator[Row]:
    """How often a change is noticed, and how often its interval holds it."""
    cases = {"none, 8 sessions": (SEASON, 0.0)} | {
        f"4 % step, {after} session{'s' * (after > 1)} old":
        (SEASON.changed(sessions=8 + after, step=0.04, after=after), 0.04)
        for after in (1, 2, 3)
    }  # fmt: skip
    for name, (season, step) in cases.items():
        found, held = [], []
        for place, make in enumerate(makes.values()):
            made = make_season(players, make, season, seed=2000 + place)
            table = level_changes(CarryModel().fit(made.shots))
            found.append(table.height / players)
            truth = {name_of(number): value for number, value in enumerate(made.step)}
            for row in table.iter_rows(named=True) if step else ():
                size = 100.0 * float(np.expm1(np.sign(truth[row["player"]]) * np.log1p(step)))
                held.append(row["change_low"] <= size <= row["change_high"])
        yield f"change noticed: {name}", "at most .05" if not step else "", float(np.mean(found))
        if held:
            yield "  its interval holds it", ".90", float(np.mean(held))


def ways(makes: dict[str, Make], players: int) -> Iterator[Row]:
    """How often two equal ways are called different."""
    cases = {"same days": SEASON.changed(sessions=4, shots=8, clubs=3),
             "days apart": SEASON.changed(sessions=6, shots=6, clubs=3)}  # fmt: skip
    for name, season in cases.items():
        told: dict[str, list[bool]] = {}
        for place, make in enumerate(makes.values()):
            made = make_season(players, make, season, seed=3000 + place)
            strikes = CarryModel().fit(made.shots).strikes_["strike"]
            column = "shot_number" if name == "same days" else "visit"
            for shots in made.shots.with_columns(strikes).partition_by("player"):
                even = pl.col(column) % 2 == 0
                for row in compare(shots.filter(even), shots.filter(~even)).iter_rows(named=True):
                    told.setdefault(row["measure"], []).append(not row["low"] <= 0.0 <= row["high"])
        for measure, wrong in told.items():
            yield f"equal ways on {name}: {measure} differs", ".10", float(np.mean(wrong))


MONITORS = {
    "monitors agree": SEASON.changed(sessions=10, shots=10),
    "2.5 % apart": SEASON.changed(sessions=10, shots=10, monitors=0.025),
    "2.5 % apart, both on two days of ten":
        SEASON.changed(sessions=10, shots=10, monitors=0.025, both=0.2),
    "agree, 6 % gain": SEASON.changed(sessions=10, shots=10, gain=0.06),
}  # fmt: skip


def monitors(makes: dict[str, Make], players: int) -> Iterator[Row]:
    """Error of the centre with offsets taken off and without, and claims of an offset."""
    for name, season in MONITORS.items():
        off: dict[bool, list[np.ndarray]] = {False: [], True: []}
        apart, held = [], []
        for place, make in enumerate(makes.values()):
            made = make_season(players, make, season, seed=4000 + place)
            offsets = monitor_offsets(made.shots)
            half = pl.when(pl.col("monitor") == "bay B").then(0.5).otherwise(-0.5)
            usual = offsets.filter("reference").select("player", shift=season.monitors * half)
            truth = made.truth.join(usual, on="player")
            for taken in off:
                shots = without_offsets(made.shots, offsets) if taken else made.shots
                table = CarryModel().fit(shots).parameters_.join(truth, on=["player", "club"])
                error = (table["carry_m"] / table["now_m"]).log() - table["shift"]
                off[taken].append(error.to_numpy())
            other = offsets.filter(~pl.col("reference"))
            apart.append(other["apart"].mean())
            sign = np.where(other["monitor"].to_numpy() == "bay B", 1.0, -1.0)
            true = 100.0 * np.expm1(sign * season.monitors)
            low, high = (other[f"carry_offset_{end}"].to_numpy() for end in ("low", "high"))
            held.append((low <= true) & (true <= high))
        before, after = (
            100.0 * float(np.sqrt(np.mean(np.concatenate(e) ** 2))) for e in off.values()
        )
        yield f"{name}: centre off by, %, offsets left in", "", before
        yield f"{name}: centre off by, %, offsets taken off", "", after
        yield (
            f"{name}: called apart",
            "" if season.monitors else "at most .10",
            float(np.mean(apart)),
        )
        yield f"{name}: the interval holds the offset", ".90", float(np.mean(np.concatenate(held)))


PARTS = {
    "bands": bands, "changes": changes, "ways": ways, "monitors": monitors, "advice": advice,
    "flags": flags, "shapes": shapes, "winds": lambda _, players: winds(players),
}  # fmt: skip


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--players", type=int, default=60, help="players of each make and case")
    parser.add_argument("--tuned", action="store_true", help="the makes that numbers were set on")
    parser.add_argument("--only", help="one part: " + ", ".join(PARTS))
    parser.add_argument("--quick", action="store_true", help="few players, a few seconds")
    arguments = parser.parse_args()
    players = 3 if arguments.quick else arguments.players
    makes = TUNED_ON if arguments.tuned else JUDGED_ON
    print("| what | claimed | observed |\n|---|---|---|")
    for part in [PARTS[arguments.only]] if arguments.only else PARTS.values():
        for what, claimed, observed in part(makes, players):
            print(f"| {what} | {claimed} | {observed:.3f} |", flush=True)


if __name__ == "__main__":
    main()
