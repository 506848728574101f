"""What the commands share: the home they work on and the option for formats."""

from __future__ import annotations

from typing import Annotated

import typer

from pipelines.printing import Format
from warehouse.home import Home, find_home, open_home

FormatOption = Annotated[
    Format, typer.Option("--format", help="How rows are printed on standard output.")
]


def home_of(context: typer.Context) -> Home:
    """Home named before the command, else by the environment, else the default; opened."""
    return open_home(find_home(context.obj))
