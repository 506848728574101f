"""Sessions that stand out from a player's past, and the likely cause in plain words.

Three tests a session: what came out (carry, side), how the ball was launched, and carry and
curve given the launch. Which of them speak tells a changed swing from wind, ball or units.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from typing import Final

import numpy as np
import polars as pl
from rangeledger.models.clubs.shot_groups import CARRY, SIDE, require_columns
from rangeledger.models.population import MODEL_VERSION
from rangeledger.models.sessions.session_features import (
    CAUTION,
    FEATURES,
    LAUNCH,
    NAMES,
    SessionFeatures,
    session_features,
)
from rangeledger.models.sessions.session_flag_words import cause_words
from rangeledger.models.sessions.session_shift import Shift, session_shift
from scipy import special

FALSE_ALARM_RATE: Final = 0.01
LEAST_PAST: Final = 3
MOST_PAST: Final = 20
# The rate of false alarms of each test is split among its features.
TESTS: Final = {
    "outcome": {"carry": 0.6, "side": 0.4},
    "launch": {"ball speed": 0.4, "launch angle": 0.2, "spin rate": 0.2, "start direction": 0.2},
    "residual": {"carry given launch": 0.85, "curve": 0.15},
}
EXPECTED_DRIFT: Final = np.array([CAUTION[feature.kind] * feature.drift for feature in FEATURES])
RELATED: Final = np.array([[one.kind == two.kind for two in FEATURES] for one in FEATURES])


@dataclass(frozen=True, slots=True)
class Finding:
    """What one test says of one session.

    Attributes
    ----------
    test : str
        Which test.
    feature : str
        Its most unusual feature.
    shift, standard_error : float
        Shift of that feature and its error.
    probability : float
        Chance of a result at least as unusual, all features of the test considered [1].
    statistic, threshold : float
        The same as a normal deviate of that feature, and the value at which it flags.
    """

    test: str
    feature: str
    shift: float
    standard_error: float
    probability: float
    statistic: float
    threshold: float


def session_flags(
    shots: pl.DataFrame,
    *,
    false_alarm_rate: float = FALSE_ALARM_RATE,
    since: datetime | None = None,
) -> pl.DataFrame:
    """Return the sessions that stand out.

    Parameters
    ----------
    shots : polars.DataFrame
        One row a shot: player, club, swing, ball, session_id, shot_number, struck_at,
        still_carry_m, still_side_m [m]; ball_speed_mps, launch_angle_deg, spin_rate_rpm,
        launch_direction_deg, spin_axis_deg and `flight_basis` where known. Putts and sessions
        without a date are left out; mishits can't move the robust means.
    false_alarm_rate : float
        Share of ordinary sessions that each test may flag [1].
    since : datetime, optional
        Look only at sessions that started at this time (UTC) or later; all count as past.

    Returns
    -------
    polars.DataFrame
        One row a flagged session, test and club hit in it: player, session_id, started_at,
        club, swing, ball; `test` (`outcome`, `launch`, `residual`), `feature` that stands out
        most, `shift` of the session and `club_shift` of the club, `shift_unit` (`%`, `deg`),
        `statistic` (normal deviate), `threshold`, `probability` [1], `past_sessions`, `cause`
        in plain words, model_version.

    Raises
    ------
    UsageError
        If a column is missing.

    Notes
    -----
    A session is compared with the up to 20 dated sessions before it, from the fourth on, within
    the same clubs, swings and balls. A test's probability is the least of its features', each
    divided by its share of the rate (Bonferroni).
    """
    keys = ("player", "club", "swing", "ball", "session_id", "shot_number")
    needed = (*keys, "struck_at", CARRY, SIDE)
    require_columns(shots, needed, "Looking for unusual sessions")
    rows: list[dict[str, object]] = []
    for player in _dated_shots(shots).partition_by("player", maintain_order=True):
        rows.extend(_flags_of(player, false_alarm_rate, since))
    return pl.DataFrame(rows, schema=_schema(shots), orient="row")


def _dated_shots(shots: pl.DataFrame) -> pl.DataFrame:
    """Return dated shots with their session's place in time, players in order."""
    missing = [
        name
        for name in (*LAUNCH, "launch_direction_deg", "spin_axis_deg")
        if name not in shots.columns
    ]
    shots = shots.with_columns(pl.lit(None, dtype=pl.Float64).alias(name) for name in missing)
    if "flight_basis" not in shots.columns:
        shots = shots.with_columns(flight_basis=pl.lit(None, dtype=pl.String))
    started = pl.col("struck_at").min().over("player", "session_id")
    return (
        shots.with_columns(started_at=started)
        .filter(
            pl.col("started_at").is_not_null(),
            pl.col("club") != "putter",
            pl.col(CARRY) > 0.0,
        )
        .sort("player", "started_at", "session_id")
        .with_columns(order=pl.struct("started_at", "session_id").rle_id().over("player"))
    )


def _flags_of(
    shots: pl.DataFrame, rate: float, since: datetime | None
) -> Iterator[dict[str, object]]:
    """Yield the rows of one player's flagged sessions."""
    features = session_features(shots)
    about = shots.group_by("session_id", maintain_order=True).agg(
        pl.col("started_at").first(),
        (pl.col("flight_basis") == "modelled").mean().fill_null(0.0).alias("modelled"),
    )
    for number in range(LEAST_PAST, len(features.sessions)):
        session = about.row(number, named=True)
        if since is not None and session["started_at"] < since:
            continue
        past = slice(max(number - MOST_PAST, 0), number)
        shift = session_shift(
            features.mean[:, past],
            features.variance[:, past],
            features.mean[:, number],
            features.variance[:, number],
            EXPECTED_DRIFT,
            RELATED,
        )
        found = findings(shift, rate)
        flagged = {f.test: f for f in found if f.probability < rate}
        if flagged:
            cause = cause_words(flagged, modelled=session["modelled"] > 0.5)
            common = {"player": shots["player"][0], "cause": cause, "model_version": MODEL_VERSION}
            common |= {"session_id": session["session_id"], "started_at": session["started_at"]}
            common["past_sessions"] = past.stop - past.start
            yield from _rows(flagged, shift, features, common)


def findings(shift: Shift, rate: float = FALSE_ALARM_RATE) -> list[Finding]:
    """Return what each test says of a session.

    Parameters
    ----------
    shift : Shift
        Shifts of the features of `rangeledger.models.sessions.session_features`.
    rate : float
        Rate of false alarms of each test [1].

    Returns
    -------
    list of Finding
        One for each test.
    """
    found = []
    for test, shares in TESTS.items():
        chance = {
            name: float(shift.probability[NAMES.index(name)]) / share
            for name, share in shares.items()
        }
        feature = min(chance, key=lambda name: chance[name])
        number, share = NAMES.index(feature), shares[feature]
        found.append(
            Finding(
                test,
                feature,
                float(shift.shift[number]),
                float(shift.standard_error[number]),
                min(chance[feature], 1.0),
                float(-special.ndtri(max(share * chance[feature], 1e-300) / 2.0)),
                float(-special.ndtri(share * rate / 2.0)),
            )
        )
    return found


def _rows(
    flagged: dict[str, Finding],
    shift: Shift,
    features: SessionFeatures,
    common: dict[str, object],
) -> Iterator[dict[str, object]]:
    """Yield one row for each flagged test and club of a session."""
    for finding in flagged.values():
        index = NAMES.index(finding.feature)
        factor = 100.0 if FEATURES[index].unit == "%" else 1.0
        for column, club in enumerate(features.clubs.iter_rows(named=True)):
            if not np.isfinite(shift.club_shift[index, column]):
                continue
            yield (
                common
                | club
                | {
                    "test": finding.test,
                    "feature": finding.feature,
                    "shift": _as_unit(finding.shift, factor),
                    "club_shift": _as_unit(float(shift.club_shift[index, column]), factor),
                    "shift_unit": FEATURES[index].unit,
                    "statistic": finding.statistic,
                    "threshold": finding.threshold,
                    "probability": finding.probability,
                }
            )


def _as_unit(shift: float, factor: float) -> float:
    """Return a difference of logarithms in per cent, an angle as it is."""
    return factor * float(np.expm1(shift)) if factor > 1.0 else shift


def _schema(shots: pl.DataFrame) -> dict[str, pl.DataType]:
    """Return the columns of the table of flags."""
    keys = {name: shots.schema[name] for name in ("player", "session_id")}
    keys["started_at"] = shots.schema["struck_at"]
    keys |= {name: shots.schema[name] for name in ("club", "swing", "ball")}
    number, text = pl.Float64(), pl.String()
    numbers = dict.fromkeys(("shift", "club_shift"), number)
    ends = dict.fromkeys(("statistic", "threshold", "probability"), number)
    return (
        keys
        | {"test": text, "feature": text}
        | numbers
        | {"shift_unit": text}
        | ends
        | {"past_sessions": pl.Int64(), "cause": text, "model_version": text}
    )
