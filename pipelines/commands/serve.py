"""`rangeledger serve`."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer
from rangeledger.pipelines.commands.common import home_of
from rangeledger.pipelines.output.printing import to_stderr
from rangeledger.pipelines.service.serving import serve_database
from rangeledger.pipelines.service.token import find_token
from rangeledger.warehouse.sql_server import Orders


def serve(
    context: typer.Context,
    host: Annotated[str, typer.Option("--host", help="Address to listen on.")] = "localhost",
    port: Annotated[int, typer.Option("--port", min=1, max=65535, help="Port.")] = 9494,
    token_file: Annotated[
        Path | None,
        typer.Option("--token-file", help="File with the token; else $RANGELEDGER_TOKEN."),
    ] = None,
    memory_mib: Annotated[
        int, typer.Option("--memory-mib", min=64, help="Most memory [MiB] that queries may use.")
    ] = 1024,
    statement_limit_s: Annotated[
        float, typer.Option("--statement-limit-s", min=1.0, help="Longest a statement may compute.")
    ] = 30.0,
    quiet: Annotated[bool, typer.Option("--quiet", help="Log to logs/serve.log alone.")] = False,
) -> None:
    """Answer SQL over the network with the published database, until it is stopped.

    Only queries that read pass: no file, no write, no setting. What is published later is seen
    by the next query. A statement that computes longer than the limit is ended, and with it all
    connections; clients connect anew. The way is not encrypted: for other machines put a tunnel
    or a proxy with TLS before it.

    In a DuckDB of version 1.5.5 on the other side:

    \b
    INSTALL quack; LOAD quack;
    CREATE SECRET (TYPE quack, TOKEN 'the token');
    ATTACH 'quack:localhost:9494' AS academy;
    FROM academy.carry_by_club;
    FROM quack_query_by_name('academy', 'FROM carry_in(''Ada Brook'', ''driver'')');

    The second way sends a whole query: joins of two views, and macros, need it.

    Example:

    \b
    rangeledger serve --port 9494
    """
    home = home_of(context)
    token, where = find_token(home, token_file)
    if host not in ("localhost", "127.0.0.1", "::1"):
        to_stderr().print(
            "Other machines can reach this, and neither token nor answers are encrypted on the "
            "way. Put a tunnel or a proxy with TLS before it.",
            markup=False,
        )
    orders = Orders(str(home.root), host, port, token, memory_mib, statement_limit_s)
    serve_database(home, orders, where=where, quiet=quiet)
