"""The application: addresses, who may ask them, and what is answered when something is wrong."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rangeledger.pipelines.faults import fault_log, keep_fault
from rangeledger.pipelines.pages_server import (
    inbox_pages,
    login_pages,
    player_pages,
    print_pages,
    session_pages,
    share_pages,
)
from rangeledger.pipelines.pages_server.access.guard import BodyTooLargeError, Doors, Guard
from rangeledger.pipelines.pages_server.access.rights import Visitor, visitor_of
from rangeledger.pipelines.pages_server.fixing import fix_pages
from rangeledger.pipelines.pages_server.holes import hole_pages
from rangeledger.pipelines.pages_server.replies.problems import PageError, problem_page
from rangeledger.pipelines.pages_server.shared.site import STATIC, Site
from rangeledger.schemas.errors import (
    NothingPublishedError,
    OtherVersionError,
    RangeledgerError,
    UsageError,
)
from starlette.applications import Starlette
from starlette.exceptions import HTTPException
from starlette.middleware import Middleware
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Mount, Route
from starlette.staticfiles import StaticFiles

if TYPE_CHECKING:
    from starlette.types import ASGIApp, Receive, Scope, Send

# Addresses that need no login.
_OPEN = (login_pages.ENTER, "/static/", share_pages.SHARED)


def make_app(site: Site, doors: Doors) -> Starlette:
    """The pages of a home as an ASGI application.

    Parameters
    ----------
    site : Site
    doors : Doors
        By which names it may be called, and how much it takes.

    Returns
    -------
    starlette.applications.Starlette
    """
    rooms = (login_pages, share_pages, print_pages, player_pages, inbox_pages, session_pages,
             fix_pages, hole_pages)  # fmt: skip
    routes: list[Route | Mount] = [route for room in rooms for route in room.routes()]
    routes.append(Mount("/static", StaticFiles(directory=STATIC)))
    app = Starlette(
        routes=routes,
        middleware=[
            Middleware(Guard, doors=doors, uploads=inbox_pages.UPLOAD),
            Middleware(LoginNeeded, site=site),
        ],
        exception_handlers={
            PageError: _on_page_error, RangeledgerError: _on_known_error,
            HTTPException: _on_http_error, BodyTooLargeError: _on_large_body, Exception: _on_fault,
        },
    )  # fmt: skip
    app.state.site = site
    return app


class LoginNeeded:
    """Sends whoever has no login to the door, and lets others do what they may."""

    def __init__(self, app: ASGIApp, site: Site) -> None:
        self._app, self._site = app, site

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Let a request pass if it may."""
        if scope["type"] != "http" or scope["path"].startswith(_OPEN):
            scope["visitor"] = Visitor(())
            await self._app(scope, receive, send)
            return
        request = Request(scope)
        visitor = visitor_of(self._site.home, self._site.entry, request)
        if visitor is None:
            await _to_the_door(request)(scope, receive, send)
        elif not visitor.may_ask(request.method, request.url.path):
            sentence = "The token that you came in with shows the pages of its players alone."
            await problem_page(403, sentence)(scope, receive, send)
        else:
            scope["visitor"] = visitor
            await self._app(scope, receive, send)


def _to_the_door(request: Request) -> Response:
    if request.method == "GET" and not request.url.path.endswith((".json", ".csv")):
        return RedirectResponse(login_pages.ENTER, 303)
    sentence = "Come in with a key first; 'rangeledger pages' prints one."
    return problem_page(401, sentence, (login_pages.ENTER, "Enter a key"))


def _on_page_error(_request: Request, error: Exception) -> Response:
    assert isinstance(error, PageError)
    return problem_page(error.status, error.sentence, error.way_out)


def _on_known_error(request: Request, error: Exception) -> Response:
    assert isinstance(error, RangeledgerError)
    if isinstance(error, NothingPublishedError):
        return RedirectResponse("/welcome", 303)
    status = 503 if error.retryable else 400 if isinstance(error, UsageError) else 500
    if isinstance(error, OtherVersionError):
        sentence = (
            "The program was renewed, and the database is being made anew for it. Come back in a "
            "minute."
        )
        return problem_page(503, sentence, (request.url.path, "Try again"))
    return problem_page(status, str(error))


def _on_http_error(_request: Request, error: Exception) -> Response:
    assert isinstance(error, HTTPException)
    sentences = {
        404: "There is no page at this address.",
        405: "This address takes no such request; use the forms of the pages.",
    }
    sentence = sentences.get(error.status_code, f"That could not be understood: {error.detail}.")
    return problem_page(error.status_code, sentence)


def _on_large_body(_request: Request, _error: Exception) -> Response:
    sentence = (
        "The upload was larger than allowed, or stood still too long. Try again, or put the file "
        "into the home's inbox folder."
    )
    return problem_page(413, sentence)


def _on_fault(request: Request, error: Exception) -> Response:
    site: Site = request.app.state.site
    keep_fault(site.home, error, f"showing {request.url.path}")
    return problem_page(
        500, "The program met a fault of its own; nothing that was offered is lost. Report it with "
        f"the last entry of {fault_log(site.home)}.",
    )  # fmt: skip
