"""SQL over the network: honest clients, publications, tokens and what monitors see."""

from __future__ import annotations

import http.client
import json
import socket
import subprocess
import sys
from pathlib import Path

import duckdb
import pytest
from rangeledger.warehouse.access_tokens import make_token, withdraw_token
from rangeledger.warehouse.home import Home
from rangeledger.warehouse.serving import frames
from rangeledger.warehouse.serving.limits import Limits

from tests.pipelines.service.running import wait_until
from tests.warehouse.serving.clients import TOKEN, ask, client, publish, server

LEAVING = """
import sys
from tests.warehouse.serving.clients import ask, client
from tests.warehouse.serving.test_front import ENDLESS
with client(int(sys.argv[1]), sys.argv[2]) as asking:
    ask(asking, ENDLESS)
"""
ENDLESS = "SELECT count(*) FROM range(10000000) a, range(10000000) b WHERE a.range * b.range = 7"


def test_views_comments_and_macros_answer_and_follow_what_is_published(
    published_home: Home,
) -> None:
    with server(published_home) as running, client(running.port) as honest:
        assert honest.execute("SELECT count(*) FROM range_home.shots").fetchone() == (2,)
        (counts,) = ask(
            honest, "SELECT count(*), count(DISTINCT (view_name, column_name)), "
            "count(*) FILTER (meaning IS NULL) FROM data_dictionary"
        )  # fmt: skip
        assert counts[0] == counts[1]
        assert counts[2] == 0
        assert ask(honest, "FROM carry_in('Ada Brook', '7-iron', headwind := 3)") == []
        publish(published_home, 3)
        assert running.next("following")
        assert ask(honest, "SELECT count(*) FROM shots") == [(6,)]
        with client(running.port) as newcomer:
            assert ask(newcomer, "SELECT count(*) FROM shots") == [(6,)]
        wait_until(lambda: len(list((published_home.state / "served").iterdir())) == 1)


def test_a_wrong_token_opens_nothing_and_is_told(published_home: Home) -> None:
    with server(published_home) as running:
        for token in ("", "wrong", TOKEN[:-1], TOKEN + "x", "' OR 1=1 --"):
            with pytest.raises(duckdb.Error), client(running.port, token) as connection:
                ask(connection, "SELECT 1")
            if token:  # without one the client itself refuses
                assert running.next("problem") == "A wrong token was shown by 127.0.0.1.", token


def test_one_statement_is_ended_and_its_connection_and_all_others_go_on(
    published_home: Home,
) -> None:
    with server(published_home, Limits(statement_s=1.5)) as running, client(running.port) as first:
        with client(running.port) as second:
            assert ask(second, "SELECT count(*) FROM shots") == [(2,)]
            with pytest.raises(duckdb.Error, match=r"ran for over 1\.5 s and was ended"):
                ask(first, ENDLESS)
            told = running.next("problem")
            assert told.startswith("The statement ran for over 1.5 s and was ended: SELECT count")
            assert ask(first, "SELECT count(*) FROM shots") == [(2,)]
            assert ask(second, "SELECT count(*) FROM shots") == [(2,)]
        assert running.process.poll() is None
        outcomes = [line["outcome"] for line in running.all("audit")]
        assert outcomes.count("ended") == 1


def test_a_statement_that_waits_is_limited_as_one_that_computes(published_home: Home) -> None:
    """A slow reader or a wait uses no processor; the clock counts."""
    waits = "SELECT count(*) FROM range(400000000) a WHERE hash(a.range) % 7 = 9"
    with server(published_home, Limits(statement_s=1.0)) as running, client(running.port) as asking:
        with pytest.raises(duckdb.Error, match=r"ran for over 1 s"):
            ask(asking, f"{waits} AND EXISTS ({ENDLESS})")
        for function in ("pg_sleep(300)", "sleep_ms(300000)"):
            with pytest.raises(duckdb.Error, match="is not allowed"):
                ask(asking, f"SELECT {function}")


def test_a_result_has_a_bound_in_rows_and_in_bytes(published_home: Home) -> None:
    limits = Limits(result_rows=50_000, result_mib=2)
    with server(published_home, limits) as running, client(running.port) as greedy:
        assert len(ask(greedy, "FROM range(50_000)")) == 50_000
        for sql in ("FROM range(500_000)", "SELECT repeat('x', 100) FROM range(40_000)"):
            with pytest.raises(duckdb.Error, match="larger than 50000 rows or 2 MiB"):
                ask(greedy, sql)
        with pytest.raises(duckdb.Error, match="larger than 64 MiB"):
            ask(greedy, "SELECT repeat('x', 100_000) FROM range(750)")
        assert ask(greedy, "SELECT count(*) FROM shots") == [(2,)]


def test_memory_ends_in_an_error_not_in_the_server(published_home: Home) -> None:
    with server(published_home, Limits(memory_mib=128)) as running, client(running.port) as greedy:
        for sql in (
            "SELECT string_agg(range::VARCHAR || repeat('x', 50), '') FROM range(200_000_000)",
            "SELECT list(range) FROM range(2_000_000_000)",
        ):
            with pytest.raises(duckdb.Error):
                ask(greedy, sql)
        assert ask(greedy, "SELECT count(*) FROM shots") == [(2,)]
        assert running.process.poll() is None


def test_a_token_for_some_players_sees_nothing_of_others(home: Home) -> None:
    publish(home, 4, players=("Ada Brook", "Bo Lind"))
    token = make_token(home, "tablet", ["Ada Brook"])
    with server(home) as running, client(running.port, token) as some:
        assert ask(some, "SELECT DISTINCT player FROM shots") == [("Ada Brook",)]
        assert ask(some, "SELECT count(*) FROM shots") == [(4,)]
        assert ask(some, "SELECT DISTINCT player FROM ledger.shots") == [("Ada Brook",)]
        assert ask(some, "FROM ingest_log") == []
        assert ask(some, "FROM rejected_rows") == []
        # A filter in a view would let the error of the other player's row through.
        spy = "SELECT count(*) FROM shots WHERE CASE WHEN player = 'Bo Lind' THEN error('x') END"
        assert ask(some, spy) == [(0,)]
        with pytest.raises(duckdb.Error, match="is not allowed"):
            ask(some, "SELECT count(*) FROM live.main.shots")
        with client(running.port) as owner:
            assert ask(owner, "SELECT count(*) FROM shots") == [(8,)]
            for view in ("shots", "sessions", "carry_by_club"):
                hers = f"SELECT count(*) FROM {view} WHERE player = 'Ada Brook'"
                assert ask(some, f"SELECT count(*) FROM {view}") == ask(owner, hers)
        withdraw_token(home, "tablet")
        while "tablet is withdrawn" not in running.next("note"):
            continue
        with pytest.raises(duckdb.Error, match="attach anew"):
            ask(some, "SELECT 1")
        with pytest.raises(duckdb.Error), client(running.port, token):
            pass


def test_every_statement_leaves_an_audit_line(published_home: Home) -> None:
    with server(published_home) as running, client(running.port) as asking:
        assert ask(asking, "SELECT count(*) FROM shots") == [(2,)]
        with pytest.raises(duckdb.Error):
            ask(asking, "SELECT getenv('PATH')")
        assert len(ask(asking, "FROM range(60_000)")) == 60_000
        lines: dict[str, dict[str, object]] = {}
        while "FROM range(60_000)" not in lines:
            line = running.next("audit")
            lines[line["statement"]] = line
    counted = lines["SELECT count(*) FROM shots"]
    assert (counted["token"], counted["peer"], counted["outcome"]) == (
        "owner", "127.0.0.1", "answered",
    )  # fmt: skip
    assert counted["rows"] == 1
    assert lines["SELECT getenv('PATH')"]["outcome"] == "refused"
    assert lines["FROM range(60_000)"]["rows"] == 60_000
    assert TOKEN not in json.dumps(running.told)


def test_a_body_is_bounded_before_anybody_has_shown_a_token(published_home: Home) -> None:
    with server(published_home) as running:
        head = b"POST /quack HTTP/1.1\r\nHost: x\r\nContent-Length: 600000000\r\n\r\n"
        connect = b"\x01\x00\x01\x03\x00\x06\xff\xff\x01\x00\x14"
        with socket.create_connection(("localhost", running.port)) as hostile:
            hostile.sendall(head + connect + b"x" * 100)
            hostile.settimeout(10.0)
            assert hostile.recv(4096).startswith(b"HTTP/1.1 413 ")
        for raw, status in (
            (b"GET / HTTP/1.1\r\n" + b"x: " + b"y" * 20_000 + b"\r\n\r\n", b"431"),
            (b"POST /quack HTTP/1.1\r\nTransfer-Encoding: chunked\r\n\r\n", b"411"),
            (b"nonsense\r\n\r\n", b"400"),
            (b"POST /quack HTTP/1.1\r\nContent-Length: 5\r\n\r\nhello", b"400"),
        ):
            with socket.create_connection(("localhost", running.port)) as hostile:
                hostile.sendall(raw)
                hostile.settimeout(10.0)
                assert hostile.recv(4096).split(b" ")[1] == status


def test_pages_of_other_places_are_not_let_in(published_home: Home) -> None:
    """Nothing allows a page of another origin to read (Fetch standard, CORS protocol)."""
    with server(published_home) as running:
        asked = http.client.HTTPConnection("localhost", running.port, timeout=10)
        asked.request("GET", "/health", headers={"Origin": "http://elsewhere.example"})
        answer = asked.getresponse()
        assert answer.status == 200
        assert json.loads(answer.read()) == {"status": "ok"}
        allowed = [name for name, _ in answer.getheaders() if name.lower().startswith("access-")]
        assert allowed == []


def test_numbers_for_monitors_need_the_token(published_home: Home) -> None:
    with server(published_home) as running, client(running.port) as honest:
        ask(honest, "SELECT 1")
        assert _metrics(running.port, "wrong")[0] == 401
        status, text = _metrics(running.port, TOKEN)
        assert status == 200
        values = dict(line.split() for line in text.splitlines() if not line.startswith("#"))
        assert float(values["rangeledger_serve_connections"]) == 1
        assert float(values["rangeledger_serve_statements_answered_total"]) >= 1
        assert float(values["rangeledger_serve_wrong_tokens_total"]) == 1
        with client(running.port) as passing:
            ask(passing, "SELECT 1")
        assert "rangeledger_serve_connections 1\n" in _metrics(running.port, TOKEN)[1]
        assert [told for told in running.all("problem") if "token" not in told] == []


def _metrics(port: int, token: str) -> tuple[int, str]:
    asked = http.client.HTTPConnection("localhost", port, timeout=10)
    asked.request("GET", "/metrics", headers={"Authorization": f"Bearer {token}"})
    answer = asked.getresponse()
    return answer.status, answer.read().decode()


def test_a_client_that_goes_takes_its_statement_with_it(published_home: Home) -> None:
    with server(published_home, Limits(statements=1)) as running, client(running.port) as honest:
        assert ask(honest, "SELECT count(*) FROM shots") == [(2,)]
        leaving = subprocess.Popen([sys.executable, "-c", LEAVING, str(running.port), TOKEN])
        wait_until(lambda: "statements_running 1\n" in _metrics(running.port, TOKEN)[1])
        leaving.kill()
        leaving.wait()
        assert ask(honest, "SELECT count(*) FROM shots") == [(2,)]


def test_with_a_certificate_the_way_is_encrypted(published_home: Home, tmp_path: Path) -> None:
    certificate, key = tmp_path / "certificate.pem", tmp_path / "key.pem"
    words = (
        "openssl req -x509 -newkey rsa:2048 -nodes -days 2 -subj /CN=localhost "
        f"-addext subjectAltName=DNS:localhost -keyout {key} -out {certificate}"
    )
    subprocess.run(words.split(), check=True, capture_output=True)
    trust = f"SET ca_cert_file = '{certificate}'"
    with server(published_home, certificate=str(certificate), key=str(key)) as running:
        with client(running.port, TOKEN, trust, options=" (DISABLE_SSL false)") as asking:
            assert ask(asking, "SELECT count(*) FROM shots") == [(2,)]
        with pytest.raises(duckdb.Error), client(running.port) as plain:
            ask(plain, "SELECT 1")


def test_what_is_no_query_of_a_client_is_refused() -> None:
    append = b"\x01\x00\x09\x02\x00\x20" + b"A" * 32 + b"\x03\x00\x01\xff\xff"
    with pytest.raises(frames.BadFrameError, match="kind 9"):
        frames.read_request(append)
