"""Leaving a session out of the fits and taking it back."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rangeledger.pipelines.pages_server.problems import PageError
from rangeledger.pipelines.pages_server.site import Site, player_at
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

if TYPE_CHECKING:
    from starlette.requests import Request

_KNOWN_SQL = "SELECT 1 FROM sessions WHERE player = $1 AND session_id = $2"
# A reason fits a line.
_MOST_WHY = 200


def routes() -> list[Route]:
    """Addresses of decisions on sessions."""
    return [Route("/players/{word}/sessions", decide, methods=["POST"])]


async def decide(request: Request) -> Response:
    """Leave a session out, or take it back, and refit."""
    site: Site = request.app.state.site
    word = request.path_params["word"]
    form = await request.form()
    session, decision = str(form.get("session", "")), str(form.get("decision", ""))
    why = " ".join(str(form.get("why", "")).split())[:_MOST_WHY]
    back = f"/players/{word}/sessions"
    with site.publications.opened() as connection:
        player = player_at(connection, word, request)
        known = connection.execute(_KNOWN_SQL, [player, session]).fetchall()
    if not known or decision not in ("exclude", "include"):
        raise PageError(404, "There is no such session of this player.", (back, "To the sessions"))
    words = [decision, session]
    if decision == "exclude":
        words.append(f"--why={why or 'left out on the pages'}")
    what = {
        "exclude": "The session is being left out",
        "include": "The session is being taken back",
    }
    started = site.errands.start(words, f"{what[decision]}, and the clubs are fitted anew.", back)
    return RedirectResponse(f"/errands/{started.number}", 303)
