"""The pocket card as a PDF: one sheet, two folds, the inner faces upside down until folded."""

from __future__ import annotations

import unicodedata
from dataclasses import dataclass
from datetime import UTC
from functools import lru_cache
from pathlib import Path
from typing import Any

from rangeledger.warehouse.pages.card import CAUTION, CardContent, CardTable


@dataclass(frozen=True, slots=True)
class Paper:
    """A sheet that is folded twice: its name, and its size upright [mm]."""

    name: str
    width_mm: float
    height_mm: float

    @property
    def face_mm(self) -> tuple[float, float]:
        """Width and height of a face."""
        return self.width_mm / 2.0, self.height_mm / 2.0


A4 = Paper("A4", 210.0, 297.0)  # ISO 216
LETTER = Paper("letter", 215.9, 279.4)  # ANSI/ASME Y14.1, size A: 8.5 by 11 inches
PAPERS = {"a4": A4, "letter": LETTER}
_MARGIN_MM = 7.0
_INK, _RULE = (34, 34, 34), (150, 150, 150)
# Fonts with far more letters than a PDF's own, where a machine has them.
_WIDE_FONTS = (
    "/usr/share/fonts/truetype/dejavu/DejaVuSans.ttf",
    "/usr/share/fonts/TTF/DejaVuSans.ttf",
    "/usr/share/fonts/truetype/liberation/LiberationSans-Regular.ttf",
    "/Library/Fonts/Arial Unicode.ttf",
    "C:/Windows/Fonts/arial.ttf",
)


def card_pdf(content: CardContent, paper: Paper = A4) -> bytes:
    """The card as PDF.

    Parameters
    ----------
    content : CardContent
        What stands on it.
    paper : Paper
        The sheet.

    Returns
    -------
    bytes
        One page, upright. Folded back along the middle and then once more, the cover is in
        front; the two upper faces are printed upside down to stand upright inside.
    """
    from fpdf import FPDF

    pdf = FPDF(orientation="portrait", unit="mm", format=paper.name)
    pdf.set_auto_page_break(auto=False)
    pdf.set_margin(0)
    if content.fitted_at is not None:  # the same numbers give the same file
        pdf.set_creation_date(content.fitted_at.replace(tzinfo=UTC))
    pdf.set_title(_plain(f"Pocket card of {content.player}"))
    pdf.set_lang("en")
    pdf.add_page()
    family = _font(pdf, content)
    cover, left, right, back = content.faces
    _folds(pdf, paper)
    size = width, height = paper.face_mm
    _face(pdf, family, cover, (width, height), size, content)
    _face(pdf, family, back, (0.0, height), size, None)
    for face, corner in ((left, (width, 0.0)), (right, (0.0, 0.0))):
        middle = (corner[0] + width / 2, corner[1] + height / 2)
        with pdf.rotation(180, *middle):
            _face(pdf, family, face, corner, size, None)
    return bytes(pdf.output())


def _folds(pdf: Any, paper: Paper) -> None:
    """Faint marks at the edge of the sheet where it is folded."""
    pdf.set_draw_color(*_RULE)
    pdf.set_line_width(0.2)
    across, down = paper.face_mm
    for x in ((0.0, 4.0), (paper.width_mm - 4.0, paper.width_mm)):
        pdf.line(x[0], down, x[1], down)
    for y in ((0.0, 4.0), (paper.height_mm - 4.0, paper.height_mm)):
        pdf.line(across, y[0], across, y[1])


def _face(
    pdf: Any,
    family: str,
    face: CardTable,
    corner: tuple[float, float],
    size: tuple[float, float],
    cover: CardContent | None,
) -> None:
    """One face with its heading, table and note."""
    x, y = corner[0] + _MARGIN_MM, corner[1] + _MARGIN_MM
    width = size[0] - 2.0 * _MARGIN_MM
    pdf.set_text_color(*_INK)
    if cover:
        y = _line(pdf, family, (x, y), width, cover.player, 13.0, bold=True)
        y = _line(pdf, family, (x, y), width, cover.lead, 7.5) + 1.5
    else:
        y = _line(pdf, family, (x, y), width, face.title, 11.0, bold=True) + 1.0
    room = corner[1] + size[1] - y - 15.0
    y = _table(pdf, family, face, (x, y), width, room)
    pdf.set_xy(x, y + 1.2)
    pdf.set_font(family, size=6.6)
    note = f"{face.note} {CAUTION}" if cover else face.note
    pdf.multi_cell(width, 2.9, _written(family, note), align="L")


def _line(
    pdf: Any, family: str, at: tuple[float, float], width: float, words: str, size: float, *,
    bold: bool = False,
) -> float:  # fmt: skip
    """A line of text cut to the width; the height below it."""
    pdf.set_font(family, style="B" if bold else "", size=size)
    shown = _written(family, words)
    while len(shown) > 1 and pdf.get_string_width(shown) > width:
        shown = shown[:-2].rstrip() + ("…" if family != "helvetica" else ".")
    pdf.set_xy(*at)
    pdf.cell(width, 0.45 * size, shown)
    return float(at[1] + 0.45 * size)


def _table(
    pdf: Any, family: str, face: CardTable, at: tuple[float, float], width: float, room: float
) -> float:
    """A table whose rows share the room there is; the height below it."""
    widths = _widths(pdf, family, face, width)
    tall = _heading_height(face)
    height = min(7.4, (room - tall) / max(len(face.rows), 1))
    size = min(10.5, height * 1.75)
    x, y = at
    _headings(pdf, family, face, widths, (x, y), tall)
    y += tall
    pdf.set_draw_color(*_INK)
    pdf.set_line_width(0.3)
    pdf.line(x, y, x + width, y)
    pdf.set_draw_color(*_RULE)
    pdf.set_line_width(0.1)
    for cells in face.rows:
        _row(pdf, family, face, cells, widths, (x, y), height, size)
        y += height
        pdf.line(x, y, x + width, y)
    return y


def _heading_height(face: CardTable) -> float:
    return 3.4 * max(len(_heading_lines(word)) for word in face.headings) + 1.0


def _heading_lines(heading: str) -> list[str]:
    """A heading on one line, or on two with its last word below."""
    first, _, last = heading.rpartition(" ")
    return [first, last] if first and len(heading) > 8 else [heading]


def _headings(
    pdf: Any,
    family: str,
    face: CardTable,
    widths: list[float],
    at: tuple[float, float],
    tall: float,
) -> None:
    """Headings above their columns, standing on the line below."""
    pdf.set_font(family, style="B", size=6.8)
    x = at[0]
    for place, (heading, width) in enumerate(zip(face.headings, widths, strict=True)):
        lines = _heading_lines(heading)
        for number, words in enumerate(lines):
            pdf.set_xy(x, at[1] + tall - 3.4 * (len(lines) - number) - 0.4)
            pdf.cell(width, 3.4, _written(family, words), align=_side(face, place))
        x += width


def _side(face: CardTable, place: int) -> str:
    """Words to the left, numbers to the right."""
    words = any(sign.isalpha() for row in face.rows for sign in row[place])
    return "L" if place == 0 or (words and face.headings[place] != "Side") else "R"


def _row(
    pdf: Any, family: str, face: CardTable, cells: tuple[str, ...], widths: list[float],
    at: tuple[float, float], height: float, size: float,
) -> None:  # fmt: skip
    """Cells side by side."""
    x = at[0]
    for place, (cell, width) in enumerate(zip(cells, widths, strict=True)):
        words = _written(family, cell)
        pdf.set_font(family, style="B" if place == 0 else "", size=size)
        pdf.set_font_size(_fitting(pdf, words, width, size))
        pdf.set_xy(x, at[1])
        pdf.cell(width, height, words, align=_side(face, place))
        x += width


def _fitting(pdf: Any, words: str, width: float, size: float) -> float:
    """Size at which a cell's words fit its width."""
    wide = pdf.get_string_width(words)
    room = width - 1.2
    return size if wide <= room else max(size * room / wide, 4.5)


def _widths(pdf: Any, family: str, face: CardTable, width: float) -> list[float]:
    """Widths of the columns by their longest words."""
    pdf.set_font(family, style="B", size=9.0)
    needs = []
    for place, heading in enumerate(face.headings):
        cells = [row[place] for row in face.rows] + [f"{w} " for w in _heading_lines(heading)]
        needs.append(max(pdf.get_string_width(_written(family, cell)) for cell in cells) + 2.5)
    total = sum(needs)
    return [need * width / total for need in needs]


def _font(pdf: Any, content: CardContent) -> str:
    """A font that has the card's letters: the PDF's own, or one of the machine's."""
    words = [content.player, content.lead]
    words += [cell for face in content.faces for row in face.rows for cell in row]
    if all(_plain(word) == _western(word) for word in words):
        return "helvetica"
    found = _wide_font()
    if found is None:
        return "helvetica"
    pdf.add_font("wide", fname=found)
    pdf.add_font("wide", style="B", fname=found)
    return "wide"


@lru_cache(maxsize=1)
def _wide_font() -> str | None:
    return next((path for path in _WIDE_FONTS if Path(path).is_file()), None)


_SIGNS = {"–": "-", "−": "-", "’": "'", "…": "...", "“": '"', "”": '"'}


def _western(words: str) -> str:
    """Words with our own signs replaced by those that every PDF font has."""
    return "".join(_SIGNS.get(sign, sign) for sign in words)


def _plain(words: str) -> str:
    """Words in the letters of a PDF's own fonts; others lose accents or become a question mark."""
    shown = []
    for sign in _western(words):
        if ord(sign) < 256:
            shown.append(sign)
            continue
        bare = unicodedata.normalize("NFKD", sign).encode("latin-1", "ignore").decode("latin-1")
        shown.append(bare or "?")
    return "".join(shown)


def _written(family: str, words: str) -> str:
    """Words in the letters that a font has."""
    if family == "helvetica":
        return _plain(words)
    there = _wide_letters()
    return "".join(sign if ord(sign) in there else "?" for sign in words)


@lru_cache(maxsize=1)
def _wide_letters() -> frozenset[int]:
    """Code points that the machine's font has."""
    from fontTools.ttLib import TTFont

    found = _wide_font()
    if found is None:
        return frozenset()
    with TTFont(found, lazy=True) as font:
        return frozenset(font.getBestCmap())
