"""Text as outlines in mm, so that it is drawn as exactly as an edge and the same in every file."""

from __future__ import annotations

from functools import cache
from io import BytesIO
from typing import Any

import numpy as np

from laydown.kernel.arrays import Floats
from laydown.kernel.errors import BadSetting

MM_PER_POINT = 25.4 / 72.0
_CURVE_PIECES = 8


def text_outlines(text: str, *, left_mm: float, baseline_mm: float, size_pt: float) -> tuple[Floats, ...]:
    """The outlines of one line of text.

    Parameters
    ----------
    text : what is written; letters, digits and marks of plain English
    left_mm, baseline_mm : where it begins, and the line it stands on
    size_pt : size of the type in points of 1/72 in

    Returns
    -------
    tuple of closed outlines (n, 2) in mm; holes run the other way round

    Raises
    ------
    BadSetting
        if the typeface has no such letter.

    Notes
    -----
    The typeface is the one that comes with the imaging library, whose author has waived all rights in it.
    Kerning is left out.

    Checked against
    ---------------
    The imaging library's own drawing of the same text, as the share of ink and the width.
    """
    font = _font()
    scale = size_pt * MM_PER_POINT / font.units
    outlines, at = [], left_mm
    for letter in text:
        contours, advance = font.letter(letter)
        outlines += [one * (scale, -scale) + (at, baseline_mm) for one in contours]
        at += advance * scale
    return tuple(outlines)


def text_width_mm(text: str, *, size_pt: float) -> float:
    """How wide a line of text is.

    Parameters
    ----------
    text : what is written
    size_pt : size of the type in points

    Returns
    -------
    mm

    Checked against
    ---------------
    The imaging library's length of the same text.
    """
    font = _font()
    return sum(font.letter(letter)[1] for letter in text) * size_pt * MM_PER_POINT / font.units


class _Font:
    """Letters of a typeface as outlines in its own units, y upwards."""

    def __init__(self, content: bytes) -> None:
        from fontTools.ttLib import TTFont

        font = TTFont(BytesIO(content))
        self.units = float(font["head"].unitsPerEm)
        self._glyphs: Any = font.getGlyphSet()
        self._names: dict[int, str] = font.getBestCmap()
        self._known: dict[str, tuple[tuple[Floats, ...], float]] = {}

    def letter(self, letter: str) -> tuple[tuple[Floats, ...], float]:
        """Its outlines and how far the next letter stands."""
        if letter not in self._known:
            if ord(letter) not in self._names:
                raise BadSetting(f'the form cannot show "{letter}".', todo="Use plain letters and digits.")
            glyph = self._glyphs[self._names[ord(letter)]]
            self._known[letter] = _outlines(glyph, self._glyphs), float(glyph.width)
        return self._known[letter]


@cache
def _font() -> _Font:
    from PIL import ImageFont

    loaded = ImageFont.load_default(size=20)
    if not isinstance(loaded, ImageFont.FreeTypeFont):
        raise BadSetting("the imaging library was built without outline fonts.", todo="Install its wheel.")
    return _Font(loaded.font_bytes)


def _outlines(glyph: Any, glyphs: Any) -> tuple[Floats, ...]:
    from fontTools.pens.recordingPen import DecomposingRecordingPen

    pen = DecomposingRecordingPen(glyphs)
    glyph.draw(pen)
    outlines: list[Floats] = []
    points: list[tuple[float, float]] = []
    for what, where in pen.value:
        if what == "moveTo":
            points = [where[0]]
        elif what == "lineTo":
            points.append(where[0])
        elif what == "qCurveTo" and where[-1] is None:  # an outline of nothing but controls
            (x0, y0), (x1, y1) = where[-2], where[0]
            begin = ((x0 + x1) / 2.0, (y0 + y1) / 2.0)
            points = _through(begin, (*where[:-1], begin))
        elif what == "qCurveTo":
            points += _through(points[-1], where)
        elif what == "closePath":
            outlines.append(np.array(points, dtype=np.float64))
    return tuple(outlines)


def _through(start: tuple[float, float], where: tuple[tuple[float, float], ...]) -> list[tuple[float, float]]:
    """Points along quadratic curves; between two controls there is a point half way."""
    points: list[tuple[float, float]] = []
    share = np.arange(1, _CURVE_PIECES + 1)[:, None] / _CURVE_PIECES
    at = np.array(start)
    for number, control in enumerate(where[:-1]):
        bend = np.array(control)
        last = number == len(where) - 2
        end = np.array(where[-1]) if last else (bend + np.array(where[number + 1])) / 2.0
        curve = (1 - share) ** 2 * at + 2 * share * (1 - share) * bend + share**2 * end
        points += [(float(x), float(y)) for x, y in curve]
        at = end
    return points
