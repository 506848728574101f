"""What a token of some players is given to open."""

from __future__ import annotations

import duckdb
from rangeledger.warehouse import database, lake, publishing
from rangeledger.warehouse.home import Home
from rangeledger.warehouse.serving.served_files import publication, served_file

from tests.shots import START
from tests.warehouse.counting.test_visits import part, put


def test_a_session_that_was_moved_is_served_with_its_player_and_under_no_other_name(
    home: Home,
) -> None:
    put(home, 1, part("a", START))
    put(home, 2, part("b", START, player="Bea Marsh"))
    moved = {"kind": "move", "shots": ["aaaaaaaa-0"], "to": "Bea Marsh", "decided_at": "2026-06-20"}
    lake.write_decision(home, moved)
    with database.open_ledger(home):
        pass
    publishing.publish(home)
    number = publication(home)
    assert number is not None
    for players, shots in (["Bea Marsh"], 6), (["Ada Brook"], 0):
        with duckdb.connect(str(served_file(home, number, players)), read_only=True) as served:
            told = served.execute("SELECT player, count(*) FROM shots GROUP BY ALL").fetchall()
            names = served.execute("SELECT DISTINCT player FROM ledger.shots").fetchall()
        assert sum(count for _, count in told) == shots
        assert names == [(name,) for name, _ in told]
