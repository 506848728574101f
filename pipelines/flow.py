"""The flow: look, prepare, screen, store, fit, publish.

Every task is one call of a plain function, so that a test or a library user needs no server.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any, cast

from prefect import flow, task
from prefect.artifacts import create_markdown_artifact
from prefect.cache_policies import NO_CACHE

from pipelines import fitting, load
from pipelines.offered import Offered
from pipelines.outcome import Outcome
from pipelines.stopwatch import timed
from warehouse import database, publishing
from warehouse.home import Home, Settings
from warehouse.lake import Batch


def _task(function: Callable[..., Any], name: str) -> Callable[..., Any]:
    """Wrap a step as a task; results stay in memory, and exactly-once is the ledger's business."""
    wrapped: Any = task(name=name, persist_result=False, cache_policy=NO_CACHE)(
        timed(function, name)
    )
    return cast("Callable[..., Any]", wrapped)


look = _task(load.look, "look")
prepare = _task(load.prepare, "prepare")
screen = _task(load.screen, "screen")
store = _task(load.store, "store")
settle = _task(load.settle, "settle")
fit_changed = _task(fitting.fit_changed, "fit what changed")
publish = _task(publishing.publish, "publish")


@flow(name="load exports", validate_parameters=False, persist_result=False)
def load_exports(
    home: Home,
    settings: Settings,
    offered: Sequence[Offered],
    *,
    finish: bool = True,
    on_done: Callable[[str], None] | None = None,
) -> list[Outcome]:
    """Take one batch of exports from the inbox to published fits; call it under the writer lock.

    Parameters
    ----------
    home : Home
    settings : Settings
    offered : sequence of Offered
        Exports in the inbox.
    finish : bool
        Whether to fit and publish too; a drain of many batches does not after each.
    on_done : callable, optional
        Called with the file name when an export is prepared.

    Returns
    -------
    list of Outcome
        What became of each.
    """
    with database.open_ledger(home) as connection:
        outcomes = look(connection, offered)
        prepare(home, settings, outcomes, on_done)
        screen(outcomes)
        batch = store(home, connection, outcomes)
        settle(home, batch, outcomes)
        if finish:
            fit_changed(connection, settings)
    if finish:
        publish(home)
    if batch is not None:
        create_markdown_artifact(
            key="load", markdown=describe(batch, outcomes), description=f"Load {batch.name}"
        )
    for outcome in outcomes:
        outcome.release()
    return list(outcomes)


@flow(name="fit and publish", validate_parameters=False, persist_result=False)
def fit_and_publish(home: Home, settings: Settings) -> list[str]:
    """Fit what has changed and publish; call it under the writer lock.

    Returns
    -------
    list of str
        Players that were fitted.
    """
    with database.open_ledger(home) as connection:
        players = fit_changed(connection, settings)
    publish(home)
    return list(players)


@flow(name="complete what was left", validate_parameters=False, persist_result=False)
def complete_what_was_left(home: Home) -> bool:
    """Complete interrupted loads; as a service's first flow it also warms the way to the engine.

    Returns
    -------
    bool
        Whether anything had to be fitted or published.
    """
    from pipelines import ledger

    return ledger.complete(home)


def describe(batch: Batch, outcomes: Sequence[Outcome]) -> str:
    """What was mapped, accepted and rejected in a load, and how long it took, as Markdown."""
    lines = [
        f"# Load {batch.name}",
        "",
        "| export | state | shots | rejected | seconds | reason |",
        "|---|---|---|---|---|---|",
    ]
    lines += [
        f"| {_plain(o.offered.file_name)} | {o.state} | {o.shot_count} | {o.rejected_count} "
        f"| {o.seconds:.3f} | {_plain(o.reason)} |"
        for o in outcomes
        if not o.left
    ]
    for outcome in outcomes:
        if outcome.export is not None:
            lines += ["", f"## {_plain(outcome.offered.file_name)}", ""]
            lines += _columns(outcome)
    return "\n".join(lines)


def _columns(outcome: Outcome) -> list[str]:
    summary = outcome.export.summary() if outcome.export else {}
    units = dict(summary.get("units", {}))
    lines = ["| heading | became | unit |", "|---|---|---|"]
    for heading, became in dict(summary.get("columns", {})).items():
        unit = units.get(heading, "")
        lines.append(f"| {_plain(heading)} | {became or 'kept aside'} | {_plain(unit)} |")
    counts = outcome.rejected.group_by("reason_code").len().sort("reason_code")
    lines += [f"- {count} rows rejected: {code}" for code, count in counts.iter_rows()]
    return lines


def _plain(text: str) -> str:
    """Text of an export inside Markdown: nothing in it may act as markup."""
    cleaned = text.replace("|", "/").replace("\n", " ")
    return cleaned.replace("<", "&lt;").replace("`", "'").replace("[", "(").replace("]", ")")
