"""The inbox: files dropped from a browser, what is said of them, what became of them, and undo."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict
from typing import TYPE_CHECKING, Any
from urllib.parse import urlencode

from rangeledger.pipelines.loading import inbox
from rangeledger.pipelines.loading.refusals import open_refusals
from rangeledger.pipelines.pages_server.outcomes import (
    Progress,
    progress_of,
    state_words,
    summary_of,
)
from rangeledger.pipelines.pages_server.replies.answers import page
from rangeledger.pipelines.pages_server.replies.problems import PageError
from rangeledger.pipelines.pages_server.shared.site import Site, loaded_name, players_of
from rangeledger.pipelines.pages_server.uploads.conditions import (
    BALL_CHOICES,
    HEIGHT_CHOICES,
    SURFACE_CHOICES,
    note_of,
)
from rangeledger.pipelines.pages_server.uploads.dropping import drop
from rangeledger.pipelines.pages_server.uploads.ranges import Ranges
from rangeledger.pipelines.service.presence import service_of
from rangeledger.schemas.errors import NothingPublishedError, UsageError
from rangeledger.warehouse.unnamed_monitors import (
    MOST_NAME,
    UnnamedLayout,
    name_monitor,
    unnamed_layouts,
)
from starlette.concurrency import run_in_threadpool
from starlette.datastructures import FormData, UploadFile
from starlette.responses import JSONResponse, RedirectResponse, Response
from starlette.routing import Route

if TYPE_CHECKING:
    from starlette.requests import Request

UPLOAD = "/inbox/drop"
# More files than a season has; more fields than the form has.
_MOST_FILES, _MOST_FIELDS = 500, 60
_RECENT = 30
# Of so many files all that was noticed is shown at once.
_FEW = 3
# So many layouts are asked about at once.
_MOST_LAYOUTS = 3
_RECENT_SQL = """
    WITH recent AS (
        SELECT offered_at, file_name, source_file, state, shots, rejected, remarks, taken_out
        FROM ingest_log ORDER BY offered_at DESC, file_name LIMIT $1
    ),
    whose AS (
        SELECT source_file, list(DISTINCT player ORDER BY player) AS players
        FROM ledger.counted_shots
        WHERE source_file IN (SELECT source_file FROM recent) GROUP BY source_file
    )
    FROM recent LEFT JOIN whose USING (source_file) ORDER BY offered_at DESC, file_name"""
# What may be done to an export that was loaded: words of the command, and what is told meanwhile.
_UNDO = {
    "take-out": (("exclude", "--why=taken out on the pages", "--export"), "is taken out again"),
    "take-back": (("include", "--export"), "is taken back"),
    "read-again": (("reload",), "is read again with what is said of it now"),
}


def routes() -> list[Route]:
    """Addresses of the inbox."""
    return [
        Route("/welcome", welcome),
        Route("/inbox", inbox_page),
        Route(UPLOAD, upload, methods=["POST"]),
        Route("/inbox/outcome", outcome),
        Route("/inbox/outcome.json", outcome_json),
        Route("/inbox/exports/{source_file}", undo, methods=["POST"]),
        Route("/inbox/monitors", name_layout, methods=["POST"]),
        Route("/demo", start_demo, methods=["POST"]),
        Route("/errands/{number:int}", errand),
        Route("/errands/{number:int}.json", errand_json),
    ]


def welcome(request: Request) -> Response:
    """The first page of a home without shots."""
    return page(request, "site/welcome.html", title="Welcome", **_form_values(request))


def inbox_page(request: Request) -> Response:
    """The form for files, what waits, what was refused and what came lately."""
    site: Site = request.app.state.site
    recent: list[dict[str, Any]] = []
    layouts: list[UnnamedLayout] = []
    try:
        with site.publications.opened() as connection:
            layouts = unnamed_layouts(connection, site.home)[:_MOST_LAYOUTS]
            recent = connection.execute(_RECENT_SQL, [_RECENT]).pl().to_dicts()
    except NothingPublishedError:
        pass
    service = service_of(site.home)
    values: dict[str, Any] = {
        "recent": recent,
        "layouts": layouts,
        "most_name": MOST_NAME,
        "state_words": state_words,
        "waiting": [one.file_name for one in inbox.waiting(site.home)],
        "refused": [path.name for path in open_refusals(site.home)],
        "watched": service is not None,
        "problem": service.problem if service else "",
    }
    return page(request, "site/inbox.html", title="Inbox", **values, **_form_values(request))


def _form_values(request: Request) -> dict[str, Any]:
    """What the form for files offers: players, ranges, and what was said of a range last."""
    site: Site = request.app.state.site
    ranges = Ranges(site.home)
    chosen = request.query_params.get("range", "")
    try:
        with site.publications.opened() as connection:
            known = list(players_of(connection).values())
    except NothingPublishedError:
        known = []
    return {
        "players": known, "ranges": ranges.names(), "range": chosen, "last": ranges.of(chosen),
        "balls": BALL_CHOICES, "surfaces": SURFACE_CHOICES, "heights": HEIGHT_CHOICES,
        "empty_home": not known,
    }  # fmt: skip


async def upload(request: Request) -> Response:
    """Take files into the inbox, and show how they fare."""
    site: Site = request.app.state.site
    async with request.form(max_files=_MOST_FILES, max_fields=_MOST_FIELDS) as form:
        files = [
            one for one in form.getlist("files") if isinstance(one, UploadFile) and one.filename
        ]
        if not files:
            raise PageError(
                400, "No file was chosen. Choose one or more exports.", ("/inbox", "To the inbox")
            )
        fields = _texts(form)
        note = note_of(fields)
        if fields.get("range"):
            Ranges(site.home).keep(fields["range"], fields)
        hashes = []
        for file in files:
            dropped = await run_in_threadpool(drop, site.home, file.filename or "", file.file, note)
            site.drops.add(dropped)
            hashes.append(("file", dropped.source_file))
    return RedirectResponse(f"/inbox/outcome?{urlencode(hashes)}", 303)


def _texts(form: FormData) -> dict[str, str]:
    return {name: value.strip() for name, value in form.items() if isinstance(value, str)}


def _asked(request: Request) -> list[Progress]:
    site: Site = request.app.state.site
    hashes = dict.fromkeys(request.query_params.getlist("file"))
    return [progress_of(site, one) for one in list(hashes)[:_MOST_FILES]]


def outcome(request: Request) -> Response:
    """How some files fare: live while they load, then what became of them."""
    found = _asked(request)
    running = not all(one.done for one in found)
    if not running:  # what is to be done comes first
        found.sort(key=lambda one: one.state != "quarantined")
    return page(
        request, "site/outcome.html", title="What became of it", files=found, running=running,
        twin=f"/inbox/outcome.json?{request.url.query}", summary=summary_of(found), few=_FEW,
        loaded=any(one.state.startswith("loaded") for one in found),
    )  # fmt: skip


def outcome_json(request: Request) -> Response:
    """The same for the page's script and for tools."""
    found = _asked(request)
    document: Mapping[str, Any] = {
        "running": not all(one.done for one in found), "files": [asdict(one) for one in found],
    }  # fmt: skip
    return JSONResponse(document)


async def undo(request: Request) -> Response:
    """Take a loaded export out again, or back, or read it again, and refit."""
    fields = _texts(await request.form())
    return await run_in_threadpool(_undone, request, fields.get("do", ""))


def _undone(request: Request, do: str) -> Response:
    site: Site = request.app.state.site
    source_file = request.path_params["source_file"]
    name = loaded_name(site, source_file)
    if name is None or do not in _UNDO:
        raise PageError(404, "No such export was loaded here.", ("/inbox", "To the inbox"))
    words, message = _UNDO[do]
    back = f"/inbox/outcome?file={source_file}"
    started = site.errands.start(
        [*words, source_file], f"{name} {message}, and the clubs are fitted anew.", back
    )
    return RedirectResponse(f"/errands/{started.number}", 303)


async def name_layout(request: Request) -> Response:
    """Keep the name of a monitor in the settings, and read its exports again."""
    fields = _texts(await request.form())
    return await run_in_threadpool(_named, request, fields)


def _named(request: Request, fields: Mapping[str, str]) -> Response:
    site: Site = request.app.state.site
    with site.publications.opened() as connection:
        asked = {one.layout for one in unnamed_layouts(connection, site.home)}
    layout = fields.get("layout", "")
    if layout not in asked:
        raise PageError(404, "That monitor has a name already.", ("/inbox", "To the inbox"))
    try:
        name = name_monitor(site.home, layout, fields.get("name", ""))
    except UsageError as error:
        raise PageError(400, str(error), ("/inbox", "To the inbox")) from error
    message = f"The exports of {name} are being read again, and the clubs are fitted anew."
    started = site.errands.start(["reload"], message, "/inbox")
    return RedirectResponse(f"/errands/{started.number}", 303)


def start_demo(request: Request) -> Response:
    """Fill an empty home with the invented academy."""
    site: Site = request.app.state.site
    message = "The invented academy’s exports are being loaded; that takes a minute or two."
    started = site.errands.start(["demo"], message, "/players")
    return RedirectResponse(f"/errands/{started.number}", 303)


def errand(request: Request) -> Response:
    """How a longer work fares."""
    site: Site = request.app.state.site
    found = site.errands.at(request.path_params["number"])
    if found is None:
        raise PageError(404, "That work was done before these pages were started anew.")
    if found.state == "done":
        return RedirectResponse(found.back, 303)
    return page(
        request, "site/errand.html", title="At work", errand=found,
        running=found.state == "running", twin=f"/errands/{found.number}.json",
    )  # fmt: skip


def errand_json(request: Request) -> Response:
    """The same for the page's script."""
    site: Site = request.app.state.site
    found = site.errands.at(request.path_params["number"])
    if found is None:
        raise PageError(404, "That work was done before these pages were started anew.")
    return JSONResponse(
        {
            "running": found.state == "running",
            "state": found.state,
            "told": found.told(),
            "back": found.back,
        }
    )
