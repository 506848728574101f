"""A whole load, from identifying to publishing, with the flow engine's account of it.

Every step is one call of a plain function, so that a test or a library user needs no server.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

from rangeledger.pipelines.loading import load_order
from rangeledger.pipelines.loading.offered import Offered
from rangeledger.pipelines.loading.outcome import Outcome, Read
from rangeledger.pipelines.running import fitting
from rangeledger.pipelines.running.account import Account
from rangeledger.pipelines.running.exhaustion import watched
from rangeledger.warehouse import database
from rangeledger.warehouse.home import Home
from rangeledger.warehouse.lake import Batch
from rangeledger.warehouse.settings import Settings
from rangeledger.warehouse.stores.store import store_of

if TYPE_CHECKING:
    from rangeledger.pipelines.loading.readers import Readers
    from rangeledger.pipelines.reader.prepared_export import PreparedExport


def _publish(home: Home) -> None:
    store_of(home).publish()


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
    account = Account(home)
    account.begin()
    try:
        return _load(account, home, settings, offered, finish, on_done, readers)
    finally:
        account.end()


def _load(
    account: Account,
    home: Home,
    settings: Settings,
    offered: Sequence[Offered],
    finish: bool,
    on_done: Callable[[str], None] | None,
    readers: Readers | None,
) -> list[Outcome]:
    steps = load_order.PLAIN.wrapped(account.step)
    with database.open_ledger(home) as connection:
        with watched(home, offered):
            batch, outcomes = load_order.run_steps(
                steps, home, connection, settings, offered, on_done=on_done, readers=readers
            )
        if finish:
            account.step(fitting.fit_changed, "fit what changed")(home, connection, settings)
    if finish:
        account.step(_publish, "publish")(home)
    if batch is not None:
        account.artifact(f"Load {batch.name}", describe(batch, outcomes))
    return [outcome.released() for outcome in outcomes]


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
