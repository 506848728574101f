"""Reading and fitting are pure: a test that repeats loads remembers what they gave."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from rangeledger.pipelines.loading import load
from rangeledger.pipelines.loading.offered import Offered, content_hash
from rangeledger.pipelines.running import fitting

_known: dict[str, dict[Any, Any]] = {}


def remember_reading_and_fits(monkeypatch: pytest.MonkeyPatch) -> None:
    """Read, judge and fit what is equal once in this process."""
    monkeypatch.setattr(load, "read_one", _remembering(load.read_one, _export_key))
    monkeypatch.setattr(load, "judge", _remembering(load.judge, _rows_key))
    monkeypatch.setattr(fitting, "fit_player", _remembering(fitting.fit_player, _shots_key))


def _remembering(function: Callable[..., Any], key: Callable[..., Any]) -> Callable[..., Any]:
    known = _known.setdefault(function.__name__, {})

    def remembered(*words: Any) -> Any:
        found = key(*words)
        if found not in known:
            known[found] = function(*words)
        return known[found]

    return remembered


def _export_key(_home: object, defaults: object, offered: Offered) -> object:
    note = offered.note
    stated = note.read_text() if note else ""
    return content_hash(offered.path), offered.file_name, stated, str(defaults)


def _rows_key(shots: Any) -> object:
    return shots.hash_rows().sum()


def _shots_key(shots: Any, *more: object) -> object:
    return shots.height, shots.drop("extras", strict=False).hash_rows().sum(), str(more)
