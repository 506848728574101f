"""What counts follows from the lake alone: followed load by load or made anew, in any order."""

from __future__ import annotations

import tempfile
from datetime import timedelta
from pathlib import Path
from typing import Any

import polars as pl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from rangeledger.warehouse import database, lake
from rangeledger.warehouse.home import Home
from rangeledger.warehouse.lake import Batch, Offer
from rangeledger.warehouse.opening import open_home

from tests.shots import START, make_shots
from tests.warehouse.test_database import NO_ROWS

MEASURED: dict[str, Any] = {"ball_speed_mps": 52.0, "launch_angle_deg": 17.0, "apex_m": 27.0}
REST: dict[str, Any] = {"spin_rate_rpm": 6120.0, "spin_axis_deg": 3.2, "descent_angle_deg": 44.0,
                        "hang_time_s": 5.7}  # fmt: skip
FIRST = ("carry_m", *MEASURED)
CARRIES = [140.1, 141.2, 142.3, 143.4, 144.5, 145.6]
OTHERS = [131.7, 135.2, 138.9]


def export(letter: str, carries: list[float] = CARRIES, after_h: float = 0.0, **said: Any) -> Any:
    at = [START + timedelta(hours=after_h, minutes=5 * n) for n in range(len(carries))]
    facts = {"struck_at": at} | MEASURED | said
    return make_shots(carries, source_file=letter * 64, session_id=f"own-{letter}", **facts)


# A visit, and what else may hold it: corrected, longer, of nobody, without times, of another day
# alone; visits beside it of the same player under two spellings, of another, and of nobody.
EXPORTS: dict[str, pl.DataFrame] = {
    "a": export("a"),
    "b": export("b", club="8-iron"),
    "c": export("c", [*CARRIES, 146.7, 147.8]),
    "d": export("d", player="unknown"),
    "e": export("e", struck_at=None),
    "f": export("f", OTHERS, 1.5),
    "0": export("0", OTHERS, 4.0, player="ADA BROOK"),
    "1": export("1", [c + 0.7 for c in OTHERS], 30.0, player="Bea Marsh"),
    "2": export("2", [c + 0.9 for c in OTHERS], 60.0, player="unknown"),
    "3": export("3", player="Bea Marsh"),
    # One that tells what the visit's first export does, and more; and one that tells the rest only.
    "4": export("4", **REST),
    "5": export("5", **REST).with_columns(pl.lit(None, pl.Float64).alias(n) for n in FIRST),
}
SESSION = "session"


def shots_of(letter: str) -> list[str]:
    return EXPORTS[letter]["shot_id"].to_list()


def source(letter: str) -> str:
    return letter * 64


letters = st.sampled_from(sorted(EXPORTS))
decisions = st.one_of(
    st.builds(
        lambda one, out: {"kind": SESSION, "session_id": f"own-{one}", "shots": shots_of(one),
                          "excluded": out, "why": ""}, letters, st.booleans(),
    ),
    st.builds(
        lambda one, out: {"kind": "export", "source_file": source(one), "excluded": out},
        letters, st.booleans(),
    ),
    st.builds(
        lambda one, over: {"kind": "prefer", "source_file": source(one), "over": [source(over)]},
        letters, letters,
    ),
    st.sampled_from([
        {"kind": "rename", "player": "Bea Marsh", "to": "Ada Brook"},
        {"kind": "rename", "player": "Bea Marsh", "to": None},
    ]),
    st.builds(
        lambda one, to: {"kind": "move", "shots": shots_of(one), "to": to},
        letters, st.sampled_from(["Bea Marsh", "Cy Dale", None]),
    ),
    st.builds(
        lambda one, other: {"kind": "merge", "shots": shots_of(one) + shots_of(other),
                            "merged": True}, letters, letters,
    ),
)  # fmt: skip
loads = st.lists(
    st.tuples(letters, st.integers(1, 28)), min_size=1, max_size=2, unique_by=lambda one: one[0]
)
TABLES = (
    "same_shots", "replaced_shots", "placed_shots", "player_names", "current_decisions",
    "arranged_sessions", "counted_players",
)  # fmt: skip


def put(home: Home, number: int, load: list[tuple[str, int]]) -> None:
    """Load exports whose files were last changed on some days; known ones are read again."""
    offers = tuple(
        Offer(f"{letter}.csv", source(letter), "loaded", shots=EXPORTS[letter].height,
              details={"zone": "UTC", "modified_at": f"2026-05-{day:02d}T10:00:00"})
        for letter, day in load
    )  # fmt: skip
    shots = pl.concat([EXPORTS[letter] for letter, _ in load])
    loaded_at = f"2026-06-{number:02d}T10:00:00.000"
    lake.write_batch(home, Batch(number, loaded_at, offers), shots, NO_ROWS)


def told(home: Home, path: Path | None = None) -> dict[str, Any]:
    with database.open_ledger(home, path) as connection:

        def asked(sql: str) -> list[Any]:
            return connection.execute(sql).fetchall()

        found = {table: asked(f"FROM ledger.{table} ORDER BY ALL") for table in TABLES}
        found["player_names"] = [row[:2] for row in found["player_names"]]
        found["versions"] = asked("SELECT source_file FROM ledger.versions ORDER BY rank")
        found["shots"] = asked("FROM ledger.counted_shots ORDER BY shot_id")
        found["sessions"] = asked("FROM sessions ORDER BY ALL")
    return found


def follow_steps(steps: list[Any]) -> dict[str, Any]:
    """Compare after each step, and tell what there is after the last."""
    with tempfile.TemporaryDirectory() as folder:
        home = open_home(Home(Path(folder) / "home"))
        number = 0
        for place, step in enumerate(steps):
            if isinstance(step, list):
                number += 1
                put(home, number, step)
            else:
                decided_at = f"2026-07-{place + 1:02d}T10:00:00"
                lake.write_decision(home, step | {"decided_at": decided_at})
            followed = told(home)
            anew = told(home, home.root / f"anew-{place}.duckdb")
            assert followed == anew, (place, steps)
    return followed


@given(steps=st.lists(st.one_of(loads, loads, decisions), min_size=2, max_size=6))
@settings(max_examples=5)
def test_what_counts_is_the_same_followed_and_made_anew(steps: list[Any]) -> None:
    follow_steps(steps)


def test_a_load_reaches_what_is_held_by_a_chain_of_exports() -> None:
    """The first and the last have no quantity in common; the one between makes them one visit."""
    chain = [[("a", 1)], [("4", 2)], [("5", 3)]]
    found = follow_steps(chain)
    assert len(found["same_shots"]) == 2 * len(CARRIES)
    assert {row[-2] for row in found["replaced_shots"]} == {source("5")}


@pytest.mark.long
def test_a_chain_of_exports_is_followed_with_loads_behind_it() -> None:
    follow_steps([[("a", 1)], [("4", 2)], [("5", 3)], [("1", 4)], [("b", 5)]])


@pytest.mark.long
@given(steps=st.lists(st.one_of(loads, loads, decisions), min_size=3, max_size=12))
@settings(max_examples=150)
def test_what_counts_is_the_same_followed_and_made_anew_in_long(steps: list[Any]) -> None:
    follow_steps(steps)
