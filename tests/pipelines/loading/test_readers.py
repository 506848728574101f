from __future__ import annotations

import os
import signal
import subprocess
import sys
import threading
from collections.abc import Iterator
from datetime import date
from pathlib import Path

import pytest
from rangeledger.pipelines.loading import inbox
from rangeledger.pipelines.loading.offered import Offered
from rangeledger.pipelines.loading.readers import Readers
from rangeledger.pipelines.loading.reading_limits import Limit, Limits
from rangeledger.pipelines.running import ledger
from rangeledger.warehouse.home import Home
from rangeledger.warehouse.opening import open_home
from rangeledger.warehouse.settings import read_settings

from tests.exports_text import seven_irons
from tests.pipelines.bad_reading import read_badly
from tests.pipelines.killing import contents, different
from tests.pipelines.service.running import wait_until

MIB = 2**20
ENDLESS = "loops-on-and-on.csv"


class _OneTooLong(Limits):
    """Hardly any time for the export that never ends, known by its size; plenty for the others."""

    def of(self, size: int) -> Limit:
        return Limit(1.0 if size == len(seven_irons(ENDLESS)) else 600.0, 500 * MIB)


@pytest.fixture
def bad_readers(home: Home) -> Iterator[Readers]:
    with Readers(home, limits=_OneTooLong(), read=read_badly) as readers:
        yield readers


def put(home: Home, *names: str) -> list[Offered]:
    for name in names:
        (home.inbox / name).write_text(seven_irons(name))
    return inbox.waiting(home)


def test_read_elsewhere_an_export_gives_what_it_gives_here(home: Home, tmp_path: Path) -> None:
    here = open_home(Home(tmp_path / "here"))
    for each in (home, here):
        put(each, *(f"{n}.csv" for n in range(9)))
        (each.inbox / "bad.csv").write_text("nothing of the kind\n")
        (each.inbox / "two-rows.csv").write_text(seven_irons("Bo") + "Bo,x,7 iron,x,,,,,,\n")
    ledger.load_plainly(here, inbox.waiting(here))
    ledger.complete(here)
    with Readers(home) as readers:
        readers.expect(None, inbox.waiting(home))
        ledger.load_plainly(home, inbox.waiting(home), readers)
    ledger.complete(home)
    assert different(contents(here.root), contents(home.root)) == []


@pytest.mark.parametrize(
    ("name", "code", "words"),
    [
        ("kills.csv", "fault", "twice ended the process that reads exports (SIGSEGV)"),
        ("leaves.csv", "fault", "twice ended the process that reads exports (exit status 3)"),
        (ENDLESS, "fault", "took over 1 s and was ended"),
        ("fills.csv", "too-large", "took over 500 MiB of memory and was ended"),
    ],
)
def test_an_export_that_takes_its_reader_with_it_is_quarantined_and_the_others_are_loaded(
    home: Home, bad_readers: Readers, name: str, code: str, words: str
) -> None:
    offered = put(home, "a.csv", name, "z.csv", "zz.csv", "zzz.csv")
    outcomes = ledger.load_plainly(home, offered, bad_readers)
    reasons = {o.offered.file_name: o.reason for o in outcomes}
    assert reasons.pop(name).startswith(f"{code}: ")
    assert set(reasons.values()) == {""}
    told = (home.quarantine / f"{name}.reason.txt").read_text()
    assert words in told
    assert "nothing of it was loaded" in told
    assert (home.quarantine / name).read_text() == seven_irons(name)


def test_a_reader_that_died_once_costs_nothing(home: Home, bad_readers: Readers) -> None:
    (one,) = put(home, "once.csv")
    found = bad_readers.read(None, one)
    assert (home.state / "read-before").exists()
    assert found.export is not None
    assert found.export.shots.height == 6


def test_what_was_read_ahead_does_not_count_when_export_or_note_has_changed(home: Home) -> None:
    text = "\n".join(line.split(",", 1)[1] for line in seven_irons().splitlines())
    (home.inbox / "a.csv").write_text(text)
    with Readers(home) as readers:
        (one,) = inbox.waiting(home)
        readers.expect(None, [one])
        before = readers.read(None, one)
        readers.expect(None, [one])
        (home.inbox / "a.toml").write_text('player = "Noted Name"\n')
        noted = readers.read(None, one)
        readers.expect(None, [one])
        one.path.write_text("nothing of the kind\n")
        changed = readers.read(None, one)
    assert before.export is not None
    assert before.export.shots["player"].unique().to_list() == ["unknown"]
    assert noted.export is not None
    assert noted.export.shots["player"].unique().to_list() == ["Noted Name"]
    assert changed.refusal is not None


def test_dates_that_could_be_either_are_read_as_the_settings_say(home: Home) -> None:
    (home.inbox / "a.csv").write_text(seven_irons(day="03/04/2026"))
    with Readers(home) as readers:
        (one,) = inbox.waiting(home)
        refused = readers.read(read_settings(home).reading, one).refusal
        home.settings_file.write_text('zone = "UTC"\ndate_order = "month-day"\n')
        read = readers.read(read_settings(home).reading, one).export
    assert refused is not None
    assert "settings.toml" in str(refused)
    assert read is not None
    assert read.shots["struck_at"].dt.date().unique().to_list() == [date(2026, 3, 4)]


def test_told_to_stop_it_leaves_what_it_has_not_begun(home: Home, bad_readers: Readers) -> None:
    offered = put(home, "hangs.csv", *(f"later-{n}.csv" for n in range(3)))
    bad_readers.expect(None, offered)
    bad_readers.abandon("Later.")
    outcomes = ledger.load_plainly(home, offered[1:], bad_readers)
    assert {o.left for o in outcomes} == {"Later."}
    assert len(inbox.waiting(home)) == 4


def test_closed_while_an_export_hangs_nobody_waits(home: Home) -> None:
    offered = put(home, "hangs.csv")
    found = []
    with Readers(home, read=read_badly) as readers:
        thread = threading.Thread(target=lambda: found.append(readers.read(None, offered[0])))
        thread.start()
        wait_until(lambda: any(partner.is_busy for partner in readers.partners))
    thread.join(20.0)
    assert [one.left_because for one in found] == ["Reading was ended."]


_SCRIPT = """
import sys
from pathlib import Path
from rangeledger.pipelines.loading import inbox
from rangeledger.pipelines.running import ledger
from rangeledger.pipelines.loading.readers import Readers
from rangeledger.warehouse.home import Home
home = Home(Path(sys.argv[1]))
print("begun", flush=True)
with Readers(home) as readers:
    for outcome in ledger.load_plainly(home, inbox.waiting(home), readers):
        print(outcome.state.value)
"""


def test_a_script_of_a_library_user_is_not_run_again_by_the_readers(
    home: Home, tmp_path: Path
) -> None:
    put(home, "a.csv")
    script = tmp_path / "load_all.py"
    script.write_text(_SCRIPT)
    done = subprocess.run(
        [sys.executable, str(script), str(home.root)],
        capture_output=True, text=True, check=True,
    )  # fmt: skip
    assert done.stdout.split() == ["begun", "loaded"]
    assert done.stderr == ""


_HANGING_PARENT = """
import sys, time
from pathlib import Path
from rangeledger.pipelines.loading.offered import Offered
from rangeledger.pipelines.loading.readers import Readers
from tests.pipelines.bad_reading import read_badly
from rangeledger.warehouse.home import Home
home = Home(Path(sys.argv[1]))
readers = Readers(home, read=read_badly)
names = ("hangs.csv", "loops.csv", "a", "b", "c")
readers.expect(None, [Offered(home.inbox / name, name) for name in names])
while sum(p.is_busy for p in readers.partners) < 2:
    time.sleep(0.01)
print(*(p.pid for p in readers.partners), flush=True)
time.sleep(600)
"""


@pytest.mark.slow
def test_readers_do_not_outlive_a_killed_parent(home: Home) -> None:
    put(home, "hangs.csv", "loops.csv", "a", "b", "c")
    words = [sys.executable, "-c", _HANGING_PARENT, str(home.root)]
    with subprocess.Popen(words, stdout=subprocess.PIPE, text=True) as parent:
        assert parent.stdout is not None
        readers = [int(number) for number in parent.stdout.readline().split()]
        os.kill(parent.pid, signal.SIGKILL)
    assert len(readers) == 2
    wait_until(lambda: not any(_lives(number) for number in readers))


def _lives(number: int) -> bool:
    try:
        state = Path(f"/proc/{number}/stat").read_text().rpartition(")")[2].split()[0]
    except OSError:
        return False
    return state != "Z"


@pytest.mark.skipif(not Path("/proc/self/status").exists(), reason="the kernel tells no masks")
def test_an_interrupt_from_the_terminal_is_for_who_loads_alone() -> None:
    """It comes to all processes of a terminal: a reader that it ended would refuse its export."""
    code = (
        "from multiprocessing import forkserver\n"
        "from pathlib import Path\n"
        "from rangeledger.pipelines.loading.forking import start_helper\n"
        "start_helper()\n"
        "status = Path(f'/proc/{forkserver._forkserver._forkserver_pid}/status').read_text()\n"
        "print(next(line for line in status.splitlines() if line.startswith('SigBlk')))\n"
    )
    ran = subprocess.run([sys.executable, "-c", code], check=True, capture_output=True, text=True)
    blocked = int(ran.stdout.split()[1], 16)
    assert blocked & 1 << (signal.SIGINT - 1)  # the mask of proc(5): bit n - 1 for signal n
