"""Pages that say what is wrong, where, and what to do."""

from __future__ import annotations

from http import HTTPStatus

from rangeledger.warehouse.pages.rendering import rendered
from starlette.responses import HTMLResponse


class PageError(Exception):
    """A request that can't be answered.

    Parameters
    ----------
    status : int
        HTTP status.
    sentence : str
        What is wrong and what to do.
    way_out : tuple of (str, str)
        Address and words of a link that helps.
    """

    def __init__(
        self, status: int, sentence: str, way_out: tuple[str, str] = ("/", "To the players")
    ) -> None:
        super().__init__(sentence)
        self.status, self.sentence, self.way_out = status, sentence, way_out


def problem_page(
    status: int, sentence: str, way_out: tuple[str, str] = ("/", "To the players")
) -> HTMLResponse:
    """A page with one sentence and a way out.

    Parameters
    ----------
    status : int
        HTTP status.
    sentence : str
        What is wrong and what to do.
    way_out : tuple of (str, str)
        Address and words of a link that helps.

    Returns
    -------
    starlette.responses.HTMLResponse
    """
    values = {"title": HTTPStatus(status).phrase, "sentence": sentence, "way_out": way_out}
    headers = {"connection": "close"} if status == 413 else None
    return HTMLResponse(rendered("site/problem.html", values), status, headers)
