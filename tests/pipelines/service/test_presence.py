from __future__ import annotations

import os

import pytest
from rangeledger.pipelines.service.presence import service_of, sole_service, write_presence
from rangeledger.schemas.errors import BusyError
from rangeledger.warehouse.home import Home


def test_a_second_service_is_refused_and_told_who_is_there(home: Home) -> None:
    with (
        sole_service(home) as presence,
        pytest.raises(BusyError, match=f"process {os.getpid()}, since {presence.since}"),
        sole_service(home),
    ):
        pass


def test_others_see_the_service_only_while_it_lives(home: Home) -> None:
    assert service_of(home) is None
    with sole_service(home) as presence:
        presence.doing, presence.problem = "waiting", "the disk is full"
        write_presence(home, presence)
        assert service_of(home) == presence
    assert service_of(home) is None


def test_word_left_by_a_killed_service_does_not_count(home: Home) -> None:
    with sole_service(home):
        left = (home.state / "service.json").read_text()
    (home.state / "service.json").write_text(left)
    assert service_of(home) is None
    with sole_service(home) as presence:
        assert presence.pid == os.getpid()
