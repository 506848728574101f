"""Numbers for monitors, in Prometheus' text format.

References
----------
Prometheus, Exposition formats, text format 0.0.4.
"""

from __future__ import annotations

from collections.abc import Mapping

KIND = "text/plain; version=0.0.4; charset=utf-8"
# What each number tells; a name that ends in _total only grows, by that format's convention.
HELP = {
    "running_seconds": "Time since the start.",
    "publication_age_seconds": "Age of the published database.",
    "connections": "Connections open.",
    "connections_opened_total": "Connections opened.",
    "connections_refused_total": "Connections refused because there were too many.",
    "sockets": "Sockets open.",
    "sockets_refused_total": "Sockets closed at once because there were too many.",
    "requests_refused_total": "Requests refused before anything was asked.",
    "wrong_tokens_total": "Wrong tokens shown.",
    "statements_answered_total": "Statements answered to the end.",
    "statements_refused_total": "Statements that the guard refused.",
    "statements_failed_total": "Statements that failed in the database.",
    "statements_ended_total": "Statements ended at a limit.",
    "statements_left_total": "Statements whose result was not read to the end.",
    "statements_running": "Statements that run now.",
    "statements_waiting": "Statements that wait for their turn.",
    "workers": "Processes that answer.",
    "worker_faults_total": "Processes that ended by themselves.",
    "faults_total": "Faults of the program itself.",
    "waiting_exports": "Exports in the inbox.",
    "oldest_waiting_seconds": "Age of the export that has waited longest.",
    "quarantined_exports": "Exports in quarantine.",
    "loaded_exports_total": "Exports taken care of since the start.",
    "loads": "Loads in the lake.",
    "problem": "1 while something keeps it from its work.",
    "player_faults": "Players whose fit failed.",
    "free_bytes": "Free space on the home's disk.",
}


def metrics_text(prefix: str, numbers: Mapping[str, float]) -> str:
    """Numbers in Prometheus' text format.

    Parameters
    ----------
    prefix : str
        Put before each name.
    numbers : mapping of str to float
        By names that `HELP` knows.
    """
    lines = []
    for name, value in numbers.items():
        kind = "counter" if name.endswith("_total") else "gauge"
        full = f"{prefix}_{name}"
        lines += [f"# HELP {full} {HELP[name]}", f"# TYPE {full} {kind}", f"{full} {value:.15g}"]
    return "\n".join(lines) + "\n"
