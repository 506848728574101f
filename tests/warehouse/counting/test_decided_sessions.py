"""What the user decided about a session follows its shots."""

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


def leave_out(home: Home, excluded: bool = True) -> None:
    """Decide on the only session there is."""
    with database.open_ledger(home) as connection:
        ((session_id,),) = connection.execute("SELECT session_id FROM sessions").fetchall()
        shots = shots_of_session(connection, session_id)
    lake.write_decision(
        home, {"kind": "session", "session_id": session_id, "shots": shots, "excluded": excluded,
               "why": "", "decided_at": "2026-06-20T10:00:00"}
    )  # fmt: skip


def excluded(home: Home) -> list[tuple[object, ...]]:
    """Sessions with their player and whether they are left out, now and after a rebuild."""
    asked = "SELECT player, shots, excluded FROM sessions ORDER BY ALL"
    with database.open_ledger(home) as connection:
        now = connection.execute(asked).fetchall()
    home.ledger.unlink()
    with database.open_ledger(home) as connection:
        assert connection.execute(asked).fetchall() == now
    return now


@pytest.mark.parametrize(
    "again",
    [
        {"club": "8-iron"},
        {"player": "unknown"},
        {"struck_at": [START + timedelta(hours=2, minutes=n) for n in range(6)]},
        {"struck_at": [None] * 6},
    ],
)
def test_a_corrected_export_of_a_session_left_out_stays_out(
    home: Home, again: dict[str, Any]
) -> None:
    put(home, 1, make_shots(CARRIES, **MEASURED))
    leave_out(home)
    put(home, 2, make_shots(CARRIES, **(MEASURED | again), source_file="e" * 64, session_id="s2"))
    assert excluded(home) == [("Ada Brook", 6, True)]


@pytest.mark.parametrize("count", [5, 6])
def test_leaving_a_session_out_asks_for_another_fit(home: Home, count: int) -> None:
    """Of an even number of shots too: what is the same in each row must not cancel out."""
    asked = "SELECT fingerprint FROM ledger.counted_players"
    put(home, 1, make_shots(CARRIES[:count], **MEASURED))
    prints = []
    for left_out in (None, True, False):
        if left_out is not None:
            leave_out(home, excluded=left_out)
        with database.open_ledger(home) as connection:
            prints.append(connection.execute(asked).fetchall())
    assert prints[0] != prints[1]
    assert prints[0] == prints[2]


def test_a_session_that_grows_by_another_file_stays_out_until_taken_back(home: Home) -> None:
    put(home, 1, part("b", START + timedelta(hours=1)))
    leave_out(home)
    put(home, 2, part("a", START))
    assert excluded(home) == [("Ada Brook", 6, True)]
    leave_out(home, excluded=False)
    assert excluded(home) == [("Ada Brook", 6, False)]


def test_a_session_left_out_follows_its_player_to_another_name(home: Home) -> None:
    put(home, 1, part("b", START, player="A. Brook"))
    leave_out(home)
    renamed = {"kind": "rename", "player": "A. Brook", "to": "Ada Brook",
               "decided_at": "2026-06-21T10:00:00"}  # fmt: skip
    lake.write_decision(home, renamed)
    assert excluded(home) == [("Ada Brook", 3, True)]
    lake.write_decision(home, renamed | {"to": None})
    assert excluded(home) == [("A. Brook", 3, True)]


def test_a_decision_of_an_earlier_version_names_the_session_alone(home: Home) -> None:
    put(home, 1, make_shots(CARRIES, **MEASURED), zone=None)
    lake.write_decision(home, {"session_id": "s1", "excluded": True, "decided_at": "2026-06-20"})
    assert excluded(home) == [("Ada Brook", 6, True)]
    put(home, 2, make_shots(CARRIES, **MEASURED, source_file="e" * 64, session_id="s2"))
    assert excluded(home) == [("Ada Brook", 6, True)]


@pytest.mark.parametrize("count", [5, 6])
def test_a_decision_asks_for_a_fit_however_many_shots_it_is_about(home: Home, count: int) -> None:
    put(home, 1, make_shots(CARRIES[:count], **MEASURED))
    with database.open_ledger(home) as connection:
        database.replace_fits(connection, "Ada Brook", {}, "m1")
        assert database.unfitted_players(connection, "m1") == []
    for left_out in (True, False):
        leave_out(home, left_out)
        with database.open_ledger(home) as connection:
            assert database.unfitted_players(connection, "m1") == ["Ada Brook"]
            database.replace_fits(connection, "Ada Brook", {}, "m1")
