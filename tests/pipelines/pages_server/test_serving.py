"""The pages as a running process: how they start, end, and bear a crowd."""

from __future__ import annotations

import http.client
import ssl
import subprocess
import time
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from urllib.parse import urlsplit

import pytest
from rangeledger.pipelines.main import app
from rangeledger.pipelines.service.presence import service_of
from rangeledger.warehouse.home import Home
from typer.testing import CliRunner

from tests.pipelines.pages_server.live import Live, another_key, live_pages
from tests.services.flow_engine import SharedEngine

pytestmark = pytest.mark.slow


def ask(live: Live, path: str, cookie: str = "") -> tuple[int, str]:
    """Status and cookie of one answer."""
    where = urlsplit(live.address)
    connection = http.client.HTTPConnection(where.hostname or "", where.port, timeout=120)
    connection.request("GET", path, headers={"cookie": cookie} if cookie else {})
    answer = connection.getresponse()
    answer.read()
    connection.close()
    return answer.status, (answer.getheader("set-cookie") or "").partition(";")[0]


@pytest.fixture
def home(made_home: Home) -> Home:
    return made_home


def test_two_hundred_at_once_are_answered_and_a_second_call_gives_another_key(home: Home) -> None:
    with live_pages(home.root, "--no-watch") as live:
        status, cookie = ask(live, "/enter?" + live.entrance.partition("?")[2])
        assert status == 303
        again = another_key(home.root)
        assert again.startswith(live.address)
        assert again != live.entrance
        with ThreadPoolExecutor(200) as crowd:
            answers = list(
                crowd.map(lambda _: ask(live, "/players/ada-brook/putting", cookie), range(200))
            )
        statuses = {status for status, _ in answers}
        assert statuses <= {200, 503}
        assert [status for status, _ in answers].count(200) >= 100
        assert ask(live, "/players/ada-brook", cookie)[0] == 200


def test_told_to_stop_they_end_the_watcher_that_they_started(
    home: Home, shared_engine: SharedEngine
) -> None:
    shared_engine.begin(home)
    with live_pages(home.root):
        ends = time.monotonic() + 120.0
        while service_of(home) is None:
            assert time.monotonic() < ends
            time.sleep(0.1)
    assert service_of(home) is None


def test_certificate_files_give_https(home: Home, tmp_path: Path) -> None:
    made = subprocess.run(
        ["openssl", "req", "-x509", "-newkey", "rsa:2048", "-nodes", "-days", "1", "-subj",
         "/CN=localhost", "-keyout", str(tmp_path / "k.pem"), "-out", str(tmp_path / "c.pem")],
        capture_output=True, check=False,
    )  # fmt: skip
    if made.returncode:
        pytest.skip("no openssl to make a certificate with")
    words = ("--tls-certificate", str(tmp_path / "c.pem"), "--tls-key", str(tmp_path / "k.pem"))
    with live_pages(home.root, "--no-watch", *words) as live:
        assert live.address.startswith("https://")
        where = urlsplit(live.entrance)
        context = ssl.create_default_context(cafile=str(tmp_path / "c.pem"))
        context.check_hostname = False
        connection = http.client.HTTPSConnection(where.hostname or "", where.port, context=context)
        connection.request("GET", f"{where.path}?{where.query}")
        answer = connection.getresponse()
        assert answer.status == 303
        assert "Secure" in (answer.getheader("set-cookie") or "")
        connection.close()


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["--host", "0.0.0.0"], "--lan"),
        (["--tls-certificate", "nothing.pem"], "two files"),
        (["--tls-certificate", "nothing.pem", "--tls-key", "none.pem"], "no file nothing.pem"),
    ],
)
def test_what_would_let_in_too_many_is_refused(home: Home, words: list[str], told: str) -> None:
    answer = CliRunner().invoke(app, ["--home", str(home.root), "pages", *words])
    assert answer.exit_code == 2
    assert told in answer.output
