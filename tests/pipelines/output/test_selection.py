from __future__ import annotations

import pytest
from rangeledger.pipelines.output.selection import condition
from rangeledger.schemas.errors import UsageError


@pytest.mark.parametrize(
    ("selection", "sql"),
    [
        ("player=Ada Brook, club=7-iron", "player = 'Ada Brook' AND club = '7-iron'"),
        ("since=2026-05-01", "struck_at >= TIMESTAMP '2026-05-01'"),
        ("until=2026-05-01", "struck_at < TIMESTAMP '2026-05-01'"),
        ("player=O'Hara", "player = 'O''Hara'"),
        ("swing=9:00", "swing = '9:00'"),
    ],
)
def test_selections(selection: str, sql: str) -> None:
    assert condition(selection) == sql


@pytest.mark.parametrize("selection", ["", "player", "colour=red", "since=May", "club="])
def test_a_selection_that_can_t_be_understood_is_told(selection: str) -> None:
    with pytest.raises(UsageError):
        condition(selection)
