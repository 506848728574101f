"""Statements that mean harm, against a server with honest clients beside; in short."""

from __future__ import annotations

from pathlib import Path

import duckdb
import pytest
from rangeledger.warehouse.home import Home
from rangeledger.warehouse.serving.limits import Limits

from tests.warehouse.serving.clients import ask, client, server
from tests.warehouse.serving.hostile import REFUSED, endless, run


def test_every_statement_that_writes_or_reaches_out_is_refused(published_home: Home) -> None:
    before = published_home.database.read_bytes()
    with server(published_home) as running, client(running.port) as hostile:
        for sql in REFUSED:
            with pytest.raises(duckdb.Error):
                ask(hostile, sql)
        assert ask(hostile, "SELECT count(*) FROM shots") == [(2,)]
        assert running.process.poll() is None
    assert published_home.database.read_bytes() == before
    assert not list(Path("/tmp").glob("rangeledger-hostile*"))


@pytest.mark.slow
def test_statements_without_end_leave_the_server_and_the_honest_alone(published_home: Home) -> None:
    """How long the honest wait is measured by the script, on a quiet machine."""
    assert len(endless()) >= 200
    found = run(published_home, 5.0, 3, Limits(statements=3, statement_s=6.0))
    assert found.asked > 0
    assert found.through == []
    assert [told for told in found.faults if "others waited" not in told] == []
