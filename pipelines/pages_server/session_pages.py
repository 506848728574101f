"""Sessions left out, moved to another player and merged, each taken back; names made one."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rangeledger.pipelines.output.pages import file_word
from rangeledger.pipelines.pages_server.replies.problems import PageError
from rangeledger.pipelines.pages_server.shared.site import Site, player_at, players_of
from starlette.concurrency import run_in_threadpool
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

if TYPE_CHECKING:
    from starlette.requests import Request

_OWN_SQL = "SELECT session_id FROM sessions WHERE player = $1"
# What may be done to a session, and what is told meanwhile.
_DECISIONS = {
    "exclude": "The session is being left out",
    "include": "The session is being taken back",
    "move": "The session is being moved to {to}",
    "move-back": "The session is being moved back",
    "merge": "The two sessions are being made one visit",
    "part": "The visits are being parted again",
}
# A reason fits a line, a name half of one.
_MOST_WHY, _MOST_NAME = 200, 100


def routes() -> list[Route]:
    """Addresses of decisions on sessions."""
    return [
        Route("/players/{word}/sessions", decide, methods=["POST"]),
        Route("/players/{word}/names", rename, methods=["POST"]),
    ]


async def decide(request: Request) -> Response:
    """Leave a session out, move it, merge it, or take that back, and refit."""
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
        fields.get("session", ""),
        fields.get("decision", ""),
    )
    back = f"/players/{word}/sessions"
    with site.publications.opened() as connection:
        player = player_at(connection, word, request)
        others = [name for name in players_of(connection).values() if name != player]
        own = {str(row[0]) for row in connection.execute(_OWN_SQL, [player]).fetchall()}
    if session not in own or decision not in _DECISIONS:
        raise PageError(404, "There is no such session of this player.", (back, "To the sessions"))
    if decision == "move":
        to = _target(fields, others, back)
        args = ["move", session, f"--to={to}", *([] if to in others else ["--new"])]
        message, back = _DECISIONS[decision].format(to=to), f"/players/{file_word(to)}/sessions"
    else:
        args, message = _words_of(decision, session, fields, own, back), _DECISIONS[decision]
        if decision == "move-back" and len(own) == 1:
            back = "/players"
    started = site.errands.start(args, f"{message}, and the clubs are fitted anew.", back)
    return RedirectResponse(f"/errands/{started.number}", 303)


def _target(fields: dict[str, str], others: list[str], back: str) -> str:
    """The player to whom a session goes: chosen, or a new one."""
    chosen, new = fields.get("to", ""), " ".join(fields.get("new", "").split())[:_MOST_NAME]
    alike = [name for name in others if name.casefold() == new.casefold()]
    to = (alike or [new])[0] if new else chosen
    if not to or not (new or chosen in others):
        sentence = "Choose the player whose session it is, or write the name of a new one."
        raise PageError(400, sentence, (back, "To the sessions"))
    return to


def _words_of(
    decision: str, session: str, fields: dict[str, str], own: set[str], back: str
) -> list[str]:
    """Words of the command that does it."""
    if decision == "exclude":
        why = " ".join(fields.get("why", "").split())[:_MOST_WHY]
        return ["exclude", session, f"--why={why or 'left out on the pages'}"]
    if decision == "include":
        return ["include", session]
    if decision == "merge":
        if fields.get("other") not in own:
            sentence = "Choose the other session of this player."
            raise PageError(400, sentence, (back, "To the sessions"))
        return ["merge", session, fields["other"]]
    return ["move" if decision == "move-back" else "merge", session, "--undo"]


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
