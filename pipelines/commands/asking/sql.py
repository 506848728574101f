"""`rangeledger sql`."""

from __future__ import annotations

import sys
from typing import Annotated

import typer
from rangeledger.pipelines.commands.common import (
    FormatOption,
    SpreadsheetOption,
    for_spreadsheets,
)
from rangeledger.pipelines.output.printing import Format, print_message, print_rows
from rangeledger.schemas.errors import UsageError
from rangeledger.warehouse.asking import query
from rangeledger.warehouse.home import find_home

_NOTHING = (
    "No row answers that. Players and clubs are written out in SQL, as in "
    "'SELECT DISTINCT player, club FROM carry_by_club'."
)


def sql(
    context: typer.Context,
    text: Annotated[
        str, typer.Argument(metavar="QUERY", help="One query; '-' reads it from standard input.")
    ],
    form: FormatOption = Format.TABLE,
    for_spreadsheet: SpreadsheetOption = False,
) -> None:
    """Ask the published database; nothing can be changed this way.

    The view data_dictionary lists every column with its meaning and unit.

    Example:

    \b
    rangeledger sql "SELECT player, club, carry_yd, carry_sd_yd FROM carry_by_club"
    """
    statement = sys.stdin.read() if text == "-" else text
    if not statement.strip():
        raise UsageError("The query is empty. Write one such as 'SELECT * FROM carry_by_club'.")
    rows = query(find_home(context.obj), statement)
    print_rows(for_spreadsheets(rows, form, requested=for_spreadsheet), form)
    if rows.is_empty() and form is Format.TABLE:
        print_message(_NOTHING)
