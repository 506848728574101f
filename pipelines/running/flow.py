"""The flow: look, prepare, screen, store, fit, publish.

Every task is one call of a plain function, so that a test or a library user needs no server.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from prefect import flow, task
from prefect.artifacts import create_markdown_artifact
from prefect.cache_policies import NO_CACHE
from rangeledger.pipelines.loading import load_order
from rangeledger.pipelines.loading.offered import Offered
from rangeledger.pipelines.loading.outcome import Outcome, Read
from rangeledger.pipelines.reader.prepared_export import PreparedExport
from rangeledger.pipelines.running import fitting
from rangeledger.pipelines.stopwatch import timed
from rangeledger.warehouse import database
from rangeledger.warehouse.home import Home
from rangeledger.warehouse.lake import Batch
from rangeledger.warehouse.settings import Settings
from rangeledger.warehouse.stores.store import store_of

if TYPE_CHECKING:
    from rangeledger.pipelines.loading.readers import Readers


class _Sealed:
    """Something that the engine hands on without looking into it.

    It would walk through every list and record that a task is given, in search of other tasks'
    results, which takes longer than some of the steps.
    """

    __slots__ = ("inside",)

    def __init__(self, inside: Any) -> None:
        self.inside = inside


def _task(function: Callable[..., Any], name: str) -> Callable[..., Any]:
    """Wrap a step as a task; results stay in memory, and exactly-once is the ledger's business."""
    step = timed(function, name)

    def run(given: _Sealed) -> _Sealed:
        words, named = given.inside
        return _Sealed(step(*words, **named))

    engine_task: Any = task(name=name, persist_result=False, cache_policy=NO_CACHE)(run)

    def call(*words: Any, **named: Any) -> Any:
        return engine_task(_Sealed((words, named))).inside

    return call


def _publish(home: Home) -> None:
    store_of(home).publish()


STEPS = load_order.PLAIN.wrapped(_task)
fit_changed = _task(fitting.fit_changed, "fit what changed")
publish = _task(_publish, "publish")


def load_exports(
    home: Home,
    settings: Settings,
    offered: Sequence[Offered],
    *,
    finish: bool = True,
    on_done: Callable[[str], None] | None = None,
    readers: Readers | None = None,
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
    readers : Readers, optional
        Processes that read; without them this process does.

    Returns
    -------
    list of Outcome
        What became of each.
    """
    order = _Order(home, settings, offered, finish, on_done, readers)
    outcomes: list[Outcome] = _load_exports(_Sealed(order)).inside
    return outcomes


@dataclass(frozen=True, slots=True)
class _Order:
    """What a load is asked to do; see `load_exports`."""

    home: Home
    settings: Settings
    offered: Sequence[Offered]
    finish: bool
    on_done: Callable[[str], None] | None
    readers: Readers | None


@flow(name="load exports", validate_parameters=False, persist_result=False)
def _load_exports(sealed: _Sealed) -> _Sealed:
    order: _Order = sealed.inside
    home, settings = order.home, order.settings
    with database.open_ledger(home) as connection:
        batch, outcomes = load_order.take(
            STEPS, home, connection, settings, order.offered,
            on_done=order.on_done, readers=order.readers,
        )  # fmt: skip
        if order.finish:
            fit_changed(home, connection, settings)
    if order.finish:
        publish(home)
    if batch is not None:
        create_markdown_artifact(
            key="load", markdown=describe(batch, outcomes), description=f"Load {batch.name}"
        )
    return _Sealed([outcome.released() for outcome in outcomes])


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
    alike: dict[str, list[Read]] = {}
    for outcome in outcomes:
        if isinstance(outcome, Read) and outcome.export is not None:
            alike.setdefault("\n".join(_columns(outcome.export)), []).append(outcome)
    for columns, same in alike.items():
        more = f" and {len(same) - 1} more like it" if len(same) > 1 else ""
        lines += ["", f"## {_plain(same[0].offered.file_name)}{more}", "", columns]
        lines += _rejections(same)
    return "\n".join(lines)


def _columns(export: PreparedExport) -> list[str]:
    """What each heading became, as a table."""
    summary = export.summary()
    units = dict(summary.get("units", {}))
    lines = ["| heading | became | unit |", "|---|---|---|"]
    for heading, became in dict(summary.get("columns", {})).items():
        unit = units.get(heading, "")
        lines.append(f"| {_plain(heading)} | {became or 'kept aside'} | {_plain(unit)} |")
    return lines


def _rejections(outcomes: Sequence[Read]) -> list[str]:
    """How many rows were rejected, by reason."""
    counts: Counter[str] = Counter()
    for outcome in outcomes:
        counts.update(outcome.rejected["reason_code"].to_list())
    return [f"- {count} rows rejected: {code}" for code, count in sorted(counts.items())]


def _plain(text: str) -> str:
    """Text of an export inside Markdown: nothing in it may act as markup."""
    cleaned = text.replace("|", "/").replace("\n", " ")
    return cleaned.replace("<", "&lt;").replace("`", "'").replace("[", "(").replace("]", ")")
