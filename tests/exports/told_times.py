"""When the shots were struck, written in one of many forms, or not at all."""

from __future__ import annotations

from datetime import datetime

from tests.exports.draft import Draft, column_word
from tests.exports.printing import Column, pick, resolution, write_clock, write_date, write_instant

_UTC_FORMS = ("iso-z", "iso-offset", "epoch", "epoch-ms")
_NAIVE_FORMS = {
    "en": ("iso", "iso-t", "iso-ms", "slash-mdy", "slash-mdy-bare", "month-word",
           "month-abbreviated", "serial", "year-slash"),
    "de": ("iso", "dots", "dots-short", "month-word"),
    "fr": ("iso", "slash-dmy", "month-word"),
    "es": ("iso", "slash-dmy", "month-word"),
    "sv": ("iso", "iso-t", "month-word"),
}  # fmt: skip


def _truth_moment(moment: datetime) -> str:
    return moment.isoformat(timespec="milliseconds")


def time_columns(draft: Draft) -> None:
    """When the shots were struck, written in one of many forms, or not at all."""
    rng, language, moments = draft.rng, draft.style.language, draft.moments
    one_day = len({m.date() for m in moments}) == 1
    kinds = ["none", "none", "instant", "instant", "instant", "utc", "two", "date"]
    if one_day:
        kinds += ["clock", "clock"]
    kind = str(pick(rng, kinds))
    if kind in ("instant", "utc"):
        form = str(pick(rng, _UTC_FORMS if kind == "utc" else _NAIVE_FORMS[language]))
        cells = [write_instant(m, form, language) for m in moments]
        if form == "serial" and draft.style.numbers.decimal == ",":
            cells = [cell.replace(".", ",") for cell in cells]
        draft.columns.insert(0, Column("time", column_word(draft, "instant"), cells=cells))
        kept = [resolution(form, m) for m in moments]
        draft.struck_at = [_truth_moment(m) for m in kept]
        draft.time_kind = "utc" if kind == "utc" else "naive"
        _open_order(draft, form)
    elif kind in ("two", "date", "clock"):
        _day_and_clock(draft, kind)
    draft.style.trait.add(f"time:{kind}")


def _day_and_clock(draft: Draft, kind: str) -> None:
    rng, language, moments = draft.rng, draft.style.language, draft.moments
    forms = {
        "de": ("iso", "dots", "month-word"),
        "fr": ("slash-dmy", "month-word"),
        "es": ("slash-dmy", "iso"),
        "sv": ("iso", "month-word", "compact"),
    }
    day_form = str(pick(rng, forms.get(language, ("iso", "slash-mdy", "month-word", "compact"))))
    clock_form = str(
        pick(
            rng,
            (
                "24",
                "24",
                "short",
                "12" if language == "en" else "24",
                "h" if language == "fr" else "24",
            ),
        )
    )
    days = [write_date(m, day_form, language) for m in moments]
    if kind == "clock":
        draft.above["date"] = days[0]
    else:
        draft.columns.insert(0, Column("date", column_word(draft, "date"), cells=days))
    if kind != "date":
        cells = [write_clock(m, clock_form) for m in moments]
        draft.columns.insert(
            1 if kind == "two" else 0, Column("time", column_word(draft, "time"), cells=cells)
        )
        draft.struck_at = [_truth_moment(resolution(clock_form, m)) for m in moments]
        draft.time_kind = "naive"
    else:
        draft.struck_at = [f"{m:%Y-%m-%d}" for m in moments]
        draft.time_kind = "date"
    _open_order(draft, day_form)


def _open_order(draft: Draft, form: str) -> None:
    """A file whose dates read both ways may be refused; so may one whose order only hints."""
    if not form.startswith("slash") or draft.style.language != "en":
        return
    if all(m.day <= 12 for m in draft.moments) and any(m.day != m.month for m in draft.moments):
        draft.outcome = ["loaded", "quarantined"]
        draft.style.trait.add("date:open")
