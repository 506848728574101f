"""Coming in with a key, going out again, and the first page of an empty home."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rangeledger.pipelines.pages_server.access.entry import COOKIE, LOGIN_LASTS_S
from rangeledger.pipelines.pages_server.replies.answers import page
from rangeledger.pipelines.pages_server.replies.problems import PageError
from rangeledger.pipelines.pages_server.shared.site import Site
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

if TYPE_CHECKING:
    from starlette.requests import Request

ENTER = "/enter"


def routes() -> list[Route]:
    """Addresses of the door."""
    return [
        Route(ENTER, enter, methods=["GET"]),
        Route(ENTER, enter_by_form, methods=["POST"]),
        Route("/leave", leave, methods=["POST"]),
        Route("/another-device", another_device, methods=["POST"]),
    ]


def enter(request: Request) -> Response:
    """Come in by the address that the command printed, or show the form for the key."""
    key = request.query_params.get("key")
    return _opened(request, key) if key else page(request, "site/enter.html", title="Key")


async def enter_by_form(request: Request) -> Response:
    """Come in by a key typed or pasted."""
    form = await request.form()
    return _opened(request, str(form.get("key", "")))


def _opened(request: Request, key: str) -> Response:
    """A login for a key; a wrong one is counted."""
    site: Site = request.app.state.site
    address = request.client.host if request.client else ""
    wrong = site.entry.wrong
    if wrong.closed(address):
        raise PageError(
            429, "Too many wrong keys. Wait ten minutes, then use a fresh one from 'rangeledger "
            "pages'.", (ENTER, "Enter a key"),
        )  # fmt: skip
    # What is pasted may be the whole address.
    login = site.entry.open(key.strip().rpartition("key=")[2])
    if login is None:
        wrong.count(address)
        raise PageError(
            403, "That key is not known, or was used already: each opens once. Run 'rangeledger "
            "pages' on the machine once more; it prints a fresh one.", (ENTER, "Enter a key"),
        )  # fmt: skip
    answer = RedirectResponse("/", 303)
    # Lax, because a link in a message or a terminal must open the pages; forms of other sites
    # are refused by their origin.
    answer.set_cookie(
        COOKIE, login, int(LOGIN_LASTS_S), httponly=True, samesite="lax", secure=site.secure
    )
    return answer


def leave(request: Request) -> Response:
    """End this login."""
    site: Site = request.app.state.site
    login = site.entry.login(request.cookies.get(COOKIE, ""))
    if login is not None:
        site.entry.logins.withdraw(login.name)
    answer = RedirectResponse(ENTER, 303)
    answer.delete_cookie(COOKIE)
    return answer


def another_device(request: Request) -> Response:
    """A key for a phone or another browser."""
    site: Site = request.app.state.site
    address = f"{str(request.base_url).rstrip('/')}{ENTER}?key={site.entry.new_key()}"
    return page(request, "site/another_device.html", title="Another device", address=address)
