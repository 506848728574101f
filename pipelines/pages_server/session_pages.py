"""Leaving a session out of the fits and taking it back; two names of one player made one."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rangeledger.pipelines.pages_server.replies.problems import PageError
from rangeledger.pipelines.pages_server.shared.site import Site, player_at
from starlette.concurrency import run_in_threadpool
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

if TYPE_CHECKING:
    from starlette.requests import Request

_KNOWN_SQL = "SELECT 1 FROM sessions WHERE player = $1 AND session_id = $2"
_DECISIONS = {
    "exclude": "The session is being left out",
    "include": "The session is being taken back",
}
# A reason fits a line.
_MOST_WHY = 200


def routes() -> list[Route]:
    """Addresses of decisions on sessions."""
    return [
        Route("/players/{word}/sessions", decide, methods=["POST"]),
        Route("/players/{word}/names", rename, methods=["POST"]),
    ]


async def decide(request: Request) -> Response:
    """Leave a session out, or take it back, and refit."""
    return await run_in_threadpool(_decided, request, await _form_fields(request))


async def rename(request: Request) -> Response:
    """Make two names one player, or part them again."""
    return await run_in_threadpool(_renamed, request, await _form_fields(request))


async def _form_fields(request: Request) -> dict[str, str]:
    form = await request.form()
    return {name: value for name, value in form.items() if isinstance(value, str)}


def _decided(request: Request, fields: dict[str, str]) -> Response:
    site: Site = request.app.state.site
    word, session, decision = (
        request.path_params["word"],
        fields.get("session"),
        fields.get("decision"),
    )
    back = f"/players/{word}/sessions"
    with site.publications.opened() as connection:
        player = player_at(connection, word, request)
        known = connection.execute(_KNOWN_SQL, [player, session]).fetchall()
    if not known or session is None or decision not in _DECISIONS:
        raise PageError(404, "There is no such session of this player.", (back, "To the sessions"))
    args = [decision, session]
    if decision == "exclude":
        why = " ".join(fields.get("why", "").split())[:_MOST_WHY]
        args.append(f"--why={why or 'left out on the pages'}")
    message = f"{_DECISIONS[decision]}, and the clubs are fitted anew."
    started = site.errands.start(args, message, back)
    return RedirectResponse(f"/errands/{started.number}", 303)


def _renamed(request: Request, fields: dict[str, str]) -> Response:
    site: Site = request.app.state.site
    word, name = request.path_params["word"], fields.get("name", "")
    back = f"/players/{word}/sessions"
    with site.publications.opened() as connection:
        player = player_at(connection, word, request)
    if not name.strip():
        raise PageError(400, "Choose the other name first.", (back, "To the sessions"))
    part = fields.get("do") == "part"
    args = ["rename", "--undo", "--", name] if part else ["rename", "--", name, player]
    message = f"{name} is parted again." if part else f"{name} is being made one with {player}."
    started = site.errands.start(args, message, back)
    return RedirectResponse(f"/errands/{started.number}", 303)
