"""Random exports with known truth, to judge the whole reader by files nobody fitted it to."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import pairwise
from typing import Any

import numpy as np

from tests.exports.columns import Style, extra_columns, number_columns
from tests.exports.draft import Draft, column_word, random_draft
from tests.exports.layouts import (
    Sheet,
    block_lines,
    encoded,
    preamble,
    random_dialect,
    table_lines,
    transposed_lines,
)
from tests.exports.oddities import shout_names, split_sides, wind_above
from tests.exports.others import random_other
from tests.exports.printing import CLUB_STYLES, Column, club_word, pick, swing_word
from tests.exports.spoiling import spoil
from tests.exports.told_times import time_columns
from tests.exports.trade_words import BALL_WORDS, FULL_SWING, SURFACE_WORDS
from tests.exports.traps import (
    footer,
    mis_scale,
    ragged,
    repeat_lines,
    rival_columns,
    state_units,
    summary_table,
)


@dataclass
class GeneratedExport:
    """One file, its note and the truth about it.

    Parameters
    ----------
    name : str
        File name.
    content : bytes
        The file.
    truth : dict
        What a reader should find, in the form of the example answers.
    note : str or None
        Text of the note file beside it.
    """

    name: str
    content: bytes
    truth: dict[str, Any]
    note: str | None = None


def random_export(seed: int) -> GeneratedExport:
    """The export that belongs to a seed.

    Parameters
    ----------
    seed : int
        Any number; the same seed always gives the same file.

    Returns
    -------
    GeneratedExport
        About one file in eight is no export at all, and must be refused.
    """
    rng = np.random.default_rng(seed)
    if rng.random() < 0.12:
        name, text, hard = random_other(rng)
        return GeneratedExport(name, text, _refused_truth(name, hard))
    draft = random_draft(rng)
    draft.statements = state_units(draft.style, rng)
    _name_columns(draft)
    time_columns(draft)
    numbers, data, tolerance = number_columns(draft.shots, draft.style, rng)
    draft.data |= data
    draft.tolerance |= tolerance
    extras = extra_columns(draft.shots, draft.style, rng)
    if mis_scale(numbers, draft.data, draft.style, rng):
        draft.outcome = ["loaded", "quarantined"]
    draft.columns += _shuffled(numbers, rng) + extras
    rival_columns(draft.columns, draft.data, draft.tolerance, draft.shots, draft.style, rng)
    if extras and rng.random() < 0.3:
        draft.columns = draft.columns[:2] + _shuffled(draft.columns[2:], rng)
    split_sides(draft)
    shout_names(draft)
    _facts_above(draft)
    wind_above(draft)
    return _written(draft, seed)


def _refused_truth(name: str, hard: str) -> dict[str, Any]:
    return {
        "file": name, "outcome": ["quarantined"], "tags": ["other"], "hard": hard, "sessions": [0],
        "source_row": [], "optional_rows": [], "must_reject": [], "may_reject": [], "data": {},
        "tol": {}, "derivable": {}, "struck_at": None, "time_kind": None,
    }  # fmt: skip


def _shuffled(columns: list[Column], rng: np.random.Generator) -> list[Column]:
    return [columns[i] for i in rng.permutation(len(columns))] if rng.random() < 0.5 else columns


def _name_columns(draft: Draft) -> None:
    """Club, swing, player, ball and surface: in the rows, or above the table, or not at all."""
    rng, language = draft.rng, draft.style.language
    style = str(pick(rng, CLUB_STYLES))
    clubs = draft.shots["club"].to_list()
    draft.columns.append(
        Column(
            "club", column_word(draft, "club"), cells=[club_word(c, language, style) for c in clubs]
        )
    )
    draft.data["club"] = list(clubs)
    if "swing" in draft.shots.columns:
        draft.style.trait.add("swing:clock")
        swings = draft.shots["swing"].to_list()
        which = int(rng.integers(3))
        cells = [
            FULL_SWING[language] if s == "full" else swing_word(s, language, which) for s in swings
        ]
        draft.columns.append(Column("swing", column_word(draft, "swing"), cells=cells))
        draft.data["swing"] = list(swings)
    several = len(set(draft.players)) > 1
    if several or rng.random() < 0.3:
        draft.columns.insert(
            0, Column("player", column_word(draft, "player"), cells=list(draft.players))
        )
        draft.data["player"] = list(draft.players)
    for name, words in (("ball", BALL_WORDS), ("surface", SURFACE_WORDS)):
        if rng.random() < 0.1:
            meaning = str(pick(rng, words[language]))
            cells = [words[language][meaning]] * len(clubs)
            draft.columns.append(Column(name, column_word(draft, name), cells=cells))
            draft.data[name] = [meaning] * len(clubs)


def _facts_above(draft: Draft) -> None:
    """Facts on lines above the table or in a note file."""
    rng = draft.rng
    n = len(draft.shots)
    facts: dict[str, Any] = {}
    if "player" not in draft.data and rng.random() < 0.4:
        facts["player"] = draft.players[0]
    if rng.random() < 0.2:
        facts["air_temp_c"] = float(rng.integers(4, 33))
    if rng.random() < 0.1:
        facts["altitude_m"] = float(rng.integers(0, 900))
    in_note = bool(facts) and "date" not in draft.above and rng.random() < 0.35
    for key, value in facts.items():
        draft.data[key] = [value] * n
        draft.tolerance[key] = 0.1
        if in_note:
            draft.note[key] = value
        else:
            unit = {"air_temp_c": " °C", "altitude_m": " m"}.get(key, "")
            draft.above[key] = value if isinstance(value, str) else f"{value:.0f}{unit}"
    if in_note and draft.struck_at is None and rng.random() < 0.5:
        draft.note["date"] = f"{draft.moments[0]:%Y-%m-%d}"
        draft.struck_at, draft.time_kind = [draft.note["date"]] * n, "date"


def _sessions(draft: Draft) -> list[int]:
    """Number of sessions: a new one for every player, day, and gap of three hours."""
    if draft.time_kind is None:
        return [len(set(draft.data.get("player", ["unknown"])))]
    by_player: dict[str, list[datetime]] = {}
    named = "player" in draft.data
    for player, at in zip(draft.players, draft.struck_at or [], strict=True):
        by_player.setdefault(player if named else "", []).append(datetime.fromisoformat(at))
    count = 0
    for times in by_player.values():
        ordered = sorted(times)
        apart = timedelta(hours=3)
        count += 1 + sum(b.date() != a.date() or b - a >= apart for a, b in pairwise(ordered))
    return [count]


def _written(draft: Draft, seed: int) -> GeneratedExport:
    rng, style = draft.rng, draft.style
    spoilt = spoil(draft.columns, draft.data, style, rng)
    order = list(range(len(draft.shots)))
    if draft.time_kind in ("utc", "naive") and "date" not in draft.above and rng.random() < 0.08:
        order.reverse()
        style.trait.add("newest-first")
    sheet = Sheet()
    if draft.above or draft.statements:
        style.trait.add("preamble")
        preamble(sheet, style, draft.above, rng, wide=rng.random() < 0.5, more=draft.statements)
    summary_table(sheet, draft.shots, style, rng)
    by = [c for c in draft.columns if c.name in ("club", "player")]
    several = [c for c in by if len(set(c.cells)) > 1]
    chance = rng.random()
    if chance < 0.06 and several:
        block_lines(sheet, draft.columns, order, several[-1], style, rng)
    elif chance < 0.12 and _may_turn(sheet, style, order) and not spoilt:
        transposed_lines(sheet, draft.columns, order, style)
    else:
        table_lines(sheet, draft.columns, order, style, rng, draft.shots["club"].to_list())
        spoilt |= ragged(sheet, style, rng)
        repeat_lines(sheet, style, rng, draft.time_kind in ("utc", "naive"))
        footer(sheet, len(order), style, rng)
    dialect = random_dialect(rng, style)
    content, line_numbers = encoded(sheet, dialect)
    truth = _truth(draft, sheet, line_numbers, spoilt)
    truth["tags"] += [f"enc:{dialect.encoding}", f"delim:{dialect.delimiter}"]
    truth["file"] = f"g{seed}.csv"
    note = _note_text(draft.note)
    return GeneratedExport(truth["file"], content, truth, note)


def _may_turn(sheet: Sheet, style: Style, order: list[int]) -> bool:
    """Whether the table may stand on its side: alone in the file, short, in order."""
    return not sheet.lines and len(order) < 60 and "newest-first" not in style.trait


def _note_text(note: dict[str, Any]) -> str | None:
    if not note:
        return None
    return "".join(
        f'{k} = "{v}"\n' if isinstance(v, str) else f"{k} = {v}\n" for k, v in note.items()
    )


def _truth(
    draft: Draft, sheet: Sheet, line_numbers: list[int], spoilt: dict[int, tuple[str, str]]
) -> dict[str, Any]:
    style = draft.style
    lines = [(n, line) for n, line in zip(line_numbers, sheet.lines, strict=True)]
    transposed = "transposed" in style.trait
    if transposed:
        rows = [(k + 1, k) for k in range(len(draft.shots))]
        draft.outcome = ["loaded", "quarantined"]
    else:
        rows = [(n, line.shot) for n, line in lines if line.what == "shot"]
    must = [[n, spoilt[s][1]] for n, s in rows if s in spoilt and spoilt[s][0] == "must"]
    optional = [n for n, s in rows if s in spoilt and spoilt[s][0] == "optional"]
    taken = [(n, s) for n, s in rows if spoilt.get(s, ("", ""))[0] != "must"]
    repeated = [[n, "a repeated line"] for n, line in lines if line.what == "repeated"]
    must += repeated
    if must:
        draft.outcome = [o.replace("loaded", "loaded-with-rejects") for o in draft.outcome]
    if optional:
        draft.outcome = ["loaded", "loaded-with-rejects", *draft.outcome]
    shots = [s for _, s in taken]
    tags = [
        f"lang:{style.language}",
        f"units:{style.unit_place}",
        f"num:{style.numbers.decimal}{style.numbers.thousands}",
        f"sides:{style.sides}",
    ]
    tags += ["left-positive"] * style.left_positive + [f"carry:{style.carry}"] + sorted(style.trait)
    return {
        "outcome": draft.outcome,
        "tags": tags,
        "hard": " ".join(tags),
        "sessions": _sessions(draft),
        "source_row": [n for n, _ in taken] if not transposed else [],
        "any_rows": transposed,
        "optional_rows": optional,
        "must_reject": must,
        "may_reject": [
            [n, line.what] for n, line in lines if line.what not in ("shot", "repeated")
        ],
        "data": {name: [values[s] for s in shots] for name, values in draft.data.items()},
        "tol": draft.tolerance,
        "derivable": dict.fromkeys(_derivable(draft), True),
        "struck_at": [draft.struck_at[s] for s in shots] if draft.struck_at else None,
        "time_kind": draft.time_kind,
        "note": draft.note or None,
        "printed": {c.name: f"{c.heading} | {c.unit_word} | {c.cells[0]}" for c in draft.columns},
    }


def _derivable(draft: Draft) -> list[str]:
    """Columns that follow from others, so that a reader may fill them or leave them empty."""
    heads = {c.heading for c in draft.columns}
    smash = {"Smash factor", "Smash-Faktor", "Facteur de frappe", "Factor de golpeo", "Smashfaktor"}
    roll = {"Roll", "Ausrollen", "Roule", "Rodada", "Rull"}
    found = ["clubhead_speed_mps"] if heads & smash else []
    found += ["total_m"] if heads & roll else []
    return [name for name in found if name not in draft.data]
