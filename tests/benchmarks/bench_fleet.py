"""What a Dask scheduler and two workers of this machine cost against its own processes.

    python tests/benchmarks/bench_fleet.py [--quick] [--exports N]

Prints the overhead of a task and the rate of a backlog, read and fitted, beside their targets:
under 10 ms, and at least 0.8 of the rate without Dask. `--quick` is small, so that the script can't
rot; its numbers say nothing.
"""

from __future__ import annotations

import argparse
import os
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

from rangeledger.pipelines.loading import inbox
from rangeledger.pipelines.loading.readers import Readers
from rangeledger.pipelines.running import ledger
from rangeledger.pipelines.running.batches import batches
from rangeledger.pipelines.spreading.cluster import Cluster
from rangeledger.warehouse.database import query
from rangeledger.warehouse.spread_settings import SpreadSettings

from tests.benchmarks.bench_service import export_text, new_home
from tests.benchmarks.figures import JSON, Figure, json_s
from tests.services.dask_cluster import running_cluster


def overhead_ms(cluster: Cluster, tasks: int) -> tuple[float, float]:
    """Time [ms] of an empty task, asked for alone and with four under way."""
    cluster.begin(os.getpid).answer(60.0)
    began = time.perf_counter()
    for _ in range(tasks):
        cluster.begin(os.getpid).answer(60.0)
    alone = time.perf_counter() - began
    began = time.perf_counter()
    under_way = [cluster.begin(os.getpid) for _ in range(4)]
    for _ in range(tasks - 4):
        under_way.pop(0).answer(60.0)
        under_way.append(cluster.begin(os.getpid))
    for one in under_way:
        one.answer(60.0)
    together = time.perf_counter() - began
    return alone / tasks * 1e3, together / tasks * 1e3


def backlog_rate(exports: int, cluster: Cluster | None) -> float:
    """Exports a second, from the inbox to published fits."""
    with new_home() as home:
        if cluster is not None:
            home.settings_file.write_text(f'[spread]\nscheduler = "{cluster.address}"\n')
        for number in range(exports):
            (home.inbox / f"{number:05d}.csv").write_text(export_text(200, number))
        began = time.perf_counter()
        with Readers(home, cluster=cluster) as readers:
            for batch, ahead in batches(inbox.waiting(home)):
                readers.expect(None, [*batch, *ahead])
                ledger.load_plainly(home, batch, readers)
        ledger.complete(home)
        taken = time.perf_counter() - began
        (found,) = query(home, "SELECT count(*) FROM shots").rows()
        assert found == (200 * exports,), found
    return exports / taken


def figures(quick: bool) -> Iterator[Figure]:
    """What workers cost beside this machine's own processes."""
    exports, tasks, before = (6, 20, 2) if quick else (2000, 400, 8)
    with tempfile.TemporaryDirectory() as place, running_cluster(Path(place)) as dask:
        cluster = Cluster(SpreadSettings(dask.address))
        alone, together = overhead_ms(cluster, tasks)
        yield Figure("a task of a worker", alone, "ms", JSON, 1e3 * json_s())
        yield Figure("the same, four under way", together, "ms", JSON, 1e3 * json_s(), 10.0)
        backlog_rate(before, cluster)  # what is imported and compiled once
        backlog_rate(before, None)
        here, far = 1 / backlog_rate(exports, None), 1 / backlog_rate(exports, cluster)
        yield Figure(
            "an export of 200 rows, by two workers", 1e3 * far, "ms", "by processes of its own",
            1e3 * here, None, 1 / 0.8,
        )  # fmt: skip
        assert cluster.trouble == "", cluster.trouble
        cluster.close()


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--quick", action="store_true")
    parser.add_argument("--exports", type=int, default=2000)
    said = parser.parse_args()
    exports, tasks = (12, 20) if said.quick else (said.exports, 400)
    with tempfile.TemporaryDirectory() as place, running_cluster(Path(place)) as dask:
        cluster = Cluster(SpreadSettings(dask.address))
        alone, together = overhead_ms(cluster, tasks)
        print(f"a task: {alone:.1f} ms alone, {together:.1f} ms of four (target: below 10)")
        backlog_rate(8, cluster)  # what is imported and compiled once
        backlog_rate(8, None)
        here, far = backlog_rate(exports, None), backlog_rate(exports, cluster)
        print(
            f"{exports} exports of 200 rows: {here:.1f} a second here, {far:.1f} by two workers: "
            f"{far / here:.2f} (target: at least 0.8)"
        )
        assert cluster.trouble == "", cluster.trouble
        cluster.close()


if __name__ == "__main__":
    main()
