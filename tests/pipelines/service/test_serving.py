from __future__ import annotations

import stat
import subprocess
import sys
from pathlib import Path

import pytest
from rangeledger.pipelines.running.engine import _free_port
from rangeledger.pipelines.service.presence import SERVE, service_of
from rangeledger.pipelines.service.token import find_token, token_path
from rangeledger.schemas.errors import UsageError
from rangeledger.warehouse.home import Home

from tests.pipelines.service.running import wait_until
from tests.warehouse.test_sql_server import ask, client, publish


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


@pytest.mark.slow
def test_the_command_serves_again_after_its_process_was_ended(home: Home) -> None:
    publish(home, 1)
    port = _free_port()
    words = [sys.executable, "-m", "rangeledger", "--home", str(home.root), "serve"]
    served = subprocess.Popen([*words, "--quiet", "--port", str(port)])
    wait_until(lambda: bool((p := service_of(home, SERVE)) and p.address))
    token, _ = find_token(home, None)
    refused = subprocess.run(words, capture_output=True, text=True, check=False)
    assert refused.returncode == 3
    assert "served already by process" in refused.stderr
    log = home.logs / "serve.log"
    with client(port, token) as honest:
        assert ask(honest, "SELECT count(*) FROM shots") == [(2,)]
    (worker,) = Path(f"/proc/{served.pid}/task/{served.pid}/children").read_text().split()
    subprocess.run(["kill", "-9", worker], check=True)
    wait_until(lambda: log.read_text().count("serving at") == 2)
    with client(port, token) as honest:
        assert ask(honest, "SELECT count(*) FROM shots") == [(2,)]
    served.terminate()
    assert served.wait(timeout=60) == 0
    assert token not in log.read_text()
    assert service_of(home, SERVE) is None
