"""Pages that say what is wrong, where, and what to do."""

from __future__ import annotations

from http import HTTPStatus

from rangeledger.warehouse.pages.rendering import rendered
from starlette.responses import HTMLResponse

# Nothing inline, nothing from elsewhere: what an export says can be shown, never run.
POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; "
    "connect-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
)
HEADERS = {
    "content-security-policy": POLICY,
    "x-content-type-options": "nosniff",
    "x-frame-options": "DENY",
    # An address may hold a shared link's secret; other hosts must not learn it.
    "referrer-policy": "same-origin",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "permissions-policy": "camera=(), microphone=(), geolocation=()",
}


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
    # Faults are answered outside the guard, which marks all other answers.
    headers = HEADERS | ({"connection": "close"} if status == 413 else {})
    return HTMLResponse(rendered("site/problem.html", values), status, headers)
