"""Sessions moved to another player or merged follow their shots, and each can be taken back."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
from rangeledger.warehouse import database, lake
from rangeledger.warehouse.counting.decided_sessions import shots_of_session
from rangeledger.warehouse.home import Home

from tests.shots import START, make_shots
from tests.warehouse.counting.test_visits import part, put

MEASURED: dict[str, Any] = {"ball_speed_mps": 52.0, "launch_angle_deg": 17.0, "apex_m": 27.0}
CARRIES = [140.1, 141.2, 142.3, 143.4, 144.5, 145.6]
LATER = START + timedelta(hours=8)
ASKED = (
    "SELECT player, shots, excluded, moved, merged FROM sessions ORDER BY player, started_at, shots"
)


def shots_of(home: Home, *letters: str) -> list[str]:
    """Ids of the shots of the sessions in which exports, named by their letter, count."""
    with database.open_ledger(home) as connection:
        rows = connection.execute(
            "SELECT DISTINCT session_id FROM shots WHERE list_contains($1, source_file[1])",
            [list(letters)],
        ).fetchall()
        return [shot for (session,) in rows for shot in shots_of_session(connection, session)]


def decided(home: Home, kind: str, shots: list[str], **fields: Any) -> None:
    decision = {"kind": kind, "shots": shots, "decided_at": "2026-06-20T10:00:00"} | fields
    lake.write_decision(home, decision)


def told(home: Home) -> list[tuple[object, ...]]:
    """The sessions, now and after a rebuild."""
    with database.open_ledger(home) as connection:
        now = connection.execute(ASKED).fetchall()
        full = connection.execute("FROM sessions ORDER BY ALL").fetchall()
        fits = connection.execute("FROM ledger.counted_players ORDER BY ALL").fetchall()
    home.ledger.unlink()
    with database.open_ledger(home) as connection:
        assert connection.execute("FROM sessions ORDER BY ALL").fetchall() == full
        assert connection.execute("FROM ledger.counted_players ORDER BY ALL").fetchall() == fits
        ids = connection.execute("SELECT session_id FROM sessions").fetchall()
    assert len(set(ids)) == len(ids)
    return now


def test_a_moved_session_is_another_players_and_comes_back(home: Home) -> None:
    put(home, 1, part("a", START))
    put(home, 2, part("b", LATER))
    decided(home, "move", shots_of(home, "b"), to="Bea Marsh")
    assert told(home) == [("Ada Brook", 3, False, False, 1), ("Bea Marsh", 3, False, True, 1)]
    decided(home, "move", shots_of(home, "b"), to=None)
    assert told(home) == [("Ada Brook", 3, False, False, 1)] * 2


def test_a_moved_session_joins_the_players_own_of_that_time_and_parts_again(home: Home) -> None:
    put(home, 1, part("a", START))
    put(home, 2, part("b", START + timedelta(hours=1), player="Bea Marsh"))
    before = told(home)
    decided(home, "move", shots_of(home, "a"), to="Bea Marsh")
    assert told(home) == [("Bea Marsh", 6, False, True, 1)]
    decided(home, "move", shots_of(home, "a"), to=None)
    assert told(home) == before


def test_one_export_of_a_visit_moves_and_the_other_stays(home: Home) -> None:
    put(home, 1, part("a", START))
    put(home, 2, part("b", START + timedelta(hours=1)))
    assert told(home) == [("Ada Brook", 6, False, False, 1)]
    theirs = [shot for shot in shots_of(home, "b") if shot.startswith("b")]
    decided(home, "move", theirs, to="Bea Marsh")
    assert told(home) == [("Ada Brook", 3, False, False, 1), ("Bea Marsh", 3, False, True, 1)]


@pytest.mark.parametrize(
    "again",
    [
        {"club": "8-iron"},
        {"player": "unknown"},
        {"player": "Bea Marsh"},
        {"struck_at": [START + timedelta(hours=2, minutes=n) for n in range(6)]},
        {"struck_at": [None] * 6},
    ],
)
def test_a_corrected_export_of_a_moved_session_stays_moved(
    home: Home, again: dict[str, Any]
) -> None:
    put(home, 1, make_shots(CARRIES, **MEASURED))
    decided(home, "move", shots_of(home, "f"), to="Bea Marsh")
    put(home, 2, make_shots(CARRIES, **(MEASURED | again), source_file="e" * 64, session_id="s2"))
    assert [row[:2] for row in told(home)] == [("Bea Marsh", 6)]


def test_a_moved_session_follows_its_player_to_another_name_and_stays_left_out(home: Home) -> None:
    put(home, 1, part("a", START))
    decided(home, "session", shots_of(home, "a"), session_id="s", excluded=True, why="")
    decided(home, "move", shots_of(home, "a"), to="B. Marsh")
    lake.write_decision(
        home,
        {"kind": "rename", "player": "B. Marsh", "to": "Bea Marsh", "decided_at": "2026-06-21"},
    )
    assert told(home) == [("Bea Marsh", 3, True, True, 1)]


def test_merged_sessions_are_one_and_part_again(home: Home) -> None:
    for number, (letter, at) in enumerate((("a", START), ("b", LATER)), start=1):
        put(home, number, part(letter, at))
    before = told(home)
    decided(home, "merge", shots_of(home, "a", "b"), merged=True)
    assert told(home) == [("Ada Brook", 6, False, False, 2)]
    with database.open_ledger(home) as connection:
        numbers = connection.execute("SELECT shot_number FROM shots ORDER BY struck_at").fetchall()
    assert [number for (number,) in numbers] == [1, 2, 3, 4, 5, 6]
    decided(home, "merge", shots_of(home, "a"), merged=False)
    assert told(home) == before


def test_three_visits_merge_one_after_the_other_and_without_any_time(home: Home) -> None:
    put(home, 1, part("a", START))
    put(home, 2, make_shots([150.0, 151.5], source_file="b" * 64, session_id="own-b",
                            struck_at=[None, None]))  # fmt: skip
    put(home, 3, part("c", LATER))
    decided(home, "merge", shots_of(home, "a", "b"), merged=True)
    assert told(home) == [("Ada Brook", 5, False, False, 2), ("Ada Brook", 3, False, False, 1)]
    decided(home, "merge", shots_of(home, "b", "c"), merged=True)
    assert told(home) == [("Ada Brook", 8, False, False, 3)]


def test_two_sessions_without_any_time_merge(home: Home) -> None:
    for number, letter in enumerate("ab", start=1):
        timeless = {"session_id": f"own-{letter}", "struck_at": [None, None]}
        put(home, number, make_shots([150.0 + number, 151.5], source_file=letter * 64, **timeless))
    decided(home, "merge", shots_of(home, "a", "b"), merged=True)
    assert told(home) == [("Ada Brook", 4, False, False, 2)]


def test_a_merged_session_is_left_out_where_a_part_was_until_they_part(home: Home) -> None:
    put(home, 1, part("a", START))
    put(home, 2, part("b", LATER))
    decided(home, "session", shots_of(home, "a"), session_id="s", excluded=True, why="")
    decided(home, "merge", shots_of(home, "a", "b"), merged=True)
    assert told(home) == [("Ada Brook", 6, True, False, 2)]
    decided(home, "merge", shots_of(home, "a"), merged=False)
    assert [row[2] for row in told(home)] == [True, False]


def test_a_merging_holds_for_corrected_and_for_moved_shots(home: Home) -> None:
    put(home, 1, make_shots(CARRIES, **MEASURED))
    put(home, 2, part("b", LATER))
    decided(home, "merge", shots_of(home, "f", "b"), merged=True)
    again = MEASURED | {"struck_at": [START + timedelta(hours=2, minutes=n) for n in range(6)]}
    put(home, 3, make_shots(CARRIES, **again, source_file="e" * 64, session_id="s2"))
    assert told(home) == [("Ada Brook", 9, False, False, 2)]
    decided(home, "move", shots_of(home, "e"), to="Bea Marsh")
    assert told(home) == [("Bea Marsh", 9, False, True, 2)]


def test_a_part_of_an_exports_own_session_that_moved_has_an_id_of_its_own(home: Home) -> None:
    """The export's zone parts its session at midnight; the second part is moved."""
    at = [START + timedelta(hours=h) for h in (0, 1, 2, 9, 10)]
    put(home, 1, make_shots([140.0 + n for n in range(5)], struck_at=at, source_file="a" * 64))
    with database.open_ledger(home) as connection:
        rows = connection.execute("SELECT shot_id FROM shots ORDER BY struck_at").fetchall()
    decided(home, "move", [str(row[0]) for row in rows[3:]], to="Bea Marsh")
    assert told(home) == [("Ada Brook", 3, False, False, 1), ("Bea Marsh", 2, False, True, 1)]
