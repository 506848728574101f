"""`rangeledger watch`."""

from __future__ import annotations

from typing import Annotated

import typer
from rangeledger.pipelines.commands.common import home_of
from rangeledger.pipelines.service.log import LogFormat
from rangeledger.pipelines.service.service import SETTLE_S, Rhythm
from rangeledger.pipelines.service.watching import watch_inbox


def watch(
    context: typer.Context,
    settle_s: Annotated[
        float,
        typer.Option("--settle-s", min=0.0, max=3600.0, help="Seconds an export must rest."),
    ] = SETTLE_S,
    rescan_s: Annotated[
        float,
        typer.Option("--rescan-s", min=0.2, max=3600.0, help="Seconds between looks unasked."),
    ] = 15.0,
    engine_port: Annotated[
        int | None,
        typer.Option("--engine-port", min=1, max=65535, help="Port of Prefect's server."),
    ] = None,
    engine_pages: Annotated[
        bool, typer.Option("--engine-pages", help="Serve Prefect's own pages on that port.")
    ] = False,
    quiet: Annotated[bool, typer.Option("--quiet", help="Log to logs/service.log alone.")] = False,
    log_format: Annotated[
        LogFormat, typer.Option("--log-format", help="How the lines of the log are written.")
    ] = LogFormat.TEXT,
    health_port: Annotated[
        int | None,
        typer.Option(
            "--health-port",
            min=1,
            max=65535,
            help="Port of the loopback address for /health and /metrics.",
        ),
    ] = None,
) -> None:
    """Watch the inbox and load what is dropped, until it is stopped (Ctrl-C or SIGTERM).

    An export is taken when it has not changed for --settle-s seconds and no program has it open;
    one whose last line has no end, or that can't be read yet, when it has rested for 6 s. One that
    goes on growing is read again. A note dropped within --settle-s still counts. What was dropped
    while nobody watched is loaded at the start. With --health-port a monitor asks
    http://127.0.0.1:PORT/health (status 503 while something keeps it from its work) and /metrics
    (Prometheus' text format).

    Example:

    \b
    rangeledger watch --settle-s 2
    """
    watch_inbox(
        home_of(context),
        Rhythm(settle_s, rescan_s),
        engine_port=engine_port,
        engine_pages=engine_pages,
        quiet=quiet,
        log_format=log_format,
        health_port=health_port,
    )
