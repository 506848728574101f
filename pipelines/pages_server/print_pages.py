"""What is printed: the pocket card on its sheet, as a page and as PDF, and the report."""

from __future__ import annotations

from collections.abc import Collection
from typing import TYPE_CHECKING

from rangeledger.models.strategy.practice_gain import practice_advice
from rangeledger.models.strategy.strokes_to_hole_out import StrokesToHoleOut
from rangeledger.pipelines.output.pages import file_word
from rangeledger.pipelines.pages_server.player_pages import SCREENS
from rangeledger.pipelines.pages_server.replies.answers import etag_of, page, unchanged, unit_of
from rangeledger.pipelines.pages_server.replies.problems import PageError
from rangeledger.pipelines.pages_server.shared.site import Site, player_at
from rangeledger.schemas.errors import NotEnoughShotsError
from rangeledger.warehouse.pages.bag import BagClub, bag_of, practice_clubs
from rangeledger.warehouse.pages.card import CARD_ROWS, CAUTION, card_content
from rangeledger.warehouse.pages.card_pdf import PAPERS, card_pdf
from rangeledger.warehouse.pages.player_rows import (
    ALL_ROWS,
    PlayerRows,
    player_rows,
    with_round_metres,
)
from rangeledger.warehouse.pages.practice_words import stands_out
from rangeledger.warehouse.pages.report import report_values
from rangeledger.warehouse.pages.units import METRES
from starlette.responses import Response
from starlette.routing import Route

if TYPE_CHECKING:
    from starlette.requests import Request


def routes() -> list[Route]:
    """Addresses of what is printed."""
    return [
        Route("/players/{word}/card", card),
        Route("/players/{word}/card.pdf", card_as_pdf),
        Route("/players/{word}/report", report),
    ]


def _paper(request: Request) -> str:
    paper = request.query_params.get("paper", "a4")
    return paper if paper in PAPERS else "a4"


def _read(request: Request, only: Collection[str] = ALL_ROWS) -> tuple[PlayerRows, list[BagClub]]:
    """What the database holds of the player, or a part of that, and the player's bag."""
    site: Site = request.app.state.site
    word = request.path_params["word"]
    with site.publications.opened() as connection:
        player = player_at(connection, word, request)
        rows = player_rows(connection, player, only)
        if unit_of(request) is METRES:
            rows = with_round_metres(rows, connection)
        try:
            return rows, bag_of(connection, player)
        except NotEnoughShotsError as error:
            raise PageError(404, str(error), (f"/players/{word}", "Back")) from error


def _place(request: Request, here: str) -> dict[str, object]:
    word = request.path_params["word"]
    return {"base": f"/players/{word}", "here": here, "screens": SCREENS}


def card(request: Request) -> Response:
    """The card on the screen; its print style is the sheet."""
    etag = etag_of(request)
    if answer := unchanged(request, etag):
        return answer
    rows, bag = _read(request, CARD_ROWS)
    content = card_content(rows, bag, unit_of(request))
    shown = page(
        request, "site/card.html", etag=etag, card=content, caution=CAUTION, player=rows.player,
        paper=_paper(request), **_place(request, "card"),
    )  # fmt: skip
    return shown


def card_as_pdf(request: Request) -> Response:
    """The card as PDF."""
    etag = etag_of(request)
    if answer := unchanged(request, etag):
        return answer
    rows, bag = _read(request, CARD_ROWS)
    content = card_content(rows, bag, unit_of(request))
    name = f"card-{file_word(rows.player)}.pdf"
    headers = {"content-disposition": f'inline; filename="{name}"', "etag": etag}
    pdf = card_pdf(content, PAPERS[_paper(request)])
    return Response(pdf, media_type="application/pdf", headers=headers)


def report(request: Request) -> Response:
    """The report, every section on one page."""
    etag = etag_of(request)
    if answer := unchanged(request, etag):
        return answer
    rows, bag = _read(request)
    table = StrokesToHoleOut.published()
    with request.app.state.site.publications.opened() as connection:
        clubs = practice_clubs(connection, rows.player, bag)
    found = practice_advice(clubs, table)
    values = report_values(rows, bag, found, table.source, unit_of(request))
    values.pop("unit")  # the frame has it
    values["stands_out"] = stands_out(rows.flags, "“Leave out” on the page Sessions.")
    place = _place(request, "report")
    return page(request, "site/report.html", etag=etag, **values, **place)
