"""What every request passes before a page sees it: its host, its origin, its size, its pace."""

from __future__ import annotations

import asyncio
import ipaddress
from collections.abc import Mapping
from dataclasses import dataclass
from urllib.parse import urlsplit

from rangeledger.pipelines.pages_server.replies.problems import HEADERS, problem_page
from starlette.datastructures import Headers, MutableHeaders
from starlette.types import ASGIApp, Message, Receive, Scope, Send

_READING, _WRITING = ("GET", "HEAD"), ("POST",)
# A body may pause so long [s] before the connection is given up: a phone on a weak network needs
# some seconds, a body that never ends must not hold a place for ever.
_LONGEST_PAUSE_S = 20.0


@dataclass(frozen=True, slots=True)
class Doors:
    """What is let in.

    Parameters
    ----------
    hosts : frozenset of str
        Names and addresses by which the pages may be called, in lower case, without port.
    private_only : bool
        Whether only this machine and private networks may call.
    upload_bytes : int
        Longest body of an upload; other bodies are far smaller.
    """

    hosts: frozenset[str]
    private_only: bool = True
    upload_bytes: int = 256 << 20

    # A form of ours holds a few hundred short fields at most.
    form_bytes: int = 1 << 20


class Guard:
    """Refuses what no browser of ours sends, and marks every answer as ours alone.

    Parameters
    ----------
    app : ASGI application
    doors : Doors
    uploads : str
        Address that takes uploads.
    """

    def __init__(self, app: ASGIApp, doors: Doors, uploads: str) -> None:
        self._app, self._doors, self._uploads = app, doors, uploads

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Let a request pass, or answer it."""
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return
        headers = Headers(scope=scope)
        marked = _marking(send)
        refusal = self._refusal(scope, headers)
        if refusal is not None:
            await problem_page(*refusal)(scope, receive, marked)
            return
        most = self._most_bytes(scope)
        await self._app(scope, _bounded(receive, most), marked)

    def _most_bytes(self, scope: Scope) -> int:
        is_upload = scope["path"] == self._uploads
        return self._doors.upload_bytes if is_upload else self._doors.form_bytes

    def _refusal(self, scope: Scope, headers: Headers) -> tuple[int, str] | None:
        """Status and sentence for a request that is not let in."""
        host = headers.get("host", "")
        if _name_of(host) not in self._doors.hosts:
            return 400, (
                "These pages are not known by that name. Use the address that 'rangeledger pages' "
                "printed, or name this one with --host-name."
            )
        if self._doors.private_only and not _is_private(scope):
            return 403, "These pages are for this machine and its own network."
        if scope["method"] not in (*_READING, *_WRITING):
            return 405, "These pages are only read, and written by their own forms."
        if scope["method"] in _WRITING and not _is_own(headers, host):
            return 403, (
                "That form came from another site, so nothing was done. Open these pages "
                "themselves and send it from there."
            )
        if _length(headers) > self._most_bytes(scope):
            return 413, (
                f"That is more than {self._most_bytes(scope) >> 20} MiB. Put a file so large into "
                "the home's inbox folder, or start the pages with a larger --upload-mib."
            )
        return None


def _name_of(host: str) -> str:
    """A Host header without its port, in lower case; empty where it is none."""
    try:
        return (urlsplit(f"//{host}").hostname or "").lower()
    except ValueError:
        return ""


def _is_private(scope: Scope) -> bool:
    try:
        address = ipaddress.ip_address((scope.get("client") or ("",))[0])
    except ValueError:
        return False
    mapped = getattr(address, "ipv4_mapped", None) or address
    return bool(mapped.is_private or mapped.is_loopback)


def _is_own(headers: Mapping[str, str], host: str) -> bool:
    """Whether a form was sent by a page of ours; browsers say one of the two at least."""
    origin, fetched = headers.get("origin"), headers.get("sec-fetch-site")
    if origin is None and fetched is None:
        return False
    if fetched not in (None, "same-origin"):
        return False
    return origin is None or urlsplit(origin).netloc.lower() == host.lower()


def _length(headers: Mapping[str, str]) -> int:
    length = headers.get("content-length", "0")
    return int(length) if length.isdecimal() else 0


class BodyTooLargeError(Exception):
    """A body that went on after its limit, or stood still too long."""


def _bounded(receive: Receive, most: int) -> Receive:
    """Take so many bytes at most, and none that keep one waiting for ever."""
    received = 0
    ended = False

    async def receive_limited() -> Message:
        nonlocal received, ended
        if ended:  # the rest is only the news that the browser has gone
            return await receive()
        try:
            message = await asyncio.wait_for(receive(), _LONGEST_PAUSE_S)
        except TimeoutError:
            raise BodyTooLargeError from None
        if message["type"] == "http.request":
            received += len(message.get("body", b""))
            ended = not message.get("more_body", False)
            if received > most:
                raise BodyTooLargeError
        return message

    return receive_limited


def _marking(send: Send) -> Send:
    async def marked(message: Message) -> None:
        if message["type"] == "http.response.start":
            headers = MutableHeaders(scope=message)
            for name, value in HEADERS.items():
                headers.setdefault(name, value)
            headers.setdefault("cache-control", "no-store")
        await send(message)

    return marked
