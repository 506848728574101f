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
from rangeledger.models.arrays import FloatArray
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
from rangeledger.models.sessions.session_flag_words import cause_words, wrong_club_words
from rangeledger.models.sessions.session_shift import Shift, session_shift
from rangeledger.models.sessions.wrong_clubs import LEAST_GAIN, WrongClubs, wrong_clubs
from scipy import special

FALSE_ALARM_RATE: Final = 0.01
LEAST_PAST: Final = 3
MOST_PAST: Final = 20
# So many sessions in a row that stand out are no fault but what is usual now; common practice, no
# source.
NEW_USUAL: Final = 5
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
        launch_direction_deg, spin_axis_deg, `flight_basis` and `monitor` where known. Putts and
        sessions without a date are left out; mishits can't move the robust means.
    false_alarm_rate : float
        Share of ordinary sessions that each test may flag [1].
    since : datetime, optional
        Look only at sessions that started at this time (UTC) or later; all count as past.

    Returns
    -------
    polars.DataFrame
        One row a flagged session, test and club hit in it: player, session_id, started_at,
        club, swing, ball; `test` (`outcome`, `launch`, `residual`, `club`), `feature` that
        stands out most, `shift` of the session and `club_shift` of the club, `shift_unit` (`%`,
        `deg`), `statistic` (normal deviate), `threshold`, `probability` [1], `past_sessions`,
        `cause` in plain words, model_version.

    Raises
    ------
    UsageError
        If a column is missing.

    Notes
    -----
    A session is compared with up to 20 dated sessions before it, from the fourth on, within the
    same clubs, swings and balls; those that stood out are left aside, so that a fault which lasts
    is told on every visit, until five in a row make it usual. Clubs that carry as others do are a
    fourth test, `club` (`wrong_clubs`), and then tell nothing in the other three. A test's
    probability is the least of its features', each divided by its share of the rate (Bonferroni).
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
    for name in ("flight_basis", "monitor"):
        if name not in shots.columns:
            shots = shots.with_columns(pl.lit(None, dtype=pl.String).alias(name))
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
        pl.col("monitor").filter(pl.col("monitor") != "unknown").drop_nulls().first(),
    )
    usual = list(range(min(LEAST_PAST, len(features.sessions))))
    for number in range(LEAST_PAST, len(features.sessions)):
        session = about.row(number, named=True)
        past = usual[-MOST_PAST:]
        now, wrong = features.mean[:, number].copy(), None
        shift = _shift_of(features, past, now, number)
        wrong = _wrong_clubs(features, past, shift, number)
        if wrong is not None:
            # The others tell of the session; a club of another name would tell of that.
            now[:, list(wrong.clubs)] = np.nan
            shift = _shift_of(features, past, now, number)
        flagged = {f.test: f for f in findings(shift, rate) if f.probability < rate}
        usual = _usual_with(usual, number, bool(flagged) or wrong is not None)
        if since is not None and session["started_at"] < since:
            continue
        common = {"player": shots["player"][0], "model_version": MODEL_VERSION}
        common |= {"session_id": session["session_id"], "started_at": session["started_at"]}
        common["past_sessions"] = len(past)
        if flagged:
            other = _other_monitor(session["monitor"], about["monitor"].gather(past).to_list())
            cause = cause_words(flagged, modelled=session["modelled"] > 0.5, monitor=other)
            yield from _rows(flagged, shift, features, common | {"cause": cause})
        if wrong is not None:
            yield from _wrong_rows(wrong, features, common)


def _shift_of(features: SessionFeatures, past: list[int], now: FloatArray, number: int) -> Shift:
    """Return how far a session lies from those that are usual."""
    return session_shift(
        features.mean[:, past],
        features.variance[:, past],
        now,
        features.variance[:, number],
        EXPECTED_DRIFT,
        RELATED,
    )


def _usual_with(usual: list[int], number: int, flagged: bool) -> list[int]:
    """Return the sessions that later ones are compared with.

    A session that stands out is no measure for the next, so that a fault which lasts is told again;
    where so many in a row stand out, they are what is usual now.
    """
    if not flagged:
        return [*usual, number]
    if number - usual[-1] >= NEW_USUAL:
        return list(range(usual[-1] + 1, number + 1))
    return usual


def _other_monitor(monitor: str | None, past: list[str | None]) -> str | None:
    """Return the monitor of a session where none of the past ones was measured by it."""
    known = {name for name in past if name is not None}
    return monitor if monitor is not None and known and monitor not in known else None


def _wrong_clubs(
    features: SessionFeatures, past: list[int], shift: Shift, number: int
) -> WrongClubs | None:
    """Return the clubs of a session that carry as others do."""
    carry = NAMES.index("carry")
    before = features.mean[carry][past]
    seen = np.isfinite(before)
    count = np.maximum(seen.sum(axis=0), 1)
    level = np.where(seen.any(axis=0), np.where(seen, before, 0.0).sum(axis=0) / count, np.nan)
    variance = features.variance[carry, number]
    # The level's own error: that of a mean of the past sessions of the club.
    variance = variance * (1.0 + 1.0 / count)
    return wrong_clubs(shift.club_shift[carry], variance, level, features.clubs)


def _wrong_rows(
    wrong: WrongClubs, features: SessionFeatures, common: dict[str, object]
) -> Iterator[dict[str, object]]:
    """Yield one row for each club that looks like another."""
    names = features.clubs["club"].to_list()
    own, other = names[wrong.clubs[0]], names[wrong.looks_like]
    cause = wrong_club_words(own, other, swapped=len(wrong.clubs) == 2)
    deviate = float(np.sqrt(wrong.gain))
    for column, shift in zip(wrong.clubs, wrong.shift, strict=True):
        percent = _as_unit(float(shift), 100.0)
        yield (
            common
            | features.clubs.row(column, named=True)
            | {
                "test": "club", "feature": "carry", "shift": percent, "club_shift": percent,
                "shift_unit": "%", "statistic": deviate, "threshold": LEAST_GAIN**0.5,
                "probability": float(2.0 * special.ndtr(-deviate)), "cause": cause,
            }
        )  # fmt: skip


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
