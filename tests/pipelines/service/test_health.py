from __future__ import annotations

import json
import socket
from urllib.error import HTTPError
from urllib.request import urlopen

import pytest
from rangeledger.pipelines.service.health import health_pages, watch_numbers
from rangeledger.pipelines.service.presence import Presence
from rangeledger.schemas.errors import HomeError
from rangeledger.warehouse.home import Home

from tests.warehouse.serving.clients import publish


def read(port: int | None, page: str) -> str:
    with urlopen(f"http://127.0.0.1:{port}{page}", timeout=10) as answer:
        return str(answer.read().decode())


def test_monitors_see_what_waits_and_whether_it_works(home: Home) -> None:
    publish(home, 2)
    (home.inbox / "a.csv").write_text("a,b\n")
    presence = Presence(1, "2026-05-02 09:00:00", doing="watching", loaded=7)
    with health_pages(home, presence, 0) as port:
        assert json.loads(read(port, "/health")) == {"status": "ok", "doing": "watching"}
        lines = read(port, "/metrics").splitlines()
        values = dict(line.split() for line in lines if not line.startswith("#"))
        assert float(values["rangeledger_watch_waiting_exports"]) == 1
        assert float(values["rangeledger_watch_loads"]) == 2
        assert float(values["rangeledger_watch_loaded_exports_total"]) == 7
        assert 0 <= float(values["rangeledger_watch_publication_age_seconds"]) < 600
        # Each number has its help and its type before it (Prometheus' text format 0.0.4).
        assert "# TYPE rangeledger_watch_loaded_exports_total counter" in lines
        assert "# TYPE rangeledger_watch_loads gauge" in lines
        presence.problem = "The disk is full."
        with pytest.raises(HTTPError) as told:
            read(port, "/health")
        with told.value as refusal:  # it holds the socket until it is closed
            assert refusal.code == 503
        with pytest.raises(HTTPError) as told:
            read(port, "/else")
        with told.value as refusal:
            assert refusal.code == 404


def test_a_home_without_a_publication_has_numbers_too(home: Home) -> None:
    numbers = watch_numbers(home, Presence(1, ""), 0.0)
    assert numbers["publication_age_seconds"] != numbers["publication_age_seconds"]  # not a number
    assert numbers["waiting_exports"] == 0


def test_a_port_in_use_is_told(home: Home) -> None:
    with socket.create_server(("127.0.0.1", 0)) as taken:
        port = taken.getsockname()[1]
        with (
            pytest.raises(HomeError, match=f"can't ask at port {port}"),
            health_pages(home, Presence(1, ""), port),
        ):
            pass
