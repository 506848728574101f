"""Fixing an export: what the reader made of it, lists to choose from, a try, and saving."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any
from urllib.parse import quote, urlencode

from rangeledger.pipelines.loading.kept_originals import add_note
from rangeledger.pipelines.pages_server.fixing.fix_words import (
    asks_of,
    column_words,
    heading_words,
    said_here,
    shown_shots,
)
from rangeledger.pipelines.pages_server.fixing.mapping_text import (
    COLUMN_FIELDS,
    ColumnChoice,
    format_mapping,
    parse_mapping,
)
from rangeledger.pipelines.pages_server.fixing.saving import (
    fellows,
    keep_mapping,
    loaded_fellows,
    loaded_file,
    note_of_loaded,
    note_of_refused,
    refused_file,
    reoffer,
)
from rangeledger.pipelines.pages_server.fixing.trial import placed_key, try_reading
from rangeledger.pipelines.pages_server.replies.answers import page, unit_of
from rangeledger.pipelines.pages_server.replies.problems import PageError
from rangeledger.pipelines.pages_server.shared.site import Site, loaded_name
from rangeledger.pipelines.pages_server.uploads.conditions import (
    BALL_CHOICES,
    SURFACE_CHOICES,
    note_of,
)
from rangeledger.pipelines.pages_server.uploads.dropping import note_text
from rangeledger.pipelines.reader.recognising.words.mapping_file import column_key
from rangeledger.schemas.columns import STATABLE
from rangeledger.schemas.compositions import HELPERS, column_dimension
from rangeledger.schemas.date_orders import DATE_ORDERS
from rangeledger.schemas.units import UNITS
from starlette.concurrency import run_in_threadpool
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

if TYPE_CHECKING:
    from pathlib import Path

    from rangeledger.warehouse.home import Home
    from starlette.requests import Request

_SIDES = ("left", "right", "up", "down")
_MOST_COLUMNS = 400
_MOST_FIELDS = 5 * _MOST_COLUMNS + 50
# What the form asks of a visit.
_NOTE_FIELDS = ("player", "date", "ball", "surface", "date_order")


def routes() -> list[Route]:
    """Addresses of fixing."""
    return [
        Route("/fix/{name}", fix),
        Route("/fix/{name}", fix_by_form, methods=["POST"]),
        Route("/fix-loaded/{name}", fix),
        Route("/fix-loaded/{name}", fix_by_form, methods=["POST"]),
    ]


@dataclass(frozen=True, slots=True)
class _Export:
    """The export of an address: refused under its name, loaded by its hash; what its note says."""

    path: Path
    name: str
    note: dict[str, Any]
    refused: bool

    def read(self, home: Home, text: str | None, note: dict[str, Any]) -> dict[str, Any]:
        """How it is read with a mapping and a note."""
        return try_reading(home, self.path, self.name, text, note_text(note) if note else None)


def _export(request: Request) -> _Export:
    site: Site = request.app.state.site
    name = request.path_params["name"]
    if not request.url.path.startswith("/fix-loaded/"):
        path = refused_file(site.home, name)
        return _Export(path, path.name, note_of_refused(path), refused=True)
    path = loaded_file(site.home, name)
    called = loaded_name(site, name) or path.name
    return _Export(path, called, note_of_loaded(site.home, name), refused=False)


def fix(request: Request) -> Response:
    """What the reader made of an export, with lists to choose from."""
    site: Site = request.app.state.site
    export = _export(request)
    read = export.read(site.home, None, export.note)
    text = read["mapping"] or ""
    headings, columns, others = parse_mapping(text) if text else ([], [], {})
    return _shown(request, export, read, (headings, columns, others), export.note)


def _shown(
    request: Request, export: _Export, read: dict[str, Any],
    parts: tuple[list[str], list[ColumnChoice], dict[str, Any]], note: dict[str, Any],
) -> Response:  # fmt: skip
    site: Site = request.app.state.site
    headings, columns, others = parts
    path, name, refused = export.path, export.name, export.refused
    shown = with_evidence(columns, read) if headings else columns
    unsure = [one for one in shown if one.question or not one.column]
    sure = [one for one in shown if one not in unsure]
    return page(
        request, "site/fix.html", title=f"Put right: {name}", name=name, read=read,
        headings=headings, unsure=unsure, sure=sure, others=others, note=note,
        likely_units=likely_units, heading_words=heading_words, said_here=said_here,
        asks_of=asks_of, shots=shown_shots(read["after"], unit_of(request)),
        choices=_choices(), words=column_words, units=_units(), sides=_SIDES,
        balls=BALL_CHOICES, surfaces=SURFACE_CHOICES, date_orders=DATE_ORDERS, refused=refused,
        fellows=[one.name for one in fellows(site.home, path, headings)] if refused else [],
        loaded_fellows=loaded_fellows(site, headings) if refused else [],
    )  # fmt: skip


def with_evidence(columns: list[ColumnChoice], read: dict[str, Any]) -> list[ColumnChoice]:
    """Columns with their first cells and what else they might be, and those without a heading.

    Parameters
    ----------
    columns : list of ColumnChoice
        As a mapping names them.
    read : dict
        As `try_reading` answers.
    """
    cells: dict[str, list[str]] = {}
    for key, samples in read["cells"].items():
        cells[key] = samples
        cells.setdefault(key.rpartition("@")[0], samples)
    reports: dict[str, dict[str, Any]] = {}
    for one in read["columns"]:
        key = placed_key(one["heading"], one["place"] or 0)
        reports[key] = one
        reports.setdefault(key.rpartition("@")[0], one)
    keys = {column_key(one.heading) for one in columns}
    unnamed = [ColumnChoice(key) for key in cells if key.startswith("@") and key not in keys]
    return [
        _evident(one, cells.get(key, []), reports.get(key, {}))
        for one in (*columns, *unnamed)
        for key in [column_key(one.heading)]
    ]


def _evident(choice: ColumnChoice, cells: list[str], report: dict[str, Any]) -> ColumnChoice:
    possible = [choice.column, report.get("column"), report.get("runner_up")]
    known = [one for one in dict.fromkeys(possible) if one in (*STATABLE, *HELPERS)]
    return replace(choice, cells=cells, possible=known)


def _choices() -> list[tuple[str, str]]:
    """Canonical columns with their words, by name."""
    return [(name, column_words(name)) for name in sorted((*STATABLE, *HELPERS), key=column_words)]


def likely_units(choice: ColumnChoice) -> list[str]:
    """Units of what a column is thought to be."""
    keys = [choice.column, *choice.possible]
    dimension = next((column_dimension(name) for name in keys if name), None)
    return next((symbols for kind, symbols in _units() if kind == dimension), [])


def _units() -> list[tuple[str, list[str]]]:
    """Units by what they measure."""
    groups: dict[str, list[str]] = {}
    for symbol, unit in UNITS.items():
        groups.setdefault(unit.dimension, []).append(symbol)
    return list(groups.items())


async def fix_by_form(request: Request) -> Response:
    """Try the choices, or keep them and load."""
    form = await request.form(max_fields=_MOST_FIELDS)
    fields = {name: value for name, value in form.items() if isinstance(value, str)}
    headings = [one for one in form.getlist("headings") if isinstance(one, str)]
    return await run_in_threadpool(_fixed, request, fields, headings)


def _fixed(request: Request, fields: dict[str, str], headings: list[str]) -> Response:
    site: Site = request.app.state.site
    export = _export(request)
    columns = _chosen(fields)
    others = _others(fields)
    note = updated_note(export.note, fields)
    text = format_mapping(headings, columns, others) if columns else None
    if fields.get("do") != "save":
        read = export.read(site.home, text, note)
        return _shown(request, export, read, (headings, columns, others), note)
    if text is not None:
        _check(site, export, text, note)
        keep_mapping(site.home, text, export.name)
    if not export.refused:
        source = request.path_params["name"]
        if note != export.note:
            add_note(site.home, source, note_text(note))
        return _reloaded(request, export.name, f"/inbox/outcome?file={source}")
    paths = [export.path]
    if fields.get("fellows"):
        paths += fellows(site.home, export.path, headings)
    hashes = []
    for one in paths:
        dropped = reoffer(site.home, one, note if one == export.path else note_of_refused(one))
        site.drops.add(dropped)
        hashes.append(("file", dropped.source_file))
    outcome = f"/inbox/outcome?{urlencode(hashes)}"
    if fields.get("loaded_fellows"):
        return _reloaded(request, export.name, outcome)
    return RedirectResponse(outcome, 303)


def _check(site: Site, export: _Export, text: str, note: dict[str, Any]) -> None:
    """Refuse a mapping that the reader can't use."""
    read = export.read(site.home, text, note)
    if read["code"] == "bad-mapping" or (not read["columns"] and not read["loads"]):
        raise PageError(400, read["reason"], (f"/fix/{quote(export.name)}", "Choose again"))


def _reloaded(request: Request, name: str, back: str) -> Response:
    """Read again what the new mapping reads otherwise."""
    site: Site = request.app.state.site
    message = f"What was chosen is kept; {name} and its fellows are read again."
    started = site.errands.start(["reload"], message, back)
    return RedirectResponse(f"/errands/{started.number}", 303)


def _chosen(fields: dict[str, str]) -> list[ColumnChoice]:
    """What each column is, as the form has it: fields numbered by their column."""
    columns = []
    for number in range(_MOST_COLUMNS):
        heading = fields.get(f"heading{number}")
        if heading is None:
            continue
        column, unit, positive, measured = (
            fields.get(f"{key}{number}", "") for key in COLUMN_FIELDS
        )
        if column and column not in (*STATABLE, *HELPERS):
            raise PageError(400, f"'{column}' is no column of the ledger.", ("/inbox", "Back"))
        dimension = column_dimension(column) if column else None
        if unit in UNITS and UNITS[unit].dimension != dimension:
            unit = ""  # left over from another choice of the column
        columns.append(ColumnChoice(heading, column, unit, positive, measured))
    return columns


def _others(fields: dict[str, str]) -> dict[str, Any]:
    """[numbers] and [constants], where something is said."""
    decimal = fields.get("decimal", "")
    return {"numbers": {"decimal": decimal}} if decimal in (".", ",") else {}


def updated_note(former: dict[str, Any], fields: dict[str, str]) -> dict[str, Any]:
    """A note with what the form says in place of what it said; a field that is blank says nothing.

    Parameters
    ----------
    former : dict
        What the note says; what the form does not ask stays.
    said : dict of str to str
        Fields of the form.
    """
    note = {name: value for name, value in former.items() if name not in _NOTE_FIELDS}
    for name, value in note_of(fields).items():
        unchanged = str(former.get(name, "")) == str(value)
        note[name] = former[name] if unchanged else value  # a date stays as it was written
    if fields.get("date_order"):
        note["date_order"] = fields["date_order"]
    return note
