from __future__ import annotations

import socket
import stat
import subprocess
import sys
from pathlib import Path

import duckdb
import pytest
from rangeledger.pipelines.running.engine import _free_port
from rangeledger.pipelines.service.presence import SERVE, service_of
from rangeledger.pipelines.service.token import find_token, token_path
from rangeledger.schemas.errors import HomeError, UsageError
from rangeledger.warehouse.home import Home
from rangeledger.warehouse.serving import worker

from tests.pipelines.service.running import wait_until
from tests.warehouse.serving.clients import ask, client


def test_a_token_is_made_once_and_only_its_owner_can_read_it(home: Home) -> None:
    token, where = find_token(home, None)
    assert where == str(token_path(home))
    assert len(token) == 32
    assert find_token(home, None) == (token, where)
    assert stat.S_IMODE(token_path(home).stat().st_mode) == 0o600


def test_a_token_can_be_named_but_not_be_weak(
    home: Home, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    file = tmp_path / "token"
    file.write_text("a-token-of-my-own-choice\n")
    assert find_token(home, file) == ("a-token-of-my-own-choice", str(file))
    monkeypatch.setenv("RANGELEDGER_TOKEN", "another-token-of-mine")
    assert find_token(home, None) == ("another-token-of-mine", "$RANGELEDGER_TOKEN")
    file.write_text("short")
    with pytest.raises(UsageError, match="at least 16"):
        find_token(home, file)
    assert not token_path(home).exists()


RUNAWAY = (
    "SELECT count(*) FROM range(1000000) a, range(1000000) b, range(1000) c "
    "WHERE a.range + b.range * c.range % 7 = 3"
)


def test_the_command_keeps_its_port_and_its_clients_whatever_ends(published_home: Home) -> None:
    """A runaway takes one statement; a server that is killed is there again at the same port."""
    port = _free_port()
    words = [sys.executable, "-m", "rangeledger", "--home", str(published_home.root), "serve"]
    served = subprocess.Popen(
        [*words, "--quiet", "--port", str(port), "--statement-limit-s", "1.5"]
    )
    wait_until(lambda: bool((p := service_of(published_home, SERVE)) and p.address))
    token, _ = find_token(published_home, None)
    refused = subprocess.run(words, capture_output=True, text=True, check=False)
    assert refused.returncode == 3
    assert "served already by process" in refused.stderr
    log, audit = published_home.logs / "serve.log", published_home.logs / "audit.log"
    with client(port, token) as honest, client(port, token) as other:
        for _ in range(2):
            with pytest.raises(duckdb.Error, match="and was ended"):
                ask(other, RUNAWAY)
            assert ask(honest, "SELECT count(*) FROM shots") == [(2,)]
            assert ask(other, "SELECT count(*) FROM shots") == [(2,)]
    assert log.read_text().count("serving at") == 1
    (front,) = Path(f"/proc/{served.pid}/task/{served.pid}/children").read_text().split()
    subprocess.run(["kill", "-9", front], check=True)
    wait_until(lambda: log.read_text().count("serving at") == 2)
    with client(port, token) as honest:
        assert ask(honest, "SELECT count(*) FROM shots") == [(2,)]
    served.terminate()
    assert served.wait(timeout=60) == 0
    assert token not in log.read_text() + audit.read_text()
    assert audit.read_text().count('"outcome": "ended"') == 2
    assert "ran for over 1.5 s and was ended: SELECT count(*) FROM range(1000000) a" in (
        log.read_text()
    )
    assert service_of(published_home, SERVE) is None


def test_a_port_in_use_is_told_without_the_token(published_home: Home) -> None:
    words = [sys.executable, "-m", "rangeledger", "--home", str(published_home.root), "serve"]
    with socket.create_server(("127.0.0.1", 0)) as taken:
        port = taken.getsockname()[1]
        told = subprocess.run(
            [*words, "--host", "127.0.0.1", "--port", str(port)],
            capture_output=True, text=True, check=False,
        )  # fmt: skip
    assert told.returncode == 3
    assert f"can't listen at 127.0.0.1:{port}" in told.stderr
    assert find_token(published_home, None)[0] not in told.stderr


def test_without_the_addition_one_sentence_says_what_to_install(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(worker, "_EXTENSIONS", {"quack": "no_such_package"})
    with pytest.raises(HomeError, match=r"pip install 'rangeledger\[network\]'"):
        worker.extension_files()
