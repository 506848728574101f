"""`rangeledger store`."""

from __future__ import annotations

from enum import StrEnum
from typing import Annotated

import typer
from rangeledger.pipelines.commands.common import home_of
from rangeledger.pipelines.running import ledger
from rangeledger.schemas.errors import UsageError
from rangeledger.warehouse.home import Home
from rangeledger.warehouse.stores import moving
from rangeledger.warehouse.stores.steward import fetch_published, steward_of
from rangeledger.warehouse.stores.tidying import KEEP_HOURS


class Action(StrEnum):
    """What is to be done with a shared store."""

    SHOW = "show"
    JOIN = "join"
    LEAVE = "leave"
    TIDY = "tidy"
    LET_READ = "let-read"
    UPGRADE = "upgrade"
    FETCH = "fetch"


def store(
    context: typer.Context,
    action: Annotated[Action, typer.Argument(help="What to do.")] = Action.SHOW,
    role: Annotated[
        str | None, typer.Argument(help="For let-read: a role of the catalog's database.")
    ] = None,
    keep_hours: Annotated[
        float, typer.Option(min=0.0, help="For tidy: how long former versions of files stay [h].")
    ] = KEEP_HOURS,
) -> None:
    """Share one store with other homes: loads of all are in each, and counted once.

    The settings name it under [store]. show tells who follows it; join moves this home's loads into
    it, leave brings all of it back into the home alone; tidy merges small files and removes what
    nobody needs (once a day, in one place); let-read gives a role of the database the right to
    read; upgrade makes its views anew for a new version; fetch copies the published database from
    the bucket, for a home that only reads.

    Example:

    \b
    rangeledger store join
    rangeledger store tidy
    """
    home = home_of(context)
    if action is Action.JOIN:
        counts = moving.join(home)
        ledger.complete(home)
        typer.echo(f"Moved into the shared store: {_counts_text(counts)}.")
    elif action is Action.LEAVE:
        counts = moving.leave(home)
        ledger.complete(home)
        typer.echo(f"Out of the shared store, with all that it has: {_counts_text(counts)}.")
    elif action is Action.FETCH:
        fetch_published(home)
        typer.echo(f"Fetched: {home.database}")
    else:
        _in_place(home, action, role, keep_hours)


def _in_place(home: Home, action: Action, role: str | None, keep_hours: float) -> None:
    with steward_of(home) as shared:
        if action is Action.TIDY:
            tidied = shared.tidy(keep_hours)
            typer.echo(
                f"{tidied.files_before} files became {tidied.files_after}; "
                f"{tidied.snapshots_expired} former versions expired, "
                f"{tidied.files_removed} files removed."
            )
        elif action is Action.LET_READ:
            if role is None:
                raise UsageError("Name the role: rangeledger store let-read ROLE")
            shared.grant_reading(role)
            typer.echo(f"{role} may read {shared.settings.academy}.")
        elif action is Action.UPGRADE:
            shared.upgrade()
            typer.echo("The store's views are of this version; run 'rangeledger fit'.")
        else:
            for name, is_done in shared.homes():
                behind = "" if is_done else ", has not yet removed all that was forgotten"
                typer.echo(f"{name}{behind}")


def _counts_text(counts: dict[str, int]) -> str:
    return ", ".join(f"{count} {kind}" for kind, count in counts.items())
