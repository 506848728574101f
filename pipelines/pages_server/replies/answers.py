"""A screen as a page, as JSON and as CSV, with a mark that tells whether it is still true."""

from __future__ import annotations

import hashlib
import io
import math
from datetime import date
from typing import Any, TypeVar
from urllib.parse import urlencode

import polars as pl
from rangeledger.pipelines.pages_server.replies.problems import PageError
from rangeledger.warehouse.pages.rendering import rendered
from rangeledger.warehouse.pages.screens.parts import Screen, Words
from rangeledger.warehouse.pages.units import UNITS, PageUnit
from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse, Response

_Answer = TypeVar("_Answer", bound=Response)
_UNIT_COOKIE = "rangeledger_unit"
_UNIT_LASTS_S = 365 * 24 * 3600
# A spreadsheet takes text that begins so for a formula.
_FORMULA = ("=", "+", "-", "@", "\t", "\r")


def unit_of(request: Request) -> PageUnit:
    """Unit of lengths: as the address says, else as the reader chose last, else yards."""
    chosen = request.query_params.get("unit") or request.cookies.get(_UNIT_COOKIE, "yd")
    return UNITS.get(chosen, UNITS["yd"])


def query_of(request: Request) -> dict[str, list[str]]:
    """The filter of an address: each word with all its values."""
    params = request.query_params
    return {name: params.getlist(name) for name in params}


def frame(request: Request, **more: Any) -> dict[str, Any]:
    """What every page shows around its content."""
    unit = unit_of(request)
    other = "m" if unit.symbol == "yd" else "yd"
    kept = [(k, v) for k, v in request.query_params.multi_items() if k not in ("unit", "said")]
    site = request.app.state.site
    return {
        "path": request.url.path,
        "unit": unit,
        "other_unit": UNITS[other],
        "other_unit_link": f"{request.url.path}?{urlencode([*kept, ('unit', other)])}",
        "assets": site.assets,
        "shared": False,
        "coach": request.scope["visitor"].coach,
        "twins": True,
        "query": urlencode([*kept, ("unit", unit.symbol)]),
        "said": request.query_params.get("said", ""),
        **more,
    }


def page(request: Request, template: str, etag: str = "", **values: Any) -> HTMLResponse:
    """A page without twins; with a mark where it stays true until the next publication."""
    shown = {"twins": False, **values}
    answer = HTMLResponse(rendered(template, frame(request, **shown)))
    if etag:
        answer.headers.update({"etag": etag, "cache-control": _CACHE})
    return _with_unit(request, answer)


def _with_unit(request: Request, answer: _Answer) -> _Answer:
    """Keep the unit that the address chose."""
    if request.query_params.get("unit") in UNITS:
        answer.set_cookie(
            _UNIT_COOKIE, request.query_params["unit"], _UNIT_LASTS_S, samesite="lax",
            secure=request.app.state.site.secure, httponly=True,
        )  # fmt: skip
    return answer


def etag_of(request: Request, *more: str) -> str:
    """Mark of what an address shows, from the publication and everything else that shapes it."""
    site = request.app.state.site
    parts = "|".join((site.edition(), str(request.url), unit_of(request).symbol, *more))
    return f'W/"{hashlib.sha256(parts.encode()).hexdigest()[:24]}"'


def unchanged(request: Request, etag: str) -> Response | None:
    """The short answer to a reader who has the page of this mark."""
    known = {tag.strip() for tag in request.headers.get("if-none-match", "").split(",")}
    if etag in known:
        return Response(status_code=304, headers={"etag": etag, "cache-control": _CACHE})
    return None


_CACHE = "private, no-cache"


def screen_answer(
    request: Request, screen: Screen, form: str, etag: str, template: str, **values: Any
) -> Response:
    """A screen in the form that its address asks for.

    Parameters
    ----------
    request : starlette.requests.Request
        Who asks, in which unit.
    screen : Screen
        What is shown.
    form : str
        `html`, `json` or `csv`.
    etag : str
        Mark of the content.
    template : str
        Template of the page.
    values : dict
        What the template needs beside the screen.

    Returns
    -------
    starlette.responses.Response
    """
    if form == "json":
        answer: Response = JSONResponse(plain_screen(screen))
    elif form == "csv":
        answer = _csv(request, screen)
    else:
        shown = frame(request, screen=screen, title=screen.title, **values)
        answer = HTMLResponse(rendered(template, shown))
    answer.headers["etag"] = etag
    answer.headers["cache-control"] = _CACHE
    return _with_unit(request, answer)


def plain_screen(screen: Screen) -> dict[str, Any]:
    """The rows and sentences of a screen as plain values, under the names of the views."""
    return {
        "title": screen.title,
        "about": screen.lead,
        "tables": {table.name: plain_rows(table.rows) for table in screen.tables()},
        "sentences": {
            part.title: list(part.sentences) for part in screen.parts if isinstance(part, Words)
        },
    }


def plain_rows(rows: pl.DataFrame) -> list[dict[str, Any]]:
    """Rows as plain values for JSON."""
    return [{name: _plain(value) for name, value in row.items()} for row in rows.to_dicts()]


def _plain(value: Any) -> Any:
    if isinstance(value, float) and not math.isfinite(value):
        return None
    return value.isoformat() if isinstance(value, date) else value


def _csv(request: Request, screen: Screen) -> Response:
    """One table as CSV: the one that `table` names, else the first."""
    tables = {table.name: table for table in screen.tables()}
    name = request.query_params.get("table") or next(iter(tables), "")
    if name not in tables:
        known = ", ".join(tables) or "none"
        raise PageError(404, f"This page has no table '{name}'. It has: {known}.")
    buffer = io.BytesIO()
    harmless(tables[name].rows).write_csv(buffer, datetime_format="%Y-%m-%dT%H:%M:%S%.3f")
    headers = {"content-disposition": f'attachment; filename="{name}.csv"'}
    return Response(buffer.getvalue(), media_type="text/csv; charset=utf-8", headers=headers)


def harmless(rows: pl.DataFrame) -> pl.DataFrame:
    """The same rows with an apostrophe before text that a spreadsheet would reckon out."""
    texts = [name for name, kind in rows.schema.items() if kind == pl.String]
    return rows.with_columns(
        pl.when(pl.any_horizontal(pl.col(name).str.starts_with(mark) for mark in _FORMULA))
        .then("'" + pl.col(name))
        .otherwise(pl.col(name))
        .alias(name)
        for name in texts
    )
