"""Simulate players whose truth is known and print how estimators did, as a Markdown table.

    python tests/benchmarks/coverage_table.py [--quick]

Every row is learned from n shots a club and judged on four later sessions of ten shots. The
rivals see each club by itself, as they would in a notebook: plain mean and covariance, median
and MAD, and scikit-learn's MinCovDet, each with the chi-square ellipse that belongs to it. All
are scored on the same 40 players of eight clubs; the coverage of the carry model is over 1,000.
"""

from __future__ import annotations

import argparse
import sys
import time
import warnings
from collections.abc import Callable
from pathlib import Path

import numpy as np
import polars as pl
from scipy import stats
from sklearn.covariance import MinCovDet

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))
sys.path.insert(0, str(Path(__file__).resolve().parents[2] / ".src"))

from rangeledger.models.clubs.carry_model import CarryModel
from rangeledger.models.clubs.scoring_rules import SCORING_DRAWS, energy_score, score_shots
from rangeledger.models.clubs.shot_distribution import region_radius, squared_distance
from rangeledger.models.clubs.shot_groups import GROUP_KEYS

from tests.models.synthetic_players import make_players, name_of, true_centres

LEVELS = (0.5, 0.8, 0.9)
KEYS = list(GROUP_KEYS)
COMPARED = 40
Centre = tuple[np.ndarray, np.ndarray]


def mean_and_covariance(points: np.ndarray) -> Centre:
    return points.mean(axis=0), np.cov(points.T)


def median_and_mad(points: np.ndarray) -> Centre:
    centre = np.median(points, axis=0)
    return centre, np.diag((1.4826 * np.median(np.abs(points - centre), axis=0)) ** 2)


def minimum_covariance_determinant(points: np.ndarray) -> Centre:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        fitted = MinCovDet(random_state=0).fit(points)
    return fitted.location_, fitted.covariance_


def judge_rival(
    fit: Callable[[np.ndarray], Centre],
    learn: pl.DataFrame,
    later: pl.DataFrame,
    truth: pl.DataFrame,
) -> dict[str, float]:
    """Fit each club by itself and return coverage, score, error of the centre and time."""
    rng = np.random.default_rng(1)
    points = ["still_carry_m", "still_side_m"]
    tested = {key: group.select(points).to_numpy() for key, group in later.group_by(KEYS)}
    centres = dict(zip(truth.select(KEYS).iter_rows(), truth["true_carry_m"], strict=True))
    inside, scores, errors, seconds = [], [], [], 0.0
    for key, group in learn.group_by(KEYS, maintain_order=True):
        started = time.perf_counter()
        centre, covariance = fit(group.select(points).to_numpy())
        seconds += time.perf_counter() - started
        covariance = covariance + 1e-6 * np.eye(2)
        miss = tested[key] - centre
        distance = (miss @ np.linalg.inv(covariance) * miss).sum(axis=1)
        inside.append([(distance <= stats.chi2.ppf(level, 2)).mean() for level in LEVELS])
        draws = rng.multivariate_normal(centre, covariance, SCORING_DRAWS)[None]
        score = energy_score(draws, tested[key], np.zeros(len(miss), dtype=np.int64)).mean()
        scores.append(score / centres[key])
        errors.append(centre[0] / centres[key] - 1.0)
    return _summary(np.mean(inside, axis=0), np.array(scores), np.array(errors), seconds)


def judge_carry_model(
    learn: pl.DataFrame, later: pl.DataFrame, truth: pl.DataFrame
) -> dict[str, float]:
    """Fit all players; return coverage over all, score and error of the centre on some."""
    started = time.perf_counter()
    parameters = CarryModel().fit(learn).parameters_
    seconds = time.perf_counter() - started
    wide = later.join(
        parameters.with_columns(
            pl.Series(f"radius_{level}", region_radius(parameters, level)) for level in LEVELS
        ),
        on=KEYS,
    )
    compared = later.filter(pl.col("player") < name_of(COMPARED))
    places = (wide[name].to_numpy() for name in ("still_carry_m", "still_side_m"))
    distance = np.sqrt(squared_distance(wide, *places))
    inside = np.array([(distance <= wide[f"radius_{level}"].to_numpy()).mean() for level in LEVELS])
    both = parameters.join(truth, on=KEYS).join(score_shots(parameters, compared), on=KEYS)
    scores = (both["score_m"] / both["true_carry_m"]).to_numpy()
    errors = (both["carry_m"] / both["true_carry_m"] - 1.0).to_numpy()
    return _summary(inside, scores, errors, seconds / parameters.height * both.height)


def _summary(
    inside: np.ndarray, scores: np.ndarray, errors: np.ndarray, seconds: float
) -> dict[str, float]:
    coverage = {f"inside {level:.0%}": value for level, value in zip(LEVELS, inside, strict=True)}
    return coverage | {
        "energy score, % of carry": 100.0 * float(scores.mean()),
        "centre off by, % of carry": 100.0 * float(np.sqrt((errors**2).mean())),
        "s per 1000 clubs": 1000.0 * seconds / len(scores),
    }


RIVALS = {
    "mean and covariance": mean_and_covariance,
    "median and MAD": median_and_mad,
    "MinCovDet": minimum_covariance_determinant,
}


def table(players: int) -> list[dict[str, object]]:
    """Return one row for each number of shots and estimator."""
    rows: list[dict[str, object]] = []
    for shots, sessions in ((5, 1), (10, 2), (20, 3), (50, 5), (100, 8)):
        learn, later, made = make_players(players, shots, sessions, seed=77, test_sessions=4)
        truth = true_centres(made).with_columns(swing=pl.lit("full"), ball=pl.lit("premium"))
        few = [
            frame.filter(pl.col("player") < name_of(COMPARED)) for frame in (learn, later, truth)
        ]
        for name, fit in RIVALS.items():
            rows.append({"n": shots, "estimator": name} | judge_rival(fit, *few))
        rows.append(
            {"n": shots, "estimator": "CarryModel"} | judge_carry_model(learn, later, truth)
        )
    return rows


def as_markdown(rows: list[dict[str, object]]) -> str:
    """Return rows as a Markdown table."""
    head = list(rows[0])
    lines = ["| " + " | ".join(head) + " |", "|" + "---|" * len(head)]
    for row in rows:
        cells = [f"{cell:.3g}" if isinstance(cell, float) else str(cell) for cell in row.values()]
        lines.append("| " + " | ".join(cells) + " |")
    return "\n".join(lines)


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--quick", action="store_true", help="few players, a few seconds")
    arguments = parser.parse_args()
    print(as_markdown(table(4 if arguments.quick else 1000)))


if __name__ == "__main__":
    main()
