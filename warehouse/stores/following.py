"""Which shared store a home follows, and how far: a small file in its lake."""

from __future__ import annotations

import json
import secrets
from dataclasses import asdict, dataclass, replace
from pathlib import Path

from rangeledger.schemas.errors import HomeError
from rangeledger.warehouse import lake
from rangeledger.warehouse.home import FOLLOWING, Home
from rangeledger.warehouse.system.durable_files import write_atomically


@dataclass(frozen=True, slots=True)
class Following:
    """What a home knows of the shared store that it follows.

    Attributes
    ----------
    store : str
        What tells the store from any other.
    home : str
        What tells this home from the others that follow it.
    snapshot : int
        The lake's snapshot up to which this home has everything.
    removal : int
        The last removal that was made here too.
    shown : bool
        Whether readers of the store saw everything at that snapshot.
    owes : int
        Number of this home's publication that the database in the bucket lacks; 0 for none.
    """

    store: str
    home: str
    snapshot: int = -1
    removal: int = 0
    shown: bool = False
    owes: int = 0


def _file(home: Home) -> Path:
    return home.lake / FOLLOWING


def read_following(home: Home) -> Following | None:
    """What a home knows of its store; None where it follows none."""
    try:
        return Following(**json.loads(_file(home).read_text(encoding="utf-8")))
    except FileNotFoundError:
        return None
    except (ValueError, TypeError) as error:
        raise HomeError(
            f"{_file(home)} is damaged. Remove it with the folders beside it; all that they hold "
            "is in the shared store and is brought again."
        ) from error


def write_following(home: Home, following: Following) -> None:
    """Note durably which store a home follows, and how far."""
    write_atomically(_file(home), json.dumps(asdict(following)))


def begin_following(home: Home, store: str) -> Following:
    """Let an empty home follow a store from now on; a home that follows it already goes on.

    Raises
    ------
    HomeError
        If the home has loads of its own, or follows another store.
    """
    found = read_following(home)
    if found is None:
        if lake.batch_numbers(home) or lake.read_decisions(home):
            raise HomeError(
                f"{home.root} has loads of its own. Move them into the shared store with "
                "'rangeledger store join', or take [store] out of its settings."
            )
        found = Following(store, secrets.token_hex(8))
        write_following(home, found)
    elif found.store != store:
        raise HomeError(
            f"{home.root} follows another shared store than its settings name. Put back the "
            "[store] of before, or take the home out first with 'rangeledger store leave'."
        )
    return found


def stop_following(home: Home) -> None:
    """Let a home keep its loads itself from now on."""
    _file(home).unlink(missing_ok=True)


def caught_up(following: Following, snapshot: int, removal: int, *, shown: bool) -> Following:
    """The same, after everything up to a snapshot was brought."""
    return replace(following, snapshot=snapshot, removal=removal, shown=shown)


def other_numbers(home: Home) -> str:
    """What to tell where a home has loads that its store lacks."""
    return (
        f"{home.root} knows other loads than the shared store, as after the store was restored "
        f"from an older backup. Set {home.lake} aside and run the command again: what the store "
        "has is brought anew. Then offer the originals in the archive again; what is missing is "
        "loaded."
    )
