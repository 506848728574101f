"""`rangeledger pages`."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer
from rangeledger.pipelines.commands.common import home_of


def pages(
    context: typer.Context,
    host: Annotated[str, typer.Option("--host", help="Address to listen on.")] = "127.0.0.1",
    port: Annotated[int, typer.Option("--port", min=1, max=65535, help="Port.")] = 8642,
    lan: Annotated[
        bool, typer.Option("--lan", help="Let devices of the range's own network in.")
    ] = False,
    tls_certificate: Annotated[
        Path | None, typer.Option("--tls-certificate", help="File of a certificate, for https.")
    ] = None,
    tls_key: Annotated[Path | None, typer.Option("--tls-key", help="File of its key.")] = None,
    host_name: Annotated[
        list[str] | None,
        typer.Option("--host-name", help="Another name by which browsers call it; repeatable."),
    ] = None,
    upload_mib: Annotated[
        int, typer.Option("--upload-mib", min=1, help="Largest upload [MiB].")
    ] = 256,
    watch: Annotated[
        bool, typer.Option("--watch/--no-watch", help="Watch the inbox where nobody does.")
    ] = True,
) -> None:
    """Show the coach's pages in a browser, until it is stopped.

    Prints an address with a key that opens once; run it again for another key. Exports are
    dropped there, fixed, seen, printed and shared. Only this machine can call unless --lan,
    or --host with certificate files, lets others in.

    Example:

    \b
    rangeledger pages --port 8642
    """
    from rangeledger.pipelines.pages_server.serving import ServerOptions, serve_pages

    options = ServerOptions(
        host, port, lan, tls_certificate, tls_key, tuple(host_name or ()), upload_mib, watch
    )
    serve_pages(home_of(context), options, lambda line: typer.echo(line))
