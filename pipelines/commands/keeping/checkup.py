"""`rangeledger checkup`."""

from __future__ import annotations

from typing import Annotated

import polars as pl
import typer
from rangeledger.pipelines.commands.common import FormatOption
from rangeledger.pipelines.output.printing import READABLE, Format, print_rows
from rangeledger.pipelines.service.soundness import check_up
from rangeledger.schemas.errors import NoHomeError
from rangeledger.warehouse.home import find_home, refuse_file


def checkup(
    context: typer.Context,
    form: FormatOption = Format.TABLE,
    everything: Annotated[
        bool, typer.Option("--all", help="Read the whole lake and the published database too.")
    ] = False,
) -> None:
    """Look whether the home is sound, and say what to do where it is not; changes nothing.

    Every archived original is read and compared with its hash, so a large home takes a while. Of
    the lake sizes and ends of files are compared with what their loads noted; --all compares every
    byte. A damaged file is named, and 'rangeledger heal' makes it anew.

    Exit status: 0 all is well, 2 there is no home, 3 something is to do.

    Example:

    \b
    rangeledger checkup
    """
    home = find_home(context.obj)
    refuse_file(home)
    if not home.version_file.exists():
        raise NoHomeError(f"{home.root} is no home yet. Run 'rangeledger ingest' or 'demo' first.")
    findings = check_up(home, everything=everything)
    rows = [(f.looked_at, "ok" if f.ok else "problem", f.found, f.to_do) for f in findings]
    names = ["looked_at", "state", "found", "to_do"]
    print_rows(pl.DataFrame(rows, schema=names, orient="row"), form, wide=READABLE)
    raise typer.Exit(0 if all(f.ok for f in findings) else 3)
