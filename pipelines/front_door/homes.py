"""Homes opened, filled and asked, without the flow engine."""

from __future__ import annotations

from os import PathLike
from pathlib import Path

import polars as pl
from rangeledger.pipelines.loading import inbox
from rangeledger.pipelines.running import ledger
from rangeledger.warehouse import database, opening
from rangeledger.warehouse.home import Home, find_home

_OUTCOMES = pl.Schema(
    {
        "file_name": pl.String(),
        "state": pl.String(),
        "reason": pl.String(),
        "shots": pl.Int64(),
        "rejected": pl.Int64(),
    }
)


def open_home(path: str | PathLike[str] | None = None) -> Home:
    """Open a home folder; what is missing of it is made, an older one is brought up.

    Parameters
    ----------
    path : path, optional
        By default what `RANGELEDGER_HOME` names, else `~/rangeledger`.

    Returns
    -------
    Home
        Its folders: `home.inbox`, `home.quarantine`, `home.lake`, …

    Raises
    ------
    RangeledgerError
        If it can't be used; the message says why and what to do.

    Examples
    --------
    >>> import rangeledger as rl
    >>> home = rl.open_home(folder)
    >>> home.lake.is_dir()
    True
    """
    return opening.open_home(find_home(Path(path) if path is not None else None))


def load_exports(home: Home, *paths: str | PathLike[str]) -> pl.DataFrame:
    """Load exports into a home, fit and publish; without paths what lies in its inbox.

    Parameters
    ----------
    home : Home
        As `open_home` gives it.
    paths : path
        Files and folders; they are copied and left where they are.

    Returns
    -------
    polars.DataFrame
        A row an export: `file_name`, `state`, `reason`, `shots`, `rejected`.

    Raises
    ------
    RangeledgerError
        If the home can't be written. A refused export is a row with state `quarantined`.

    Examples
    --------
    >>> import rangeledger as rl
    >>> from rangeledger.sample_exports import sample_folder
    >>> home = rl.open_home(folder)
    >>> rl.load_exports(home, sample_folder() / "mountain-range.csv").rows()
    [('mountain-range.csv', 'loaded', '', 58, 0)]
    """
    offered, passed_over = inbox.offer_paths(home, [Path(path) for path in paths])
    outcomes = ledger.load_plainly(home, offered) if offered else []
    ledger.complete(home)
    rows = [
        (o.offered.file_name, o.state.value if o.state else "left", o.reason, o.shot_count,
         o.rejected_count)
        for o in outcomes
    ]  # fmt: skip
    rows += [(path.name, "left", why, 0, 0) for path, why in passed_over.items()]
    return pl.DataFrame(rows, schema=_OUTCOMES, orient="row")


def ask(home: Home, sql: str) -> pl.DataFrame:
    """Answer an SQL query from a home's published database, read-only.

    Parameters
    ----------
    home : Home
        As `open_home` gives it.
    sql : str
        One statement that reads; the view `data_dictionary` explains every column.

    Returns
    -------
    polars.DataFrame
        The rows; `.to_pandas()` and `.to_arrow()` turn them into other frames.

    Raises
    ------
    QueryError
        If the database refuses the query.
    NothingPublishedError
        If nothing was loaded yet.

    Examples
    --------
    >>> import rangeledger as rl
    >>> from rangeledger.sample_exports import sample_folder
    >>> home = rl.open_home(folder)
    >>> _ = rl.load_exports(home, sample_folder() / "mountain-range.csv")
    >>> rl.ask(home, "SELECT club, shots FROM carry_by_club WHERE club = '7-iron'").rows()
    [('7-iron', 8)]
    """
    return database.query(home, sql)
