"""How fast, steady and safe the service is; prints each number beside its target.

    python -m tests.benchmarks.bench_service [--quick] [PART ...]

Parts: latency, drain, readers, memory, publish, kills, watch-kills. `--quick` runs all of them
small, so that the script can't rot; its numbers say nothing. Every part makes a home of its own
and removes it, and takes a few minutes alone.
"""

from __future__ import annotations

import argparse
import os
import random
import shutil
import signal
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import duckdb
from rangeledger.warehouse.home import Home
from rangeledger.warehouse.opening import open_home

from tests.benchmarks.figures import JSON, Figure, json_s
from tests.exports_text import HEADING
from tests.pipelines.service.readers_beside import OF_FITS, reading_beside

LIMIT_S = 900.0
READ_PAUSE_S = 2.0
READY = "ready after"
RANGELEDGER = [sys.executable, "-m", "rangeledger"]


@dataclass(frozen=True)
class Size:
    """How much each part does."""

    latency_exports: int
    latency_rows: int
    drain_exports: int
    drain_rows: int
    memory_exports: int
    readers: int
    kill_exports: int
    kills: int
    watch_kills: int
    publish_shots: tuple[int, ...]


FULL = Size(40, 300, 2000, 200, 5000, 16, 200, 200, 50, (1_000_000, 10_000_000))
QUICK = Size(3, 30, 20, 20, 40, 2, 12, 4, 2, (10_000,))


def export_text(rows: int, seed: int, players: int = 4) -> str:
    """A plain export of 7-irons, each row its own."""
    chance = random.Random(seed)
    day = f"2026-{1 + seed // 28 % 12:02d}-{1 + seed % 28:02d}"
    lines = [HEADING]
    for number in range(rows):
        speed = chance.gauss(108.5, 1.5)
        side, start = chance.gauss(0.0, 3.0), chance.gauss(0.0, 1.0)
        minute, second = divmod(number * 20, 60)
        lines.append(
            f"Player {seed % players},{day} {9 + minute // 60:02d}:{minute % 60:02d}:{second:02d},"
            f"7 iron,{speed:.1f},{chance.gauss(17.9, 0.4):.1f},{start:.1f},"
            f"{chance.gauss(6400, 120):.0f},{side / 3 - start / 2:.1f},"
            f"{150.6 + 2.2 * (speed - 108.4):.1f},{side:.1f}"
        )
    return "\n".join(lines) + "\n"


@contextmanager
def new_home() -> Iterator[Home]:
    """A home that is removed afterwards."""
    folder = Path(tempfile.mkdtemp(prefix="rangeledger-bench-"))
    try:
        yield open_home(Home(folder / "home"))
    finally:
        shutil.rmtree(folder, ignore_errors=True)


@contextmanager
def watching(home: Home, *words: str) -> Iterator[subprocess.Popen[bytes]]:
    """A running service, ready."""
    command = [*RANGELEDGER, "--home", str(home.root), "watch", "--quiet"]
    process, before = subprocess.Popen([*command, *words]), log_of(home).count(READY)
    try:
        wait_until(lambda: log_of(home).count(READY) > before or process.poll() is not None)
        yield process
    finally:
        process.send_signal(signal.SIGTERM)
        process.wait()


def log_of(home: Home) -> str:
    """The newest file of the service's log."""
    path = home.logs / "service.log"
    return path.read_text() if path.exists() else ""


def wait_until(true: Callable[[], Any], pause_s: float = 0.01) -> None:
    """Wait for something to become true."""
    deadline = time.monotonic() + LIMIT_S
    while not true():
        if time.monotonic() > deadline:
            raise TimeoutError("it did not come about")
        time.sleep(pause_s)


def ask(home: Home, sql: str) -> Any:
    """One value from the published database."""
    with duckdb.connect(str(home.database), read_only=True) as connection:
        row = connection.execute(sql).fetchone()
    return row[0] if row else None


_seen: dict[str, tuple[int, int]] = {}


def shots_of(home: Home, player: str) -> int:
    """Shots behind a player's refitted carry; 0 before the first.

    Asked again only when the published file is another, so that asking does not slow the service.
    """
    if not home.database.exists():
        return 0
    inode = home.database.stat().st_ino
    if _seen.get(player, (0, 0))[0] != inode:
        _seen[player] = inode, _ask_shots(home, player)
    return _seen[player][1]


def _ask_shots(home: Home, player: str) -> int:
    sql = f"SELECT coalesce(sum(shots), 0) FROM carry_by_club WHERE player = '{player}'"
    return int(ask(home, sql) or 0)


def tell(what: str, value: float, unit: str, target: str, met: bool) -> None:
    """Print a number beside its target."""
    print(f"{what:<58}{value:>10.2f} {unit:<8} target {target:<10}{'met' if met else 'MISSED'}")


def drop(home: Home, name: str, text: str) -> None:
    """Put an export into the inbox by rename."""
    part = home.inbox / f"{name}.part"
    part.write_text(text)
    part.rename(home.inbox / name)


def latencies(size: Size) -> tuple[list[float], str]:
    """Seconds from a whole export in the inbox to its refitted carry in another process's SQL.

    With them, the log's last line of the steps.
    """
    with new_home() as home, watching(home):
        taken = []
        for number in range(size.latency_exports):
            text, player = export_text(size.latency_rows, number), f"Player {number % 4}"
            before = shots_of(home, player)
            drop(home, f"{number:04d}.csv", text)
            began = time.monotonic()
            wait_until(lambda p=player, b=before: shots_of(home, p) > b, 0.05)
            taken.append(time.monotonic() - began)
        steps = [line for line in log_of(home).splitlines() if "batch of" in line]
        return taken, steps[-1].split("INFO", 1)[1].strip()


def latency(size: Size) -> None:
    """From a whole export in the inbox to its refitted carry in another process's SQL."""
    taken, steps = latencies(size)
    median, high = statistics.median(taken), sorted(taken)[int(len(taken) * 0.95)]
    tell("export to refitted carry, median", median, "s", "< 0.5", median < 0.5)
    tell("export to refitted carry, 95th percentile", high, "s", "< 1", high < 1.0)
    print("  after 0.1 s of rest, the last:", steps)


def figures(quick: bool) -> Iterator[Figure]:
    """The latency alone; the other parts take minutes and are asked for by name."""
    taken, _ = latencies(QUICK if quick else FULL)
    what = "export to refitted carry, median"
    yield Figure(what, statistics.median(taken), "s", JSON, json_s(), 0.5)


def drain(size: Size, readers: int = 0, seeded: int = 0) -> tuple[float, float]:
    """Exports a second of a backlog, up to the published fits; processor time [ms] an export.

    With `seeded` exports loaded beforehand the readers have something to read from the start.
    """
    with new_home() as home:
        backlog(home, range(seeded), size.drain_rows)
        if seeded:
            subprocess.run([*RANGELEDGER, "--home", str(home.root), "ingest"], check=True,
                           stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)  # fmt: skip
        every = seeded + size.drain_exports
        backlog(home, range(seeded, every), size.drain_rows)
        with (
            watching(home) as process,
            reading_beside(home, readers, READ_PAUSE_S, OF_FITS) as seen,
        ):
            began, used = time.monotonic(), processor_s(process.pid)
            wait_until(lambda: loaded(home) >= every, 0.1)
            rate = size.drain_exports / (time.monotonic() - began)
            used = processor_s(process.pid) - used
        if readers:
            tell(f"faults of {seen.reads} reads", len(seen.faults), "", "0", not seen.faults)
        print_steps(home)
    return rate, 1000.0 * used / size.drain_exports


def backlog(home: Home, numbers: range, rows: int) -> None:
    """Put exports into the inbox of a home that nobody watches."""
    for number in numbers:
        (home.inbox / f"{number:05d}.csv").write_text(export_text(rows, number))


def print_steps(home: Home) -> None:
    """Print the seconds of each step over all batches."""
    total: dict[str, float] = {}
    for line in log_of(home).splitlines():
        _, found, steps = line.partition(" s: ")
        for step in steps.split(", ") if found and "batch of" in line else []:
            name, _, seconds = step.rpartition(" ")
            total[name] = total.get(name, 0.0) + float(seconds)
    print("  seconds:", ", ".join(f"{name} {seconds:.1f}" for name, seconds in total.items()))


def processor_s(pid: int) -> float:
    """Processor time [s] of a process and all that it has started."""
    try:
        fields = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()
        told = [file.read_text() for file in Path(f"/proc/{pid}/task").glob("*/children")]
    except OSError:
        return 0.0
    own = sum(int(ticks) for ticks in fields[11:15]) / os.sysconf("SC_CLK_TCK")
    return own + sum(processor_s(int(number)) for line in told for number in line.split())


def loaded(home: Home) -> int:
    """Exports in the published log."""
    return int(ask(home, "SELECT count(*) FROM ingest_log")) if home.database.exists() else 0


def drain_part(size: Size) -> None:
    """A backlog without readers."""
    rate, processor_ms = drain(size)
    tell(f"drain of {size.drain_exports} exports", rate, "files/s", ">= 100", rate >= 100)
    # What two processors would need if nobody else used them.
    alone = 2000.0 / processor_ms
    tell("the same by processor time alone", alone, "files/s", ">= 100", alone >= 100)


def readers_part(size: Size) -> None:
    """A backlog with and without readers that ask every two seconds each."""
    seeded = max(size.drain_exports // 5, 1)
    alone, _ = drain(size, seeded=seeded)
    beside, _ = drain(size, size.readers, seeded)
    slower = 100 * (1 - beside / alone)
    tell(f"drain slowed by {size.readers} readers", slower, "%", "< 20", slower < 20)


def memory(size: Size) -> None:
    """Memory of the service over many exports, at 40 moments of the load."""
    with new_home() as home, watching(home) as process:
        sizes = []
        for number in range(size.memory_exports):
            drop(home, f"{number:05d}.csv", export_text(12, number, players=40))
            if number % max(size.memory_exports // 40, 1) == 0:
                wait_until(lambda: len(list(home.inbox.iterdir())) < 64, 0.1)
                sizes.append(resident_mib(process.pid))
        wait_until(lambda: loaded(home) >= size.memory_exports, 0.2)
        sizes.append(resident_mib(process.pid))
    print("  resident MiB:", " ".join(f"{s:.0f}" for s in sizes))
    quarter = len(sizes) // 4
    second, last = statistics.mean(sizes[quarter : 2 * quarter]), statistics.mean(sizes[-quarter:])
    grown = 100 * (last / second - 1)
    a_thousand = (last - second) / (0.5 * size.memory_exports / 1000)
    tell("memory gained in a thousand exports", a_thousand, "MiB", "<= 2", a_thousand <= 2)
    tell("memory of the last quarter over the second", grown, "%", "< 5", grown < 5)


def resident_mib(pid: int) -> float:
    """Resident memory [MiB] of a process."""
    for line in Path(f"/proc/{pid}/status").read_text().splitlines():
        if line.startswith("VmRSS"):
            return int(line.split()[1]) / 1024
    return 0.0


def publish(size: Size) -> None:
    """What one publication costs, by the number of shots."""
    from rangeledger.warehouse import database, publishing
    from rangeledger.warehouse.statements import shots_table

    for shots in size.publish_shots:
        with new_home() as home:
            with database.open_ledger(home) as connection:
                names = [
                    line.split()[0] for line in shots_table().splitlines()[1:-1] if "DOUBLE" in line
                ]
                values = ", ".join(f"random() * 100 AS {name}" for name in names)
                connection.execute(
                    "INSERT INTO ledger.shots BY NAME SELECT 1 AS batch, "
                    "'shot-' || range AS shot_id, 's' || range // 60 AS session_id, "
                    "'Player ' || range % 9 AS player, '7-iron' AS club, 'full' AS swing, "
                    "'premium' AS ball, 'grass' AS surface, 'measured' AS flight_basis, "
                    "'unknown' AS monitor, "
                    "range::INTEGER AS shot_number, 'f' AS source_file, 1 AS source_row, "
                    f"{values} FROM range({shots})"
                )
                connection.execute("DELETE FROM ledger.shots WHERE batch = 2")
            taken = []
            for _ in range(3):
                began = time.monotonic()
                publishing.publish(home)
                taken.append(time.monotonic() - began)
            mib = home.database.stat().st_size / 2**20
            print(f"publish {shots:,} shots ({mib:,.0f} MiB): {statistics.median(taken):.2f} s")


def kills(size: Size) -> None:
    """A backlog loaded by a process that is killed again and again."""
    from tests.pipelines.backlog import put_many
    from tests.pipelines.killing import Killer, contents, different

    with new_home() as expected, new_home() as home, Killer() as processes:
        put_many(expected, size.kill_exports)
        put_many(home, size.kill_exports)
        processes.load(expected.root)
        chance, killed = random.Random(7), 0
        while killed < size.kills:
            at = chance.randrange(1, 40)
            if processes.load(home.root, kill_at=at).how == "done":
                put_more(expected, home, killed)
                processes.load(expected.root)
            else:
                killed += 1
        processes.load(home.root)
        wrong = different(contents(expected.root), contents(home.root))
        tell(f"views that differ after {killed} kills", len(wrong), "", "0", not wrong)


def watch_kills(size: Size) -> None:
    """A backlog loaded by the whole service, killed again and again with its readers and engine.

    Each kill comes at a chance moment within the first two seconds of its loading.
    """
    from tests.pipelines.backlog import put_many
    from tests.pipelines.killing import contents, different

    with new_home() as expected, new_home() as home:
        put_many(expected, size.kill_exports)
        put_many(home, size.kill_exports)
        chance, killed, dropped = random.Random(11), 0, 0
        while killed < size.watch_kills:
            with watching(home, "--settle-s", "0") as process:
                time.sleep(chance.uniform(0.0, 2.0))
                process.kill()
            killed += 1
            for _ in range(40):
                put_more(expected, home, dropped)
                dropped += 1
        for one in (expected, home):
            command = [*RANGELEDGER, "--home", str(one.root), "ingest"]
            subprocess.run(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        wrong = different(contents(expected.root), contents(home.root))
        tell(f"views that differ after {killed} kills of it", len(wrong), "", "0", not wrong)


def put_more(one: Home, other: Home, number: int) -> None:
    """Drop one more export into two homes."""
    for home in (one, other):
        drop(home, f"more-{number}.csv", export_text(6, number))


PARTS: dict[str, Callable[[Size], None]] = {
    "latency": latency,
    "drain": drain_part,
    "readers": readers_part,
    "memory": memory,
    "publish": publish,
    "kills": kills,
    "watch-kills": watch_kills,
}


def main() -> None:
    """Run the parts that are named, or all."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("parts", nargs="*", help=f"of {', '.join(PARTS)}; default: all")
    parser.add_argument("--quick", action="store_true", help="small, to see that it runs")
    asked = parser.parse_args()
    for name in asked.parts or PARTS:
        print(f"== {name}, load average {os.getloadavg()[0]:.1f}", flush=True)
        began = time.monotonic()
        PARTS[name](QUICK if asked.quick else FULL)
        print(
            f"  {time.monotonic() - began:.0f} s, load average {os.getloadavg()[0]:.1f}", flush=True
        )


if __name__ == "__main__":
    main()
