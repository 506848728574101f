"""A home with invented players whose true patterns are known, made without reading any export."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

import numpy as np
import polars as pl
from rangeledger.models.clubs.shot_pattern import ShotPattern
from rangeledger.models.clubs.shot_sampler import sample_shots
from rangeledger.models.constants import REFERENCE_PRESSURE_HPA, REFERENCE_TEMP_C
from rangeledger.models.flight.day_flight import Launch
from rangeledger.models.flight.launch_spread import LAUNCH_COLUMNS, usual_spread
from rangeledger.pipelines.running.fitting import fit_changed
from rangeledger.schemas.arrow import REJECTED_SCHEMA, shots_polars_schema
from rangeledger.warehouse import database, lake, publishing
from rangeledger.warehouse.home import Home
from rangeledger.warehouse.lake import Batch, Offer
from rangeledger.warehouse.opening import open_home
from rangeledger.warehouse.settings import read_settings

from tests.shots import START

ADA = "Ada Brook"
HOSTILE = '<script>alert("x")</script> & Zoë\'s'

# Club, swing, carry m, ball speed m/s, launch deg, spin rpm.
BAG = [
    ("driver", "full", 210.0, 65.5, 12.5, 2700.0),
    ("5-wood", "full", 183.0, 60.0, 13.0, 4200.0),
    ("5-iron", "full", 160.0, 55.0, 14.5, 5300.0),
    ("7-iron", "full", 141.0, 50.5, 17.0, 6700.0),
    ("9-iron", "full", 118.0, 45.0, 21.5, 8200.0),
    ("pitching-wedge", "full", 104.0, 41.5, 24.5, 8800.0),
    ("54-wedge", "full", 86.0, 37.0, 28.5, 9300.0),
    ("54-wedge", "9:00", 58.0, 28.5, 29.5, 7000.0),
    ("58-wedge", "full", 74.0, 34.5, 31.5, 9400.0),
    ("58-wedge", "9:00", 49.0, 26.5, 32.0, 6900.0),
]


def _club_shots(
    entry: tuple[str, str, float, float, float, float], sessions: int, each: int, seed: int
) -> pl.DataFrame:
    club, swing, carry, speed, angle, spin = entry
    short = 0.07 if swing != "full" else 0.04
    pattern = ShotPattern(
        club, swing, "premium", carry, 0.01 * carry, short * carry, 0.05 * carry, 0.0, 0.0, 0.0,
        np.inf, 0.08, 0.18 * carry, 0.0, 0.08 * carry,
    )  # fmt: skip
    spread = usual_spread(Launch(speed, angle, -0.5, spin, 1.5))
    shots = sample_shots(pattern, spread, sessions * each, np.random.default_rng(seed))
    count = sessions * each
    columns = dict(zip(LAUNCH_COLUMNS, shots.launches.T.tolist(), strict=True))
    return pl.DataFrame(columns).with_columns(
        club=pl.lit(club),
        swing=pl.lit(swing),
        carry_m=pl.Series(shots.landings[:, 0]),
        carry_side_m=pl.Series(shots.landings[:, 1]),
        total_m=pl.Series(shots.landings[:, 0] * 1.05),
        session=pl.Series(np.arange(count) // each),
        wind_speed_mps=pl.lit(0.0),
        wind_from_deg=pl.lit(0.0),
        air_temp_c=pl.lit(REFERENCE_TEMP_C),
        air_pressure_hpa=pl.lit(REFERENCE_PRESSURE_HPA),
        humidity_pct=pl.lit(50.0),
        altitude_m=pl.lit(0.0),
    )


def made_shots(player: str, sessions: int = 4, each: int = 6, seed: int = 7) -> pl.DataFrame:
    """Canonical shots of one player."""
    shots = pl.concat(
        [_club_shots(entry, sessions, each, seed + place) for place, entry in enumerate(BAG)]
    ).sort("session", maintain_order=True)
    key = "ada" if player == ADA else "zoe"
    number = pl.int_range(pl.len()).over("session")
    full = shots.with_columns(
        shot_id=pl.format("{}-{}", pl.lit(key), pl.int_range(pl.len())),
        session_id=pl.format("{}-s{}", pl.lit(key), "session"),
        player=pl.lit(player),
        ball=pl.lit("premium"),
        surface=pl.lit("grass"),
        flight_basis=pl.lit("measured"),
        monitor=pl.lit("unknown"),
        struck_at=pl.lit(START)
        + pl.col("session") * timedelta(days=9)
        + number * timedelta(minutes=1),
        shot_number=(number + 1).cast(pl.Int32),
        source_file=pl.lit(("a" if player == ADA else "b") * 64),
        source_row=pl.int_range(2, pl.len() + 2, dtype=pl.Int32),
    )  # fmt: skip
    schema = shots_polars_schema()
    missing = [pl.lit(None).alias(name) for name in schema if name not in full.columns]
    return full.with_columns(missing).select(
        [pl.col(name).cast(kind) for name, kind in schema.items()]
    )


def make_home(
    root: Path, players: tuple[str, ...] = (ADA, HOSTILE), sessions: int = 4, each: int = 6
) -> Home:
    """A home whose database holds these players, fitted and published.

    Each has so many sessions, with so many shots of each club in them.
    """
    home = open_home(Home(root))
    for number, player in enumerate(players, 1):
        shots = made_shots(player, sessions, each, seed=10 * number)
        source = shots["source_file"][0]
        name = f"{number}.csv"
        offer = Offer(name, source, "loaded", shots=shots.height, details={"inbox": name})
        lake.write_batch(
            home,
            Batch(number, f"2026-06-0{number}T10:00:00.000", (offer,)),
            shots,
            pl.DataFrame(schema=REJECTED_SCHEMA),
        )
    with database.open_ledger(home) as connection:
        fit_changed(home, connection, read_settings(home))
    publishing.publish(home)
    return home
