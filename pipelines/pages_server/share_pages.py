"""Showing one player to others: as a file, and by a link that ends and can be withdrawn."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime
from typing import TYPE_CHECKING

from rangeledger.pipelines.output.pages import file_word
from rangeledger.pipelines.pages_server.player_pages import SCREENS, form_and_word, known_screen
from rangeledger.pipelines.pages_server.replies.answers import (
    etag_of,
    page,
    query_of,
    screen_answer,
    unchanged,
    unit_of,
)
from rangeledger.pipelines.pages_server.replies.problems import PageError
from rangeledger.pipelines.pages_server.shared.site import Site, player_at, players_of
from rangeledger.warehouse.pages.rendering import rendered
from rangeledger.warehouse.pages.screens.parts import Screen, ScreenRequest
from rangeledger.warehouse.pages.screens.plans import plans
from rangeledger.warehouse.pages.screens.weather import rules
from rangeledger.warehouse.pages.units import day
from starlette.concurrency import run_in_threadpool
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

if TYPE_CHECKING:
    from starlette.requests import Request

SHARED = "/s/"
_DAY_S = 24 * 3600.0
_MOST_DAYS = 180
# The filter of a page that nobody can ask for more.
_EVERYTHING = {"show": ("all",)}
_LAST_SQL = "SELECT max(started_at) FROM sessions WHERE player = $1 AND NOT excluded"


def routes() -> list[Route]:
    """Addresses of sharing, and of what is shared."""
    return [
        Route("/players/{word}/share", share),
        Route("/players/{word}/share", change, methods=["POST"]),
        Route("/players/{word}/file", one_file),
        Route("/s/{secret}", shared_screen),
        Route("/s/{secret}/{screen}", shared_screen),
    ]


def share(request: Request, link: str = "", until: str = "") -> Response:
    """What can be shared of a player, and the links that are open."""
    site: Site = request.app.state.site
    word = request.path_params["word"]
    with site.publications.opened() as connection:
        player = player_at(connection, word, request)
    shares = [
        {"name": one.name, "made": one.facts["made"], "until": _date(one.until)}
        for one in site.entry.shares.every()
        if one.facts.get("player") == player
    ]
    return page(
        request, "site/share.html", player=player, base=f"/players/{word}", here="share",
        screens=SCREENS, shares=shares, link=link, until=until,
    )  # fmt: skip


def _date(instant: float) -> str:
    return datetime.fromtimestamp(instant, UTC).strftime("%Y-%m-%d %H:%M UTC")


async def change(request: Request) -> Response:
    """Make a link, or withdraw one."""
    form = await request.form()
    withdrawn = str(form.get("withdraw", ""))
    days = str(form.get("days", ""))
    return await run_in_threadpool(_changed, request, withdrawn, days)


def _changed(request: Request, withdrawn: str, days: str) -> Response:
    site: Site = request.app.state.site
    word = request.path_params["word"]
    back = f"/players/{word}/share"
    with site.publications.opened() as connection:
        player = player_at(connection, word, request)
    if withdrawn:
        site.entry.shares.withdraw(withdrawn)
        return RedirectResponse(back, 303)
    if not days.isdecimal() or not 1 <= int(days) <= _MOST_DAYS:
        raise PageError(400, f"A link lasts 1 to {_MOST_DAYS} days.", (back, "Back"))
    lasts_s = int(days) * _DAY_S
    made = datetime.now(UTC)
    secret = site.entry.shares.issue(lasts_s, player=player, made=made.strftime("%Y-%m-%d %H:%M"))
    link = f"{str(request.base_url).rstrip('/')}{SHARED}{secret}"
    return share(request, link, _date(made.timestamp() + lasts_s))


def shared_screen(request: Request) -> Response:
    """A screen of the one player that a link shows."""
    site: Site = request.app.state.site
    secret = request.path_params["secret"]
    form, word = form_and_word(request.path_params.get("screen", ""))
    if "screen" not in request.path_params:
        form, secret = form_and_word(secret)
    player = _shown_by(request, secret)
    _, make, template = known_screen(word)
    etag = etag_of(request, player)
    if answer := unchanged(request, etag):
        return answer
    with site.publications.opened() as connection:
        if player not in players_of(connection).values():
            raise PageError(404, "There is nothing of this player any more.", ("", ""))
        screen_request = ScreenRequest(
            connection, player, unit_of(request), query_of(request), (), site.lessons(player)
        )
        screen = make(screen_request)
    return screen_answer(
        request, screen, form, etag, template, base=f"{SHARED}{secret}", here=word, player=player,
        screens=SCREENS, shared=True, coach=False,
    )  # fmt: skip


def _shown_by(request: Request, secret: str) -> str:
    """The player of a link.

    Raises
    ------
    PageError
        If the link was withdrawn, has ended or never was; guesses are counted.
    """
    site: Site = request.app.state.site
    address = request.client.host if request.client else ""
    if site.entry.wrong.closed(address):
        raise PageError(429, "Too many wrong links. Wait ten minutes.", ("", ""))
    ticket = site.entry.shares.find(secret)
    if ticket is None:
        site.entry.wrong.count(address)
        raise PageError(
            404, "This link has ended or was withdrawn. Ask your coach for a new one.", ("", "")
        )
    return str(ticket.facts["player"])


def one_file(request: Request) -> Response:
    """Everything of one player in a file that needs nothing else."""
    site: Site = request.app.state.site
    with site.publications.opened() as connection:
        player = player_at(connection, request.path_params["word"], request)
        screen_request = ScreenRequest(
            connection, player, unit_of(request), _EVERYTHING, (), site.lessons(player)
        )
        last = connection.execute(_LAST_SQL, [player]).fetchone()
        screens = [(word, make(screen_request)) for word, make in _in_a_file()]
    values = {
        "player": player, "screens": screens, "last": day(last[0] if last else None),
        "written": datetime.now(UTC).strftime("%Y-%m-%d"),
    }  # fmt: skip
    name = f"{file_word(player)}.html"
    headers = {"content-disposition": f'attachment; filename="{name}"'}
    return Response(rendered("site/offline.html", values), media_type="text/html", headers=headers)


def _in_a_file() -> list[tuple[str, Callable[[ScreenRequest], Screen]]]:
    """Screens of the file: those with a form give way to what needs none."""
    instead: dict[str, Callable[[ScreenRequest], Screen]] = {
        "dispersion": plans,
        "weather": lambda screen_request: Screen("Wind and air", "", (rules(screen_request),)),
    }
    return [(word, instead.get(key, make)) for key, (word, make, _) in SCREENS.items()]
