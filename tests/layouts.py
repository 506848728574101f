"""A home of exports in several layouts, of which one has a monitor's name."""

from __future__ import annotations

from datetime import timedelta

import polars as pl
from rangeledger.pipelines.running.fitting import fit_changed
from rangeledger.schemas.arrow import REJECTED_SCHEMA
from rangeledger.warehouse import database, lake, publishing
from rangeledger.warehouse.home import Home
from rangeledger.warehouse.lake import Batch, Offer
from rangeledger.warehouse.settings import read_settings

from tests.shots import START, make_shots


def put_layouts(home: Home) -> None:
    """Load, fit and publish: of one player layouts a and b and bay C's, of another d alone."""
    layouts = {"a": "layout-aaaaaaaa", "b": "layout-bbbbbbbb", "c": "layout-cccccccc"}
    parts, offers = [], []
    for day, (letter, layout) in enumerate(layouts.items()):
        parts.append(
            make_shots(
                [140.0, 141.0, 143.0], source_file=letter * 64, session_id=f"s{letter}",
                struck_at=START + timedelta(days=day),
                monitor="bay C" if letter == "c" else "unknown",
            )
        )  # fmt: skip
        offers.append(
            Offer(f"{letter}.csv", letter * 64, "loaded", shots=3, details={"layout": layout})
        )
    alone = make_shots([150.0], source_file="d" * 64, session_id="sd", player="Nuria Vane")
    offers.append(
        Offer("d.csv", "d" * 64, "loaded", shots=1, details={"layout": "layout-dddddddd"})
    )
    batch = Batch(1, "2026-06-01T10:00:00.000", tuple(offers))
    lake.write_batch(home, batch, pl.concat([*parts, alone]), pl.DataFrame(schema=REJECTED_SCHEMA))
    with database.open_ledger(home) as connection:
        fit_changed(home, connection, read_settings(home))
        seen = connection.execute(
            "SELECT monitor, named, sessions FROM monitors WHERE player = 'Ada Brook' ORDER BY ALL"
        ).fetchall()
    publishing.publish(home)
    assert seen == [("bay C", True, 1), (layouts["a"], False, 1), (layouts["b"], False, 1)]
