"""What the service says in its log, in plain words."""

from __future__ import annotations

from collections.abc import Sequence
from logging import Logger
from pathlib import Path

from rangeledger.pipelines.loading.outcome import Outcome
from rangeledger.schemas.reasons import State


def report_outcomes(log: Logger, outcomes: Sequence[Outcome]) -> None:
    """Log what became of each export of a batch."""
    for outcome in outcomes:
        name = outcome.offered.file_name
        if outcome.left:
            log.info("left %s in the inbox: %s", name, outcome.left)
        elif outcome.state is State.QUARANTINED:
            log.warning("quarantined %s: %s", name, outcome.reason)
        elif outcome.state is State.DUPLICATE:
            log.info("not loaded again %s: %s", name, outcome.reason)
        else:
            log.info(
                "loaded %s: %d shots, %d rows rejected, %.2f s",
                name,
                outcome.shot_count,
                outcome.rejected_count,
                outcome.seconds,
            )


def report_restless(log: Logger, paths: Sequence[Path], reported: set[str]) -> None:
    """Log once of each export that can't be taken because another program has it open."""
    for path in paths:
        if str(path) not in reported:
            reported.add(str(path))
            log.warning("waiting for %s: another program still has it open", path.name)
    reported.intersection_update(str(path) for path in paths)
