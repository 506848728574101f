"""Addresses of the players: the list, the first screen, and the screens behind it."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from rangeledger.pipelines.output.pages import file_word
from rangeledger.pipelines.pages_server.replies.answers import (
    etag_of,
    query_of,
    screen_answer,
    unchanged,
    unit_of,
)
from rangeledger.pipelines.pages_server.replies.problems import PageError
from rangeledger.pipelines.pages_server.shared.site import Site, player_at, players_of, visitor
from rangeledger.schemas.errors import NothingPublishedError
from rangeledger.warehouse.pages.screens.clubs import clubs
from rangeledger.warehouse.pages.screens.dispersion import dispersion
from rangeledger.warehouse.pages.screens.gaps import gaps, wedges
from rangeledger.warehouse.pages.screens.over_time import over_time
from rangeledger.warehouse.pages.screens.parts import Screen, ScreenRequest
from rangeledger.warehouse.pages.screens.players import players
from rangeledger.warehouse.pages.screens.practice import practice
from rangeledger.warehouse.pages.screens.putting import putting
from rangeledger.warehouse.pages.screens.sessions import sessions
from rangeledger.warehouse.pages.screens.today import today
from rangeledger.warehouse.pages.screens.weather import weather
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

if TYPE_CHECKING:
    from starlette.requests import Request

# Word of the address -> its name on the page, what makes it, and its template.
SCREENS: dict[str, tuple[str, Callable[[ScreenRequest], Screen], str]] = {
    "": ("Today", today, "site/screen.html"),
    "clubs": ("Clubs", clubs, "site/screen.html"),
    "dispersion": ("Dispersion", dispersion, "site/dispersion.html"),
    "over-time": ("Over time", over_time, "site/over_time.html"),
    "wedges": ("Wedges", wedges, "site/wedges.html"),
    "gaps": ("Gaps", gaps, "site/screen.html"),
    "weather": ("Wind and air", weather, "site/weather.html"),
    "putting": ("Putting", putting, "site/screen.html"),
    "sessions": ("Sessions", sessions, "site/sessions.html"),
    "practice": ("Practice", practice, "site/screen.html"),
}
_FORMS = ("json", "csv")


def routes() -> list[Route]:
    """Addresses of the players' pages."""
    return [
        Route("/", front),
        Route("/players", player_list),
        Route("/players.{form}", player_list),
        Route("/players/{word}", player_screen),
        Route("/players/{word}/{screen}", player_screen),
    ]


def front(request: Request) -> Response:
    """To the players, or to the first file where there are none."""
    site: Site = request.app.state.site
    return RedirectResponse("/players" if site.publications.edition() else "/welcome", 303)


def player_list(request: Request) -> Response:
    """All players."""
    site: Site = request.app.state.site
    form = _form(request.path_params.get("form", "html"))
    etag = etag_of(request, str(visitor(request).players))
    if answer := unchanged(request, etag):
        return answer
    try:
        with site.publications.opened() as connection:
            screen = players(connection, unit_of(request), _address, visitor(request).players)
    except NothingPublishedError:
        return RedirectResponse("/welcome", 303)
    return screen_answer(request, screen, form, etag, "site/screen.html", base="", here="players")


def _address(player: str) -> str:
    return f"players/{file_word(player)}"


def _form(word: str) -> str:
    if word not in (*_FORMS, "html"):
        raise PageError(404, "This page is there as .json and as .csv too, and in no other form.")
    return word


def form_and_word(word: str) -> tuple[str, str]:
    """Form of an address, and its word without the ending that says so."""
    stem, dot, ending = word.rpartition(".")
    return (ending, stem) if dot and ending in _FORMS else ("html", word)


def player_screen(request: Request) -> Response:
    """One screen of a player."""
    site: Site = request.app.state.site
    screen_word, player_word = request.path_params.get("screen"), request.path_params["word"]
    if screen_word is None:
        form, player_word = form_and_word(player_word)
        screen_word = ""
    else:
        form, screen_word = form_and_word(screen_word)
    _, make, template = known_screen(screen_word)
    etag = etag_of(request, str(visitor(request).players))
    if answer := unchanged(request, etag):
        return answer
    with site.publications.opened() as connection:
        player = player_at(connection, player_word, request)
        known = players_of(connection).values()
        others = tuple(p for p in known if p != player and visitor(request).may_see(p))
        lessons = site.lessons(player)
        screen = make(
            ScreenRequest(connection, player, unit_of(request), query_of(request), others, lessons)
        )
    return screen_answer(
        request, screen, form, etag, template, base=f"/players/{player_word}", here=screen_word,
        player=player, screens=SCREENS,
    )  # fmt: skip


def known_screen(word: str) -> tuple[str, Callable[[ScreenRequest], Screen], str]:
    """The screen of a word of an address.

    Raises
    ------
    PageError
        If there is none.
    """
    if word not in SCREENS:
        raise PageError(404, f"A player has no page '{word}'. The links below the name show all.")
    return SCREENS[word]
