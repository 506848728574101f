"""The card is made of no more than it needs."""

from __future__ import annotations

from rangeledger.warehouse.home import Home
from rangeledger.warehouse.pages.bag import bag_of
from rangeledger.warehouse.pages.card import CARD_ROWS, card_content
from rangeledger.warehouse.pages.player_rows import player_rows
from rangeledger.warehouse.pages.units import METRES, YARDS
from rangeledger.warehouse.published import published

from tests.made_home import ADA


def test_the_card_reads_no_more_of_a_player_than_stands_on_it(made_home: Home) -> None:
    """The shots of many sessions take longer to read than all else."""
    with published(made_home) as connection:
        whole = player_rows(connection, ADA)
        part = player_rows(connection, ADA, CARD_ROWS)
        bag = bag_of(connection, ADA)
    assert whole.shots.height > 0
    assert part.shots.is_empty()
    for unit in (YARDS, METRES):
        assert card_content(part, bag, unit) == card_content(whole, bag, unit)
