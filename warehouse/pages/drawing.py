"""The few strokes that our plots are made of: inline SVG, plain, legible in print and to all eyes.

Colours are those of Okabe and Ito's public palette for the colour-blind; no meaning hangs on a
colour alone, every mark differs in shape or dash too.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from markupsafe import Markup, escape
from rangeledger.models.arrays import FloatArray

# Okabe and Ito (2008), Color universal design: from memory. Each may be another on a dark ground,
# where the page says so; what is drawn with ink takes the colour of the text around it.
ORANGE, SKY, GREEN, YELLOW, BLUE, VERMILION, PURPLE = (
    f"var(--draw-{name}, {colour})"
    for name, colour in (
        ("orange", "#E69F00"), ("sky", "#56B4E9"), ("green", "#009E73"), ("yellow", "#F0E442"),
        ("blue", "#0072B2"), ("vermilion", "#D55E00"), ("purple", "#CC79A7"),
    )
)  # fmt: skip
INK = BLACK = "currentColor"
FAINT, PAPER = "var(--draw-faint, #C9C9C9)", "var(--paper, #fff)"


@dataclass(frozen=True, slots=True)
class Scale:
    """A straight scale from data to pixels.

    Parameters
    ----------
    low, high : float
        Ends in data.
    start, end : float
        Their pixels.
    """

    low: float
    high: float
    start: float
    end: float

    def __call__(self, value: float) -> float:
        """Pixel of a value."""
        share = (value - self.low) / (self.high - self.low)
        return self.start + share * (self.end - self.start)

    def many(self, values: FloatArray) -> FloatArray:
        """Pixels of values."""
        share = (values - self.low) / (self.high - self.low)
        return np.asarray(self.start + share * (self.end - self.start))


def nice_step(span: float, most: int) -> float:
    """Step of 1, 2 or 5 times a power of ten that cuts a span into at most so many parts."""
    rough = max(span, 1e-9) / most
    power = 10.0 ** math.floor(math.log10(rough))
    return next(step * power for step in (1.0, 2.0, 5.0, 10.0) if step * power >= rough - 1e-12)


def ticks(low: float, high: float, most: int = 6) -> list[float]:
    """Round values inside a span."""
    step = nice_step(high - low, most)
    first = math.ceil(low / step - 1e-9)
    return [round(k * step, 9) for k in range(first, math.floor(high / step + 1e-9) + 1)]


def figure(width: int, height: int, title: str, description: str, parts: Iterable[str]) -> Markup:
    """An SVG element with a title and a description for those who can't see it.

    Parameters
    ----------
    width, height : int
        Size in pixels; the element scales to the width it is given.
    title, description : str
        Read out in place of the picture.
    parts : iterable of str
        Elements made by this module.

    Returns
    -------
    markupsafe.Markup
    """
    summary = f"{escape(title)}. {escape(description)}"
    return Markup(
        f'<svg viewBox="0 0 {width} {height}" role="img" aria-label="{summary}" '
        f'xmlns="http://www.w3.org/2000/svg" font-size="11" fill="{INK}">'
        f"<title>{escape(title)}</title>{''.join(parts)}</svg>"
    )


def line(
    x1: float, y1: float, x2: float, y2: float, colour: str = FAINT, width: float = 1.0,
    dash: str = "",
) -> str:  # fmt: skip
    """A straight line."""
    dashed = f' stroke-dasharray="{dash}"' if dash else ""
    return (
        f'<line x1="{x1:.1f}" y1="{y1:.1f}" x2="{x2:.1f}" y2="{y2:.1f}" stroke="{colour}" '
        f'stroke-width="{width:g}"{dashed}/>'
    )


def path(
    points: Sequence[tuple[float, float]], colour: str, *, width: float = 1.5, fill: str = "none",
    opacity: float = 1.0, dash: str = "", close: bool = False,
) -> str:  # fmt: skip
    """A polyline, closed and filled if wanted."""
    if not points:
        return ""
    steps = " ".join(f"{x:.1f},{y:.1f}" for x, y in points)
    dashed = f' stroke-dasharray="{dash}"' if dash else ""
    filled = f' fill-opacity="{opacity:g}"' if fill != "none" else ""
    end = "Z" if close else ""
    return (
        f'<path d="M{steps}{end}" fill="{fill}"{filled} stroke="{colour}" '
        f'stroke-width="{width:g}"{dashed} stroke-linejoin="round"/>'
    )


def text(
    x: float, y: float, words: str, *, anchor: str = "start", size: float = 11, bold: bool = False,
    colour: str = INK, halo: bool = False,
) -> str:  # fmt: skip
    """A line of text; anything in it is shown as it is."""
    weight = ' font-weight="600"' if bold else ""
    around = f' paint-order="stroke" stroke="{PAPER}" stroke-width="3"' if halo else ""
    return (
        f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}" font-size="{size:g}" '
        f'fill="{colour}"{weight}{around}>{escape(words)}</text>'
    )


def dots(
    x: FloatArray, y: FloatArray, colour: str, *, size: float = 5.0, opacity: float = 0.6
) -> str:
    """Round marks as one path: a few bytes each, however many there are."""
    if not len(x):
        return ""
    steps = "".join(f"M{a:.1f} {b:.1f}h0" for a, b in zip(x, y, strict=True))
    return (
        f'<path d="{steps}" stroke="{colour}" stroke-opacity="{opacity:g}" '
        f'stroke-width="{size:g}" stroke-linecap="round" fill="none"/>'
    )


def disc(x: float, y: float, colour: str, size: float = 6.0) -> str:
    """One round mark."""
    return dots(np.array([x]), np.array([y]), colour, size=size, opacity=1)


def crosses(x: FloatArray, y: FloatArray, colour: str, *, size: float = 2.6) -> str:
    """Crossed marks as one path."""
    if not len(x):
        return ""
    s = f"{size:g}"
    steps = "".join(
        f"M{a - size:.1f} {b - size:.1f}l{2 * size:g} {2 * size:g}m0-{2 * size:g}l-{2 * size:g} "
        f"{2 * size:g}"
        for a, b in zip(x, y, strict=True)
    )
    return f'<path d="{steps}" stroke="{colour}" stroke-width="1.4" fill="none" data-size="{s}"/>'


def diamond(x: float, y: float, colour: str, size: float = 5.5) -> str:
    """A diamond, for what stands out."""
    corners = [(x, y - size), (x + size, y), (x, y + size), (x - size, y)]
    return path(corners, INK, width=1.0, fill=colour, close=True)


def ellipse_points(
    centre: tuple[float, float], half_axes: tuple[float, float], angle_deg: float, count: int = 60
) -> list[tuple[float, float]]:
    """Points of an ellipse on the ground.

    Parameters
    ----------
    centre : tuple of float
        Side and carry.
    half_axes : tuple of float
        Longer and shorter half-axis.
    angle_deg : float
        Longer axis from the target line, right positive [deg].
    count : int
        Number of points.

    Returns
    -------
    list of tuple of float
        Side and carry of each point.
    """
    turn = math.radians(angle_deg)
    points = []
    for step in range(count):
        along = half_axes[0] * math.cos(2.0 * math.pi * step / count)
        across = half_axes[1] * math.sin(2.0 * math.pi * step / count)
        side = centre[0] + along * math.sin(turn) + across * math.cos(turn)
        points.append((side, centre[1] + along * math.cos(turn) - across * math.sin(turn)))
    return points


def band_bar(low: float, centre: float, high: float) -> Markup:
    """A band with its centre, as small as a line of a table; the numbers stand beside it.

    Parameters
    ----------
    low, centre, high : float
        Places [px] on a width of 160.

    Returns
    -------
    markupsafe.Markup
        Hidden from screen readers, which read the numbers.
    """
    parts = (
        line(0, 8, 160, 8), line(low, 8, high, 8, SKY, 8.0),
        line(centre, 1, centre, 15, BLACK, 2.0),
    )  # fmt: skip
    return Markup(
        f'<svg class="bar" viewBox="0 0 160 16" aria-hidden="true">{"".join(parts)}</svg>'
    )
