"""Shots that an export gives twice, and tables that sum up the shots of others.

A stretch is what stands under one heading without a break. Two stretches tell of the same shots
if they have the same clubs in the same order and agree in their times, in two measured columns to
the last digit, or move together in three; what no two visits do by chance.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import combinations

import numpy as np
import numpy.typing as npt
import polars as pl
from rangeledger.pipelines.reader.recognising.lines.blocks import OtherLine
from rangeledger.schemas.errors import ExportError
from rangeledger.schemas.reasons import FileReason, LineKind

# Rounding of either table, as part of the value and in canonical units; common practice, no source.
_NEAR, _NEARLY_NOTHING = 0.002, 0.06
_FEWEST_SHOTS, _FEWEST_COLUMNS, _FEWEST_ALIKE = 3, 3, 2
# A log of many short visits in one file is no pair of tables with the same shots.
_MOST_STRETCHES = 60
# Two visits of one player hang together by their clubs alone, which explain less than this.
_TOGETHER, _FEWEST_TOGETHER = 0.995, 5
# Rows of the same launch that are too many for chance, as a share of all.
_TWICE, _FEWEST_TWICE = 0.2, 4
_LAUNCH = (
    "ball_speed_mps", "launch_angle_deg", "launch_direction_deg", "spin_rate_rpm", "spin_axis_deg",
)  # fmt: skip
_TELLING = (
    *_LAUNCH, "clubhead_speed_mps", "carry_m", "carry_side_m", "total_m",
    "apex_m", "descent_angle_deg", "hang_time_s",
)  # fmt: skip
# Measured values in which two shots are never alike, with a time of each and without one: common
# practice, no source.
_FEWEST_MEASURED_STAMPED, _FEWEST_MEASURED = 3, 4
_RARE, _MOST_BY_CHANCE = 0.01, 20
_MOST_PARTS, _EVEN = 20, 1e-4  # of the least difference; of a step, in which numbers are kept
_STATISTICS = (pl.mean, pl.median, pl.max, pl.min)
_Floats = npt.NDArray[np.float64]


def stretches_of(shots: pl.DataFrame, others: Sequence[OtherLine]) -> list[pl.DataFrame]:
    """Rows that stand together: under one heading, without a line that names a group.

    Parameters
    ----------
    shots : pl.DataFrame
        Canonical columns with `record`, in the order of the file.
    others : sequence of OtherLine
        The lines beside them.

    Returns
    -------
    list of pl.DataFrame
        Empty where they are too many to be tables that give each other's shots again.
    """
    parting = (LineKind.HEADING, LineKind.UNITS, LineKind.SECTION, LineKind.NOTE)
    lines = sorted(line.record for line in others if line.kind in parting)
    after = np.searchsorted(np.array(lines, np.int64), shots["record"].to_numpy())
    starts = np.flatnonzero(np.diff(after, prepend=-1))
    if len(starts) > _MOST_STRETCHES:
        return []
    ends = [*starts[1:].tolist(), shots.height]
    return [
        shots.slice(first, end - first) for first, end in zip(starts.tolist(), ends, strict=True)
    ]


def rows_given_again(shots: pl.DataFrame) -> list[int]:
    """Rows that repeat an earlier one in every value: the same shot exported twice.

    Parameters
    ----------
    shots : pl.DataFrame
        Canonical columns, with `struck_at`.

    Returns
    -------
    list of int
        Their places; none where too little is measured for two shots never to be alike.
    """
    ours = ("record", "source_row", "place_in_row", "order", "shot_id", "source_file")
    compared = [name for name in shots.columns if name not in ours]
    measured = [n for n in compared if shots[n].dtype == pl.Float64]
    if len(measured) < (_FEWEST_MEASURED_STAMPED if _stamped(shots) else _FEWEST_MEASURED):
        return []
    # Rows that are alike have one hash: only those that share theirs are compared in full.
    alike = np.flatnonzero(shots.select(measured).hash_rows().is_duplicated().to_numpy())
    first = shots[alike].select(pl.struct(compared).is_first_distinct()).to_series()
    return [int(row) for row in alike[~first.to_numpy()]]


def _stamped(shots: pl.DataFrame) -> bool:
    """Whether shots bear times that tell most of them apart, and not the day alone."""
    times = shots["struck_at"]
    return 2 * times.n_unique() > len(times) and not times.has_nulls()


def alike_by_chance(shots: pl.DataFrame, again: Sequence[int]) -> bool:
    """Whether as many rows may repeat others because numbers are printed coarsely.

    Parameters
    ----------
    shots : pl.DataFrame
        Canonical columns.
    again : sequence of int
        Rows that repeat an earlier one in every value.

    Returns
    -------
    bool
        True where so many pairs, of a Poisson distribution, come by chance once in a hundred
        times: two shots of normal values with spread s agree in a column printed in steps of h
        with probability h / (2 s sqrt(pi)). Columns that follow from the launch count for none.
    """
    if not again or _stamped(shots):
        return False
    naming = [n for n in ("player", "club", "swing", "ball") if n in shots.columns]
    once = shots.filter(~pl.Series(np.isin(np.arange(shots.height), again)))
    steps = {n: step for n in _LAUNCH if n in shots.columns and (step := _step(shots[n]))}
    expected = 0.0
    for _, group in once.group_by(naming):
        spreads = {n: group[n].std() for n in steps}
        chances = [
            min(1.0, steps[n] / (2.0 * float(s) * math.sqrt(math.pi)))  # type: ignore[arg-type]
            for n, s in spreads.items()
            if s
        ]
        if len(chances) > 1:
            expected += group.height * (group.height - 1) / 2.0 * math.prod(chances)
    fewer = sum(math.exp(-expected) * expected**k / math.factorial(k) for k in range(len(again)))
    return len(again) <= _MOST_BY_CHANCE and 1.0 - fewer >= _RARE


def _step(values: pl.Series) -> float:
    """In what steps a column is printed: the largest of which all its differences are multiples."""
    steps = np.diff(np.unique(values.drop_nulls().to_numpy()))
    if steps.size < _FEWEST_SHOTS:
        return 0.0
    for parts in range(1, _MOST_PARTS):
        step = float(steps.min()) / parts
        counts = steps / step
        if np.all(np.abs(counts - np.round(counts)) < _EVEN):
            return step
    return float(steps.min()) / _MOST_PARTS


def repeated_stretches(stretches: Sequence[pl.DataFrame]) -> list[int]:
    """Stretches that say nothing new, each shot of which an earlier one gives alike.

    Parameters
    ----------
    stretches : sequence of pl.DataFrame
        Canonical columns of each, with `club`, `player` and `struck_at`, in the order of the file.

    Returns
    -------
    list of int
        Their places.

    Raises
    ------
    ExportError
        Two stretches give the same shots with other values: only one of them can be right.
    """
    again = []
    for one, two in combinations(range(min(len(stretches), _MOST_STRETCHES)), 2):
        if two in again or not _same_clubs(stretches[one], stretches[two]):
            continue
        near, apart = _compared(stretches[one], stretches[two])
        if len(near) >= _FEWEST_COLUMNS and not apart:
            again.append(two)
        elif apart and _are_same_shots(stretches[one], stretches[two], near):
            first, second = (int(stretches[k]["source_row"][0]) for k in (one, two))
            raise ExportError(
                f"The {stretches[one].height} shots from line {first} on stand again from line "
                f"{second} on, with other values for {_names(apart)}. Keep the ones that count, "
                "and offer the export again.",
                FileReason.UNCLEAR_COLUMNS,
            )
    return again


def _names(columns: Sequence[str]) -> str:
    return ", ".join(columns[:3])


def _same_clubs(one: pl.DataFrame, two: pl.DataFrame) -> bool:
    if one.height != two.height or one.height < _FEWEST_SHOTS:
        return False
    return one["club"].equals(two["club"]) and one["player"].equals(two["player"])


def _compared(one: pl.DataFrame, two: pl.DataFrame) -> tuple[list[str], list[str]]:
    """Measured columns of both that vary: those that agree row by row, and those that do not."""
    near: list[str] = []
    apart: list[str] = []
    for name in _shared(one, two):
        if one[name].n_unique() > 1:
            (near if _is_near(one[name], two[name]) else apart).append(name)
    return near, apart


def _shared(one: pl.DataFrame, two: pl.DataFrame) -> list[str]:
    return [
        name
        for name in _TELLING
        if name in one.columns and name in two.columns
        and not one[name].null_count() and not two[name].null_count()
    ]  # fmt: skip


def _is_near(one: pl.Series, two: pl.Series) -> bool:
    return bool(((one - two).abs() <= _NEAR * one.abs() + _NEARLY_NOTHING).all())


def _are_same_shots(one: pl.DataFrame, two: pl.DataFrame, near: Sequence[str]) -> bool:
    if len(near) >= _FEWEST_ALIKE:
        return True
    times = one["struck_at"]
    if not times.null_count() and times.n_unique() > 1 and times.equals(two["struck_at"]):
        return True
    return one.height >= _FEWEST_TOGETHER and _move_together(one, two) >= _FEWEST_COLUMNS


def _move_together(one: pl.DataFrame, two: pl.DataFrame) -> int:
    """Number of columns in which two stretches rise and fall alike within each club."""
    count = 0
    for name in _shared(one, two):
        first, second = (_within_clubs(stretch, name) for stretch in (one, two))
        spread = float(np.linalg.norm(first) * np.linalg.norm(second))
        count += spread > 0.0 and float(first @ second) > _TOGETHER * spread
    return count


def _within_clubs(stretch: pl.DataFrame, name: str) -> _Floats:
    """Values less the mean of their club."""
    rest = stretch.select(pl.col(name) - pl.col(name).mean().over("club")).to_series()
    return np.asarray(rest.to_numpy(), np.float64)


def summing_up(stretches: Sequence[pl.DataFrame]) -> list[int]:
    """Stretches of one row a club whose numbers are a statistic of the shots of all others.

    Parameters
    ----------
    stretches : sequence of pl.DataFrame
        As for `repeated_stretches`.

    Returns
    -------
    list of int
        Their places; never all.
    """
    found: list[int] = []
    for place, stretch in enumerate(stretches[:_MOST_STRETCHES]):
        rest = [s for k, s in enumerate(stretches) if k != place and k not in found]
        if not rest or not stretch.height or stretch["club"].is_duplicated().any():
            continue
        shots = pl.concat(rest, how="diagonal_relaxed")
        if shots.height > stretch.height and any(_agrees(stretch, one) for one in _summed(shots)):
            found.append(place)
    return found


def _summed(shots: pl.DataFrame) -> Iterator[pl.DataFrame]:
    """The shots summed up by club, by one statistic after another."""
    names = [name for name in _TELLING if name in shots.columns]
    for statistic in _STATISTICS:
        yield shots.group_by("club").agg(pl.len().alias("shots"), *(statistic(n) for n in names))


def _agrees(stretch: pl.DataFrame, summed: pl.DataFrame) -> bool:
    both = stretch.join(summed.filter(pl.col("shots") > 1), on="club", suffix=" of all")
    if both.height < stretch.height:
        return False
    shared = [n for n in _TELLING if f"{n} of all" in both.columns]
    pairs = [both.select(n, f"{n} of all").drop_nulls() for n in shared]
    agreed = sum(pair.height for pair in pairs)
    near = all(_is_near(pair.to_series(0), pair.to_series(1)) for pair in pairs)
    return near and agreed >= _FEWEST_COLUMNS


def refuse_twins(shots: pl.DataFrame) -> None:
    """Raise where many rows repeat the launch or the time of another, but not its other values.

    Parameters
    ----------
    shots : pl.DataFrame
        All rows that may be shots, canonical columns.

    Raises
    ------
    ExportError
        The same shots are given twice with other values, as measured and as normalised.
    """
    varied = [name for name in _TELLING if name in shots.columns and shots[name].n_unique() > 1]
    launch = [name for name in varied if name in _LAUNCH]
    if shots.height < _FEWEST_TWICE:
        return
    if len(launch) >= _FEWEST_COLUMNS:
        _refuse_alike(shots, launch, [n for n in varied if n not in launch], "the launch")
    if _times_shots(shots["struck_at"]):
        _refuse_alike(shots, ["struck_at"], varied, "the time")


def _times_shots(times: pl.Series) -> bool:
    """Whether times tell one shot from another: no player strikes two within a second."""
    known = times.drop_nulls()
    seconds = known.filter(known.dt.second() != 0)
    return len(known) > 0 and 2 * len(seconds) > len(known)


def _refuse_alike(
    shots: pl.DataFrame, keys: Sequence[str], others: Sequence[str], what: str
) -> None:
    """Raise where many rows agree in some columns and differ in others."""
    keys = ["player", "club", *keys]
    known = shots.drop_nulls(keys)
    alike = known.filter(known.select(keys).is_duplicated())
    if alike.height < max(_FEWEST_TWICE, _TWICE * shots.height):
        return
    values = alike.group_by(keys).agg(pl.col(name).n_unique() for name in others)
    apart = [name for name in others if (values[name] > 1).any()]
    if apart:
        lines = ", ".join(str(line) for line in alike["source_row"].head(4))
        raise ExportError(
            f"{alike.height} rows give {what} of another row again, with other values for "
            f"{_names(apart)} (lines {lines} and on). Keep the row of each shot that counts, and "
            "offer the export again.",
            FileReason.UNCLEAR_COLUMNS,
        )
