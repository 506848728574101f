from __future__ import annotations

import os
import subprocess
import sys
import time

from rangeledger.warehouse.home import Home
from rangeledger.warehouse.kept_accounts import (
    KeptAccount,
    end_telling,
    kept_accounts,
    remove_kept_accounts,
    sole_teller,
    taken,
)

# Stands for the process that tells the engine, and for the engine that it starts.
_TELLER = """
import subprocess, sys
from pathlib import Path
from rangeledger.pipelines.running.telling import _ending_with_home
from rangeledger.warehouse.home import Home
from rangeledger.warehouse.kept_accounts import sole_teller
with sole_teller(Home(Path(sys.argv[1]))) as lock, _ending_with_home(Home(Path(sys.argv[1])), lock):
    wait = "import sys; print('begun', flush=True); sys.stdin.read()"
    engine = subprocess.Popen([sys.executable, "-c", wait], stdin=subprocess.PIPE, pass_fds=[lock])
    engine.wait()
"""


def _kept(home: Home, *messages: dict[str, object]) -> None:
    account = KeptAccount(home)
    for message in messages:
        account.write(message)
    account.close()


def _teller(home: Home) -> subprocess.Popen[bytes]:
    words = [sys.executable, "-c", _TELLER, str(home.root)]
    process = subprocess.Popen(words, stdout=subprocess.PIPE)
    assert process.stdout is not None
    assert process.stdout.readline() == b"begun\n"
    return process


def test_an_account_can_be_taken_once_its_load_has_ended(home: Home) -> None:
    assert kept_accounts(home) == []
    going_on = KeptAccount(home)
    going_on.write({"step": "prepare"})
    _kept(home, {"step": "Tveråsen"}, {"end": True})
    (path,) = kept_accounts(home)
    with taken(path) as messages, taken(path) as again:
        assert (messages, again) == ([{"step": "Tveråsen"}, {"end": True}], None)
        path.unlink()
    with taken(path) as messages:
        assert messages is None
    going_on.close()
    assert len(kept_accounts(home)) == 1


def test_what_a_killed_process_wrote_last_counts_for_nothing(home: Home) -> None:
    _kept(home, {"step": "prepare"})
    (path,) = kept_accounts(home)
    path.write_text(path.read_text() + '{"do')
    with taken(path) as messages:
        assert messages == [{"step": "prepare"}]


def test_accounts_of_more_than_a_week_ago_are_dropped(home: Home) -> None:
    """The engine forgets its own then (`test_engine.py`)."""
    _kept(home, {"end": True})
    (path,) = kept_accounts(home)
    os.utime(path, times=(time.time() - 8 * 86400.0,) * 2)
    _kept(home, {"end": True})
    assert path not in kept_accounts(home)
    assert len(kept_accounts(home)) == 1


def test_who_tells_ends_with_its_engine_when_that_is_asked(home: Home) -> None:
    _kept(home, {"end": True})
    with _teller(home) as process:
        with sole_teller(home) as lock:
            assert lock is None
        remove_kept_accounts(home)
        assert process.wait() == 0
        assert process.stdout is not None
        assert process.stdout.read() == b""  # the other process has let go of it too
    assert kept_accounts(home) == []
    with sole_teller(home) as lock:
        assert lock is not None


def test_who_tells_ends_when_the_home_is_moved(home: Home) -> None:
    _kept(home, {"end": True})
    with _teller(home) as process:
        moved = Home(home.root.rename(home.root.with_name("moved")))
        assert process.wait() == 0
    assert not home.root.exists()
    assert len(kept_accounts(moved)) == 1


def test_where_nobody_tells_there_is_nothing_to_end(home: Home) -> None:
    end_telling(home)
    remove_kept_accounts(home)
    assert not home.accounts.exists()
