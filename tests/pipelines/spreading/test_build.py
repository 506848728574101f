from __future__ import annotations

import multiprocessing
from dataclasses import replace

from rangeledger.pipelines.spreading.build import difference, may_start_processes, this_build


def test_a_build_differs_from_itself_in_nothing() -> None:
    assert difference(this_build(), this_build()) == ""


def test_a_difference_names_what_differs() -> None:
    ours = this_build()
    libraries = tuple((n, "0.1" if n == "numpy" else v) for n, v in ours.libraries)
    numpy = dict(ours.libraries)["numpy"]
    assert difference(ours, replace(ours, python="3.7")).startswith("Python 3.7 in place of 3.")
    assert difference(ours, replace(ours, libraries=libraries)) == f"numpy 0.1 in place of {numpy}"
    assert difference(ours, replace(ours, code="x")) == "another release of rangeledger"


def test_a_daemon_may_start_no_processes() -> None:
    assert may_start_processes()
    context = multiprocessing.get_context("spawn")
    asked, told = context.Pipe()
    daemon = context.Process(target=_tell, args=(told,), daemon=True)
    daemon.start()
    assert asked.recv() is False
    daemon.join()


def _tell(connection: multiprocessing.connection.Connection) -> None:
    connection.send(may_start_processes())
