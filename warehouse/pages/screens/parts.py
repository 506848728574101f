"""What a screen is made of: tables, drawings and sentences, and the rows that its twins give."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

import polars as pl
from markupsafe import Markup
from rangeledger.warehouse.pages.units import PageUnit

if TYPE_CHECKING:
    from duckdb import DuckDBPyConnection

Row = dict[str, Any]


@dataclass(frozen=True, slots=True)
class ScreenRequest:
    """What a reader asks of a screen.

    Parameters
    ----------
    connection : duckdb.DuckDBPyConnection
        Opened database.
    player : str
        Name as the database has it.
    unit : PageUnit
        Unit of lengths.
    query : mapping of str to sequence of str
        The filter, as it stands in the address.
    others : tuple of str
        Players that may be shown beside; none where one player's pages are shared.
    lessons : tuple of str
        Days of the player's lessons and other dates to compare by, as YYYY-MM-DD.
    """

    connection: DuckDBPyConnection
    player: str
    unit: PageUnit
    query: Mapping[str, Sequence[str]] = field(default_factory=dict)
    others: tuple[str, ...] = ()
    lessons: tuple[str, ...] = ()

    def one(self, name: str) -> str:
        """The last value of a word of the filter, empty where it is not there."""
        values = self.query.get(name, ())
        return values[-1] if values else ""

    def rows(self, sql: str, *more: Any) -> pl.DataFrame:
        """Rows of a query whose first parameter is the player."""
        return self.connection.execute(sql, [self.player, *more]).pl()


@dataclass(frozen=True, slots=True)
class Shown:
    """A column that people see.

    Parameters
    ----------
    heading : str
        Heading of the column.
    cell : callable
        Row -> what stands in the cell; text, or a drawing of our own.
    words : bool
        Whether it holds words, which stand at the left.
    to : callable or None
        Row -> address below the player's, where the cell leads somewhere.
    """

    heading: str
    cell: Callable[[Row], str | Markup]
    words: bool = False
    to: Callable[[Row], str] | None = None


@dataclass(frozen=True, slots=True)
class Table:
    """Rows for people, and the same rows for tools.

    Parameters
    ----------
    name : str
        Name in the twins.
    caption : str
        What the table shows, in which unit.
    columns : tuple of Shown
        What people see; the first names the row. None means that only tools get the rows.
    rows : polars.DataFrame
        As the database gives them, under the names of its views.
    soft : callable or None
        Row -> whether it rests on little.
    lines_of : polars.DataFrame or None
        The rows that people see, where tools get more of them.
    """

    name: str
    caption: str
    columns: tuple[Shown, ...]
    rows: pl.DataFrame
    soft: Callable[[Row], bool] | None = None
    lines_of: pl.DataFrame | None = None
    kind: str = "table"

    def lines(self) -> list[Row]:
        """The rows that people see, one after the other."""
        return (self.rows if self.lines_of is None else self.lines_of).to_dicts()


@dataclass(frozen=True, slots=True)
class Drawings:
    """Drawings side by side.

    Parameters
    ----------
    items : sequence of (str, markupsafe.Markup, str)
        Title, drawing and caption of each.
    about : str
        How to read them.
    wide : bool
        Whether each may take a line of its own.
    """

    items: Sequence[tuple[str, Markup, str]]
    about: str = ""
    wide: bool = False
    kind: str = "drawings"


@dataclass(frozen=True, slots=True)
class Words:
    """Sentences under a heading of their own."""

    title: str
    sentences: Sequence[str]
    listed: bool = False
    kind: str = "words"


@dataclass(frozen=True, slots=True)
class Screen:
    """One page of a player, or of all players.

    Parameters
    ----------
    title : str
        Its heading.
    lead : str
        One sentence below.
    parts : tuple
        Tables, drawings and sentences, in order.
    asks : mapping of str to Any
        What its form shows, if it has one.
    """

    title: str
    lead: str
    parts: tuple[Table | Drawings | Words, ...]
    asks: Mapping[str, Any] = field(default_factory=dict)

    def tables(self) -> list[Table]:
        """Its tables, those that only tools get included."""
        return [part for part in self.parts if isinstance(part, Table)]
