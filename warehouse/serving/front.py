"""The front of the SQL server: who may ask, how much, and which worker answers.

It speaks with clients on one port for its whole life and hands each message to a worker on the
loopback address. A worker that has to be ended takes one statement with it: the client is told
why, and its connection goes on with another worker.
"""

from __future__ import annotations

import asyncio
import contextlib
import ssl
import time
from collections import Counter
from collections.abc import Awaitable, Callable

from rangeledger.warehouse.access_tokens import Access, access_of
from rangeledger.warehouse.metrics_text import metrics_text
from rangeledger.warehouse.serving import door, frames, turns
from rangeledger.warehouse.serving import limits as bounds
from rangeledger.warehouse.serving.door import Head, RefusedError
from rangeledger.warehouse.serving.frames import BadFrameError, Kind, Request
from rangeledger.warehouse.serving.limits import Limits
from rangeledger.warehouse.serving.pool import Pool
from rangeledger.warehouse.serving.sessions import Session, Sessions, Statement, audit_line
from rangeledger.warehouse.serving.workers import NoWorkerError, Worker

_CLOSED = "The connection is not known here any more; attach anew"
_NO_TOKEN = "Authentication failed: the token is not known here"
# As much of a message as tells its kind and its connection, with a number of ten bytes.
_HEADER_BYTES = 64


class Front:
    """Serves clients until it is cancelled.

    Parameters
    ----------
    pool : Pool
    limits : Limits
    tokens : callable
        Gives the tokens that are let in now.
    report : callable
        Takes what a person should know, by keyword.
    """

    def __init__(
        self,
        pool: Pool,
        limits: Limits,
        tokens: Callable[[], tuple[Access, ...]],
        report: Callable[..., None],
    ) -> None:
        self._pool, self._limits, self._tokens, self._report = pool, limits, tokens, report
        self._sessions = Sessions(limits)
        self._sockets = 0
        self.counts: Counter[str] = Counter()
        self._began = time.time()

    async def meet(self, reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        """Serve one socket until its client goes."""
        self._sockets += 1
        peer = str((writer.get_extra_info("peername") or ["?"])[0])
        try:
            if self._sockets > bounds.MOST_SOCKETS:
                self.counts["sockets_refused"] += 1
                return
            await self._requests(reader, writer, peer)
        except RefusedError as error:
            self.counts["requests_refused"] += 1
            self._report(problem=f"Refused a request of {peer}: {error}.")
            with contextlib.suppress(OSError, TimeoutError):
                body = f"{error}.\n".encode()
                await door.send(writer, body, status=error.status, kind="text/plain")
        except (OSError, EOFError, TimeoutError, ssl.SSLError):
            self.counts["clients_gone"] += 1
        except Exception as error:  # noqa: BLE001  one client's fault must not end the others
            self.counts["faults"] += 1
            self._report(problem=f"The front met a fault of its own over a request: {error!r:.200}")
        finally:
            self._sockets -= 1
            writer.close()

    async def _requests(
        self, reader: asyncio.StreamReader, writer: asyncio.StreamWriter, peer: str
    ) -> None:
        stays = True
        while stays and (head := await door.read_head(reader)) is not None:
            stays = head.stays
            if head.path != "/quack":
                await self._page(head, writer, peer)
                return
            if head.method != "POST":
                raise RefusedError(405, "Only POST is answered here")
            request, session = await self._read(head, reader, peer)
            answer = await _unless_disconnected(self._answer(request, session, peer), reader)
            await door.send(writer, answer, stays=stays)

    async def _read(
        self, head: Head, reader: asyncio.StreamReader, peer: str
    ) -> tuple[Request, Session | None]:
        """The message of a request; only of known connections more than a little is read."""
        length = head.length
        first = await door.read_part(reader, min(length, _HEADER_BYTES))
        try:
            kind, connection, _ = frames.read_header(first)
            session = self._sessions.find(connection) if kind is not Kind.CONNECT else None
            most = bounds.MOST_CONNECT_BYTES if session is None else bounds.MOST_STATEMENT_BYTES
            if length > most:
                raise RefusedError(413, f"A message of {length} bytes is more than {most}")
            rest = await door.read_part(reader, length - len(first))
            return frames.read_request(first + rest), session
        except BadFrameError as error:
            raise RefusedError(400, f"A message of {peer} is refused: {error}") from error

    async def _answer(self, request: Request, session: Session | None, peer: str) -> bytes:
        try:
            if request.kind is Kind.CONNECT:
                return await self._connect(request, peer)
            if session is None:
                return frames.error(_CLOSED)
            if request.kind is Kind.DISCONNECT:
                self._close(session)
                return frames.done()
            if request.kind is Kind.QUERY:
                return await self._query(request, session)
            return await self._fetch(request, session)
        except NoWorkerError as error:
            return frames.error(str(error))

    async def _connect(self, request: Request, peer: str) -> bytes:
        access = access_of(self._tokens(), request.text)
        if access is None:
            self.counts["wrong_tokens"] += 1
            self._report(problem=f"A wrong token was shown by {peer}.")
            await asyncio.sleep(bounds.WRONG_TOKEN_S)
            return frames.error(_NO_TOKEN)
        session = self._sessions.open(access, peer, request)
        if session is None:
            for resting in self._sessions.resting(crowded=True):
                self._close(resting)
            session = self._sessions.open(access, peer, request)
        if session is None:
            self.counts["connections_refused"] += 1
            self._report(problem=f"Too many connections: one with token {access.name} is refused.")
            return frames.error("There are too many connections; close some, or try again later")
        try:
            answer = await self._enter(session, await self._pool.lease(session.holder))
        except BaseException:
            self._close(session)
            raise
        if frames.is_error(answer):
            self._close(session)
            return answer
        self._report(note=f"{access.name} connected from {peer}")
        return frames.renamed(answer, session.connection)

    async def _enter(self, session: Session, worker: Worker) -> bytes:
        """Connect a session to a worker that it has been given."""
        connect = session.connect.with_text(worker.token)
        answer = await self._of_worker(session, worker, connect)
        worker.inner = frames.connected_as(answer)
        if not worker.inner and not frames.is_error(answer):
            self._pool.end(worker, "The database did not answer as it should")
            return frames.error(worker.cause)
        return answer

    async def _query(self, request: Request, session: Session) -> bytes:
        self._finish(session, "left")
        session.why_over = ""
        worker = session.holder.worker
        statement = session.statement = Statement(request.text)
        asks_at_once = worker is not None and (worker.pending or worker.is_given)
        if worker is None or not asks_at_once:
            if worker is not None:
                worker.has_more = False  # what it left unread of the last result is given up
            worker = await self._pool.lease(session.holder)
            if not worker.inner:
                answer = await self._enter(session, worker)
                if frames.is_error(answer):
                    return self._note(session, statement, answer)
                worker.begin()
            statement.waited_s = time.monotonic() - statement.began
        answer = await self._of_worker(session, worker, request.for_connection(worker.inner))
        return self._note(session, statement, answer)

    async def _fetch(self, request: Request, session: Session) -> bytes:
        worker, statement = session.holder.worker, session.statement
        if worker is None or worker.cause or session.why_over or statement is None:
            return frames.error(session.why_over or "The result was not kept; ask again")
        answer = await self._of_worker(session, worker, request.for_connection(worker.inner))
        return self._note(session, statement, answer)

    async def _of_worker(self, session: Session, worker: Worker, message: bytes) -> bytes:
        """What a worker answers; an error with the cause where it was ended over it."""
        began = time.monotonic()
        if not worker.pending:
            worker.busy_since = began
        worker.pending += 1
        worker.is_given = False
        try:
            return await door.forward(worker.port, message, bounds.MOST_PART_BYTES)
        except (OSError, EOFError):
            await self._learn_cause(worker)
            session.why_over = worker.cause or "The database ended while it computed this"
            return frames.error(session.why_over)
        except OverflowError:
            self._pool.end(worker, bounds.too_wide())
            session.why_over = worker.cause
            return frames.error(worker.cause)
        except asyncio.CancelledError:
            self._pool.end(worker, "The client went away")
            if session.statement is not None:
                self._finish(session, "left")
            raise
        finally:
            worker.pending -= 1
            worker.last_used = time.monotonic()
            if not worker.pending:
                worker.spent_s += worker.last_used - worker.busy_since
            if session.statement is not None:
                session.statement.seconds += time.monotonic() - began

    async def _learn_cause(self, worker: Worker) -> None:
        """Wait a moment for word of how a worker ended."""
        for _ in range(20):
            if worker.cause:
                return
            await asyncio.sleep(0.05)
        self._pool.end(worker, "The database did not answer any more")

    def _note(self, session: Session, statement: Statement, answer: bytes) -> bytes:
        """Count what an answer carries; an answer too many ends the result."""
        worker = session.holder.worker
        if frames.is_error(answer):
            if worker is not None:
                worker.has_more = False
            self._failed(session, statement, answer)
            return answer
        statement.rows += frames.rows_in(answer)
        statement.size += len(answer)
        if worker is not None:  # several parts may be under way when the last one is known
            known = answer[2] == Kind.FETCHED
            worker.has_more = frames.has_more(answer) and (worker.has_more or not known)
        most = self._limits.result_mib * 2**20
        if statement.rows > self._limits.result_rows or statement.size > most:
            session.why_over = bounds.too_large(self._limits)
            self._pool.release(session.holder)
            self._finish(session, "ended")
            self._report(problem=f"{session.why_over}: {_short(statement.text)}")
            return frames.error(session.why_over)
        if worker is None or not (worker.has_more or worker.pending):
            if worker is not None and not worker.is_slowed and worker.measure() < turns.LONG_S:
                session.holder.quick += 1
                session.holder.ended = max(session.holder.ended - 1, 0)
            self._finish(session, "answered")
        return answer

    def _failed(self, session: Session, statement: Statement, answer: bytes) -> None:
        refused = "Only one statement that reads is answered here" in frames.error_text(answer)
        outcome = "ended" if session.why_over else "refused" if refused else "failed"
        if statement.outcome:
            return
        self._finish(session, outcome)
        if outcome == "ended":
            self._report(problem=f"{session.why_over}: {_short(statement.text)}")

    def _finish(self, session: Session, outcome: str) -> None:
        """Write the audit line of a session's statement, if it has one that is not done."""
        statement = session.statement
        if statement is None or statement.outcome:
            return
        statement.outcome = outcome
        self.counts[f"statements_{outcome}"] += 1
        self._report(audit=audit_line(session, statement))

    def _close(self, session: Session) -> None:
        self._finish(session, "left")
        self._sessions.close(session)
        self._pool.release(session.holder)

    def supervise(self) -> None:
        """Close what rests too long or has lost its token; call it now and then."""
        for session in self._sessions.resting(crowded=False):
            self._close(session)
        names = {one.name: one.token_hash for one in self._tokens()}
        for session in self._sessions.withdrawn(names):
            self._report(
                note=f"the token {session.access.name} is withdrawn; its connection closes"
            )
            self._close(session)

    async def _page(self, head: Head, writer: asyncio.StreamWriter, peer: str) -> None:
        """The pages for monitors: whether it works, and numbers for who has a token."""
        if head.method not in ("GET", "HEAD"):
            raise RefusedError(404, "There is no such page")
        if head.path == "/health":
            await door.send(writer, b'{"status": "ok"}\n', kind="application/json")
            return
        if head.path != "/metrics":
            raise RefusedError(404, "There is no such page")
        access = access_of(self._tokens(), head.bearer)
        if access is None or access.players is not None:
            self.counts["wrong_tokens"] += 1
            await asyncio.sleep(bounds.WRONG_TOKEN_S)
            raise RefusedError(401, "A token for all players is needed: Authorization: Bearer ...")
        self._report(metrics_asked=peer)
        text = metrics_text("rangeledger_serve", self.numbers())
        await door.send(writer, text.encode(), kind="text/plain; version=0.0.4; charset=utf-8")

    def numbers(self) -> dict[str, float]:
        """What a monitor wants to know."""
        numbers = {
            "connections": len(self._sessions), "connections_opened_total": self._sessions.opened,
            "sockets": self._sockets, "running_seconds": time.time() - self._began,
        }  # fmt: skip
        kinds = ("answered", "refused", "failed", "ended", "left")
        numbers |= {f"statements_{kind}_total": self.counts[f"statements_{kind}"] for kind in kinds}
        totals = (
            "wrong_tokens", "requests_refused", "connections_refused", "sockets_refused", "faults",
        )  # fmt: skip
        return (
            numbers | {f"{name}_total": self.counts[name] for name in totals} | self._pool.numbers()
        )


async def _unless_disconnected(answer: Awaitable[bytes], reader: asyncio.StreamReader) -> bytes:
    """An answer, unless the client goes before it is there.

    Raises
    ------
    EOFError
        If it has gone.
    """
    working = asyncio.ensure_future(answer)
    going = asyncio.ensure_future(_disconnected(reader))
    try:
        await asyncio.wait({working, going}, return_when=asyncio.FIRST_COMPLETED)
        if not working.done():
            working.cancel()
            with contextlib.suppress(asyncio.CancelledError):
                await working
            raise EOFError("the client has gone")
        return working.result()
    finally:
        going.cancel()
        if not working.done():
            working.cancel()


async def _disconnected(reader: asyncio.StreamReader) -> None:
    """Wait until a client closes its side."""
    while not reader.at_eof():  # what it sends meanwhile waits in the reader's buffer
        await asyncio.sleep(0.25)


def _short(text: str) -> str:
    return " ".join(text.split())[:120]
