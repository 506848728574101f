"""`rangeledger serve`."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer
from rangeledger.pipelines.commands.common import home_of
from rangeledger.pipelines.output.printing import to_stderr
from rangeledger.pipelines.service.log import LogFormat
from rangeledger.pipelines.service.serving import serve_database
from rangeledger.pipelines.service.token import find_token
from rangeledger.schemas.errors import UsageError
from rangeledger.warehouse.access_tokens import Access, token_hash
from rangeledger.warehouse.serving.limits import Limits
from rangeledger.warehouse.serving.server import Orders

_USUAL = Limits()


def serve(
    context: typer.Context,
    host: Annotated[str, typer.Option("--host", help="Address to listen on.")] = "localhost",
    port: Annotated[int, typer.Option("--port", min=1, max=65535, help="Port.")] = 9494,
    token_file: Annotated[
        Path | None,
        typer.Option("--token-file", help="File with the token; else $RANGELEDGER_TOKEN."),
    ] = None,
    certificate: Annotated[
        Path | None, typer.Option("--tls-certificate", help="Certificate (PEM); switches TLS on.")
    ] = None,
    key: Annotated[
        Path | None, typer.Option("--tls-key", help="Key of the certificate, where not in it.")
    ] = None,
    memory_mib: Annotated[
        int, typer.Option("--memory-mib", min=64, help="Most memory [MiB] of a statement.")
    ] = _USUAL.memory_mib,
    statement_limit_s: Annotated[
        float,
        typer.Option("--statement-limit-s", min=1.0, help="Longest [s] a statement may take."),
    ] = _USUAL.statement_s,
    statements: Annotated[
        int,
        typer.Option("--statements", min=1, max=64, help="Statements at a time; each a process."),
    ] = _USUAL.statements,
    result_rows: Annotated[
        int, typer.Option("--result-rows", min=1, help="Most rows of a result.")
    ] = _USUAL.result_rows,
    result_mib: Annotated[
        int, typer.Option("--result-mib", min=1, help="Most MiB of a result.")
    ] = _USUAL.result_mib,
    connections: Annotated[
        int, typer.Option("--connections", min=1, help="Most connections at a time.")
    ] = _USUAL.connections,
    quiet: Annotated[bool, typer.Option("--quiet", help="Log to logs/serve.log alone.")] = False,
    log_format: Annotated[
        LogFormat, typer.Option("--log-format", help="How the lines of the log are written.")
    ] = LogFormat.TEXT,
) -> None:
    """Answer SQL over the network with the published database, until it is stopped.

    Only queries that read pass: no file, no write, no setting. What is published later is seen
    by the next query. A statement that takes more than a limit is ended and told why; its
    connection and all others go on, and while others wait a long statement is ended sooner. What
    was asked, by whom, stands in logs/audit.log. The owner's token is in .state/serve.token;
    'rangeledger token' makes others, also for some players only.

    Without --tls-certificate the way is not encrypted: for other machines name one, or put a
    tunnel or a proxy with TLS before it. /health says whether it works, /metrics gives numbers to
    who shows the owner's token (Authorization: Bearer).

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
    if key is not None and certificate is None:
        raise UsageError("--tls-key needs --tls-certificate.")
    if host not in ("localhost", "127.0.0.1", "::1") and certificate is None:
        to_stderr().print(
            "Other machines can reach this, and neither token nor answers are encrypted on the "
            "way. Name a certificate with --tls-certificate, or put a tunnel or a proxy with TLS "
            "before it.",
            markup=False,
        )
    limits = Limits(
        statement_s=statement_limit_s, memory_mib=memory_mib, statements=statements,
        result_rows=result_rows, result_mib=result_mib, connections=connections,
        connections_a_token=max(connections // 2, 1),
    )  # fmt: skip
    owner = Access("owner", token_hash(token), None, "")
    orders = Orders(
        str(home.root), (), owner, _absolute(certificate), _absolute(key), limits
    )  # fmt: skip
    serve_database(home, orders, (host, port), where=where, quiet=quiet, log_format=log_format)


def _absolute(path: Path | None) -> str:
    return "" if path is None else str(path.expanduser().absolute())
