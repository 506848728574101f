"""A hole: typed or from a file, drawn, saved, and where to aim with which club on it."""

from __future__ import annotations

from collections import OrderedDict
from pathlib import Path
from threading import Lock
from typing import TYPE_CHECKING, Any
from urllib.parse import urlencode

import polars as pl
from markupsafe import Markup
from rangeledger.models.strategy.hole_geometry import Hole
from rangeledger.pipelines.holes.course_file import read_hole
from rangeledger.pipelines.holes.target_plan import placed
from rangeledger.pipelines.pages_server.holes.hole_answer import HoleAnswer, answer_on
from rangeledger.pipelines.pages_server.holes.hole_form import (
    FIRST,
    fields_of,
    hole_of,
    hole_text,
    hole_tree,
    number,
)
from rangeledger.pipelines.pages_server.replies.answers import harmless, page, plain_rows, unit_of
from rangeledger.pipelines.pages_server.replies.problems import PageError
from rangeledger.pipelines.pages_server.shared.site import Site, players_of
from rangeledger.pipelines.pages_server.uploads.dropping import harmless_name
from rangeledger.schemas.columns import HEIGHT_WORDS
from rangeledger.schemas.errors import NothingPublishedError, UsageError
from rangeledger.schemas.units import MPH_MPS, YARD_M
from rangeledger.warehouse.pages.hole_plot import hole_plan
from rangeledger.warehouse.pages.screens.weather import asked_height, clock_deg, clock_hour
from rangeledger.warehouse.system.durable_files import write_atomically
from starlette.concurrency import run_in_threadpool
from starlette.responses import HTMLResponse, JSONResponse, RedirectResponse, Response
from starlette.routing import Route

if TYPE_CHECKING:
    from starlette.requests import Request

# Answers of the same question need not be worked out anew; a coach tries some clubs and winds.
_MOST_ANSWERS = 64
_SUFFIXES = (".toml", ".geojson", ".json")


def routes() -> list[Route]:
    """Addresses of holes."""
    return [
        Route("/hole", hole_page),
        Route("/hole", save, methods=["POST"]),
        Route("/hole/drawing", drawing),
        Route("/hole.json", hole_json),
        Route("/hole.csv", hole_csv),
    ]


class Answers:
    """Answers worked out lately, by question and publication."""

    def __init__(self) -> None:
        self._kept: OrderedDict[tuple[str, ...], HoleAnswer] = OrderedDict()
        self._lock = Lock()

    def get(self, question: tuple[str, ...]) -> HoleAnswer | None:
        """An answer that is at hand."""
        with self._lock:
            return self._kept.get(question)

    def put(self, question: tuple[str, ...], answer: HoleAnswer) -> None:
        """Keep one; the oldest makes room."""
        with self._lock:
            self._kept[question] = answer
            while len(self._kept) > _MOST_ANSWERS:
                self._kept.popitem(last=False)


_ANSWERS = Answers()


class _Asked:
    """The hole of an address and what is asked of it."""

    def __init__(self, request: Request) -> None:
        self.site: Site = request.app.state.site
        self.unit = unit_of(request)
        self.query = {name: value.strip() for name, value in request.query_params.items()}
        self.path = _saved_path(self.site, self.query.get("file", ""))
        self.fields = self._fields()

    def _fields(self) -> dict[str, str]:
        """Fields of the form: typed, of the file, or those of a first drawing."""
        typed = {k: v for k, v in self.query.items() if k not in ("file", "unit")}
        if self.path is not None:
            shown = fields_of(self.path, self.unit.symbol)
            return FIRST | (shown or {}) | typed
        blank = dict.fromkeys(FIRST, "")
        return blank | typed if "flag" in typed else FIRST | typed

    @property
    def beyond_form(self) -> bool:
        """Whether the hole is a file with shapes that the form has not."""
        return self.path is not None and fields_of(self.path, self.unit.symbol) is None

    def hole(self) -> Hole:
        """The hole, the ball in place."""
        if self.beyond_form and self.path is not None:
            hole = read_hole(self.path)
        else:
            hole = hole_of(hole_tree(self.fields, self.unit.symbol))
        left = number(self.query, "left_to_flag", 0.0)
        left_yd = left * self.unit.length_m / YARD_M if left else None
        return placed(hole, left_yd, None)

    def answer(self, hole: Hole) -> HoleAnswer | None:
        """Where to aim, if a player is named."""
        player = self.query.get("player", "")
        if not player:
            return None
        speed = number(self.query, "wind", 0.0) * (MPH_MPS if self.unit.symbol == "yd" else 1.0)
        if not 0.0 <= speed <= 40.0:
            raise UsageError("A wind so strong can't be played in. Give 0 to 90 mph (40 m/s).")
        from_deg = clock_deg(self.query.get("from", "12"))
        changed = self.path.stat().st_mtime_ns if self.path else 0
        question = (self.site.edition(), str(sorted(self.query.items())), str(changed),
                    self.unit.symbol)  # fmt: skip
        if known := _ANSWERS.get(question):
            return known
        wind = (speed, from_deg, asked_height(self.query.get("wind_height", "")))
        found = answer_on(
            self.site, hole, player, wind, self.unit,
            lay_up=bool(self.query.get("lay_up")),
            own_strokes=self.query.get("strokes") == "own",
        )  # fmt: skip
        _ANSWERS.put(question, found)
        return found


def _saved_path(site: Site, name: str) -> Path | None:
    """A saved hole's file.

    Raises
    ------
    PageError
        If there is none of that name.
    """
    if not name:
        return None
    for path in _saved(site):
        if path.name == name:
            return path
    raise PageError(404, "There is no saved hole of that name.", ("/hole", "To the holes"))


def _saved(site: Site) -> list[Path]:
    folder = site.home.root / "holes"
    if not folder.is_dir():
        return []
    return sorted(path for path in folder.iterdir() if path.suffix.lower() in _SUFFIXES)


def hole_page(request: Request) -> Response:
    """The form, the drawing, and the answer where a player is named."""
    asked = _Asked(request)
    drawn, answer, problem = Markup(""), None, ""
    try:
        hole = asked.hole()
        drawn = hole_plan(hole, asked.unit)
        answer = asked.answer(hole)
        if answer is not None:
            drawn = hole_plan(hole, asked.unit, answer.next_shots, answer.aim_rad)
    except UsageError as error:
        problem = str(error)
    typed = {**dict.fromkeys(FIRST, ""), **asked.fields}
    return page(
        request, "site/hole.html", title="Hole", typed=typed, drawing=drawn, answer=answer,
        problem=problem, players=_players(asked.site), saved=[p.name for p in _saved(asked.site)],
        as_file=asked.query.get("file") if asked.beyond_form else "",
        name=asked.fields.get("name") or asked.query.get("file", ""),
        hour=clock_hour(clock_deg(asked.query.get("from", "12"))), heights=HEIGHT_WORDS,
        height=asked_height(asked.query.get("wind_height", "")),
        extra=any(typed.get(f"{word}1_front") for word in ("bunker", "water", "trees"))
        or bool(typed["out_left"] or typed["out_right"]),
    )  # fmt: skip


def _players(site: Site) -> list[str]:
    try:
        with site.publications.opened() as connection:
            return list(players_of(connection).values())
    except NothingPublishedError:
        return []


def drawing(request: Request) -> Response:
    """The drawing alone, for the page that draws as it is typed."""
    asked = _Asked(request)
    try:
        return HTMLResponse(hole_plan(asked.hole(), asked.unit))
    except UsageError as error:
        return HTMLResponse(Markup('<p class="note">{}</p>').format(str(error)))


async def save(request: Request) -> Response:
    """Keep the hole as a file of the home."""
    form = await request.form()
    fields = {name: value for name, value in form.items() if isinstance(value, str)}
    return await run_in_threadpool(_save, request, fields)


def _save(request: Request, fields: dict[str, str]) -> Response:
    site: Site = request.app.state.site
    tree = hole_tree(fields, "m" if fields.get("unit") == "m" else "yd")
    hole_of(tree)
    folder = site.home.root / "holes"
    folder.mkdir(exist_ok=True)
    name = f"{Path(harmless_name(tree['name'])).stem}.toml"
    write_atomically(folder / name, hole_text(tree))
    asked = {
        k: fields[k] for k in ("player", "wind", "wind_height", "from", "unit") if fields.get(k)
    }
    kept = {"file": name, **asked, "said": f"Saved as holes/{name} in the home."}
    return RedirectResponse(f"/hole?{urlencode(kept)}", 303)


def _answered(request: Request) -> tuple[Hole, HoleAnswer]:
    asked = _Asked(request)
    hole = asked.hole()
    answer = asked.answer(hole)
    if answer is None:
        raise PageError(400, "Name a player: …&player=NAME.", ("/hole", "To the hole"))
    return hole, answer


def hole_json(request: Request) -> Response:
    """The answer for tools."""
    hole, answer = _answered(request)
    tables = {part.kind: plain_rows(part.rows) for part in answer.tables}
    document: dict[str, Any] = {"hole": hole.name, "player": answer.player, "tables": tables}
    return JSONResponse({**document, "sentences": answer.sentences})


def hole_csv(request: Request) -> Response:
    """One table of the answer as CSV."""
    _, answer = _answered(request)
    tables: dict[str, pl.DataFrame] = {part.kind: part.rows for part in answer.tables}
    name = request.query_params.get("table", "options")
    if name not in tables:
        raise PageError(404, f"There is no table '{name}' here.", ("/hole", "To the hole"))
    return Response(harmless(tables[name]).write_csv(), media_type="text/csv; charset=utf-8")
