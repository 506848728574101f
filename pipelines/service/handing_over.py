"""A command hands its exports over to the service that watches the home, which is warm.

The command leaves a request in the inbox, `.asked-TOKEN.json`, which wakes the service. The service
takes it by renaming it into `.state/asked/`, loads the exports and leaves its answer beside it. A
request that nobody takes, or whose service ends, the command withdraws; it then loads by itself.
"""

from __future__ import annotations

import json
import secrets
import time
from collections.abc import Callable, Sequence
from dataclasses import asdict
from pathlib import Path
from typing import Any

from rangeledger.pipelines.loading.file_names import place_of, place_text, shown
from rangeledger.pipelines.loading.offered import Offered, content_hash
from rangeledger.pipelines.loading.result import Result
from rangeledger.pipelines.service.presence import service_of
from rangeledger.warehouse.home import Home
from rangeledger.warehouse.system.durable_files import write_atomically

_PREFIX, _ENDING, _ANSWER = ".asked-", ".json", ".answer"
_UNTAKEN_S = 5.0
_POLL_S = 0.01
_PRESENCE_POLL_S = 0.5


def _claimed(home: Home, token: str) -> Path:
    return home.state / "asked" / f"{token}{_ENDING}"


def _answer(home: Home, token: str) -> Path:
    return _claimed(home, token).with_suffix(_ANSWER)


def hand_over(
    home: Home, offered: Sequence[Offered], *, meanwhile: Callable[[], None] = lambda: None
) -> list[Result] | None:
    """Have the running service load exports of the inbox.

    Parameters
    ----------
    home : Home
    offered : sequence of Offered
    meanwhile : callable
        Called once the service is asked, before its answer is waited for.

    Returns
    -------
    list of Result or None
        What became of each, in order; None if no service did it. Exports that still lie in the
        inbox are then for the caller to load.
    """
    service = service_of(home)
    if service is None or service.problem or service.doing not in ("watching", "loading"):
        return None
    token = secrets.token_hex(8)
    hashes = [content_hash(one.path) for one in offered]
    places = [place_text(one.path.relative_to(home.inbox)) for one in offered]
    request = home.inbox / f"{_PREFIX}{token}{_ENDING}"
    _claimed(home, token).parent.mkdir(exist_ok=True)
    write_atomically(request, json.dumps(places))
    meanwhile()
    if not _is_answered(home, token, request):
        return None
    answer = _answer(home, token)
    results = [_result(one) for one in json.loads(answer.read_text(encoding="utf-8"))]
    answer.unlink()
    by_path = {one.path: one for one in results}
    found = [by_path.get(str(one.path)) or _from_the_log(home, one, source)
             for one, source in zip(offered, hashes, strict=True)]  # fmt: skip
    return [one for one in found if one is not None]


def _is_answered(home: Home, token: str, request: Path) -> bool:
    """Wait for the answer as long as there is a service that has taken the request."""
    began = checked = time.monotonic()
    while not _answer(home, token).exists():
        time.sleep(_POLL_S)
        now = time.monotonic()
        if now - checked < _PRESENCE_POLL_S:
            continue
        checked = now
        ended = service_of(home) is None
        if (ended or now - began > _UNTAKEN_S) and _withdrawn(request):
            return False
        if ended and not _answer(home, token).exists():
            _claimed(home, token).unlink(missing_ok=True)
            return False
    return True


def _withdrawn(request: Path) -> bool:
    try:
        request.unlink()
    except FileNotFoundError:  # it was taken
        return False
    return True


def _result(fields: dict[str, Any]) -> Result:
    remarks = tuple(
        (str(place), str(sentence), str(by)) for place, sentence, by in fields["remarks"]
    )
    return Result(**{**fields, "remarks": remarks})


def _from_the_log(home: Home, one: Offered, source_file: str) -> Result | None:
    """What became of an export that somebody else took out of the inbox meanwhile."""
    from rangeledger.warehouse.published import published

    with published(home) as connection:
        row = connection.execute(
            "SELECT state, shots, rejected, coalesce(reason, '') FROM ingest_log "
            "WHERE source_file = ? ORDER BY offered_at DESC LIMIT 1", [source_file],
        ).fetchone()  # fmt: skip
    return Result(one.file_name, str(one.path), source_file, *row) if row else None


def serve_requests(home: Home, load: Callable[[list[Offered]], list[Result]]) -> None:
    """Load what commands have handed over, and answer each; the service calls it.

    Parameters
    ----------
    home : Home
    load : callable
        Loads exports and publishes.
    """
    for request in sorted(home.inbox.glob(f"{_PREFIX}*{_ENDING}")):
        token = request.name.removeprefix(_PREFIX).removesuffix(_ENDING)
        claimed = _claimed(home, token)
        try:
            claimed.parent.mkdir(exist_ok=True)
            request.rename(claimed)
            places = json.loads(claimed.read_text(encoding="utf-8"))
            paths = [home.inbox / place_of(str(place)) for place in places]
        except (OSError, ValueError):  # withdrawn, or none of ours
            continue
        try:
            results = load([Offered(path, shown(path.name)) for path in paths])
        except BaseException:
            claimed.rename(request)  # the command loads by itself, and meets what ails the home
            raise
        text = json.dumps([asdict(result) for result in results], ensure_ascii=False)
        write_atomically(_answer(home, token), text)
        claimed.unlink(missing_ok=True)


def forget_requests(home: Home) -> None:
    """Remove what a service that was killed has left; at the start of a service."""
    for path in (home.state / "asked").glob("*"):
        path.unlink(missing_ok=True)
