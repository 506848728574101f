"""`rangeledger status`: which refused exports still want putting right."""

from __future__ import annotations

import hashlib
import json
from datetime import datetime

import polars as pl
from rangeledger.pipelines.loading.refusals import open_refusals
from rangeledger.pipelines.main import app
from rangeledger.schemas.arrow import REJECTED_SCHEMA, shots_polars_schema
from rangeledger.warehouse import database, lake, publishing
from rangeledger.warehouse.home import Home
from rangeledger.warehouse.lake import Batch, Offer
from rangeledger.warehouse.unnamed_monitors import name_monitor
from typer.testing import CliRunner

from tests.layouts import put_layouts


def refuse(home: Home, name: str) -> str:
    """Put a refused export into quarantine; the hash of its bytes."""
    (home.quarantine / name).write_text(f"what {name} held")
    (home.quarantine / f"{name}.reason.txt").write_text("Why.")
    return hashlib.sha256(f"what {name} held".encode()).hexdigest()


def load(home: Home, number: int, *offers: Offer) -> None:
    lake.write_batch(
        home,
        Batch(number, f"2026-06-0{number}T10:00:00.000", offers),
        pl.DataFrame(schema=shots_polars_schema()),
        pl.DataFrame(schema=REJECTED_SCHEMA),
    )


def test_programs_find_the_same_names_before_and_after_the_first_load(home: Home) -> None:
    words = ["--home", str(home.root), "status", "--format", "json"]
    (before,) = json.loads(CliRunner().invoke(app, words).stdout)
    load(home, 1, Offer("a.csv", "a" * 64, "quarantined", "Why."))
    with database.open_ledger(home):
        pass
    publishing.publish(home)
    (after,) = json.loads(CliRunner().invoke(app, words).stdout)
    assert list(before) == list(after)
    assert (before["shots"], before["published_at"], after["shots"]) == (None, None, 0)
    assert datetime.fromisoformat(after["published_at"])
    assert "published at          nothing yet" not in CliRunner().invoke(app, words[:3]).stdout


def test_what_was_put_right_is_no_longer_counted(home: Home) -> None:
    same_name, same_bytes, still_open = (refuse(home, f"{n}.csv") for n in ("a", "b", "c"))
    never_offered = home.quarantine / "d.csv"
    refuse(home, never_offered.name)
    load(
        home,
        1,
        Offer("a.csv", same_name, "quarantined", "Why."),
        Offer("b.csv", same_bytes, "quarantined", "Why."),
        Offer("c.csv", still_open, "quarantined", "Why."),
    )
    assert len(open_refusals(home)) == 4
    load(
        home,
        2,
        Offer("a.csv", "e" * 64, "loaded"),
        Offer("renamed.csv", same_bytes, "loaded-with-rejects"),
        Offer("c.csv", still_open, "quarantined", "Why."),
    )
    with database.open_ledger(home):
        pass
    publishing.publish(home)
    assert open_refusals(home) == [home.quarantine / "c.csv", never_offered]
    told = CliRunner().invoke(app, ["--home", str(home.root), "status"]).output
    assert "in quarantine         2\n" in told
    assert f"To put right or delete, reasons in {home.quarantine}: c.csv, d.csv\n" in told


def test_layouts_that_stand_in_for_a_monitor_are_asked_for(home: Home) -> None:
    """Only of a player whom another measured besides; a named monitor is no question."""
    put_layouts(home)
    told = CliRunner().invoke(app, ["--home", str(home.root), "status"]).output
    assert "1 export shares layout-aaaaaaaa (such as a.csv): which monitor?" in told
    assert "1 export shares layout-bbbbbbbb (such as b.csv): which monitor?" in told
    assert "layout-cccccccc" not in told
    assert "layout-dddddddd" not in told
    name_monitor(home, "layout-aaaaaaaa", "bay A")  # not read again yet
    told = CliRunner().invoke(app, ["--home", str(home.root), "status"]).output
    assert "layout-aaaaaaaa" not in told
    assert "layout-bbbbbbbb" in told
