"""A nesting as a drawing to scale: pieces, cuts, what stays bare and what is left over, in mm and inches."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby, pairwise
from xml.sax.saxutils import escape

from laydown.report.lengths import length_words
from laydown.report.symptom_drawings.strokes import area, arrow, line, rect
from laydown.report.wording import display_name
from laydown.science.forms.nested import Cut, Nesting, PlacedPiece, RollMedia
from laydown.science.forms.nesting import nesting_words
from laydown.trials.studio import Units

FONT = "Liberation Sans, Arial, Helvetica, sans-serif"
WIDTH = 960.0
LINES_ON_PAPER = 4  # of a drawing as wide as a page: room is left for words
_EVERY = 10_000
_LEFT, _RIGHT, _HEAD, _FOOT = 66.0, 70.0, 52.0, 50.0
_SCALE, _LOWEST, _HIGHEST = 0.36, 150.0, 320.0  # units for each mm, and how high a roll is drawn
_CHARACTER = 0.56  # mean width of a character for its size, measured on this font
INK, FAINT, EDGE = "#1b1b1b", "#5a5a5a", "#8f8f8f"
BARE, LOST, LEFT_OVER = "#efefef", "#cfcfcf", "#ffffff"
_FILLS = {"print": "#ffffff", "spare": "#e2e2e2", "scrap": "#bdbdbd"}
_USES = {"print": "print", "spare": "spare", "scrap": "for handling tests"}


@dataclass(frozen=True, slots=True)
class _Part:
    """A stretch of the roll, or a sheet, that stands on a line of its own or beside others."""

    sheet: int
    first_mm: float
    last_mm: float
    title: str
    numbered: bool
    stub: str = ""


@dataclass(frozen=True, slots=True)
class _View:
    """Where a part stands on the drawing and how large."""

    part: _Part
    left: float
    top: float
    scale: float

    def x(self, along_mm: float) -> float:
        """From mm along the feed."""
        return self.left + (along_mm - self.part.first_mm) * self.scale

    def y(self, across_mm: float) -> float:
        """From mm across it."""
        return self.top + across_mm * self.scale


def nesting_svg(nesting: Nesting, *, codes: Mapping[str, str] | None = None) -> str:
    """A nesting as an SVG document in greys; the feed runs from left to right.

    Parameters
    ----------
    nesting
        What is drawn. A long roll is broken into several lines; sheets laid out alike are drawn once.
    codes
        For the label of a piece ("test 1") what stands on it; else its own label does.

    Returns
    -------
    str
        An SVG document without style, script or id, with a title that says the same in words.
    """
    return nesting_svgs(nesting, codes=codes, lines=_EVERY)[0]


def nesting_svgs(
    nesting: Nesting, *, codes: Mapping[str, str] | None = None, lines: int = LINES_ON_PAPER
) -> tuple[str, ...]:
    """The same as several drawings of so many lines each, so that each goes onto a sheet of paper."""
    media = nesting.room.media
    parts = _parts(nesting)
    longest = max(part.last_mm - part.first_mm for part in parts)
    high = min(max(_SCALE * media.width_mm, _LOWEST), _HIGHEST)
    scale = min(high / media.width_mm, (WIDTH - _LEFT - _RIGHT) / longest)
    tops = {view.part: view.top for view in _placed(parts, scale, media.width_mm)}
    starts = sorted(set(tops.values()))
    drawings = []
    for first in range(0, len(starts), lines):
        here = set(starts[first : first + lines])
        views = _placed([part for part in parts if tops[part] in here], scale, media.width_mm)
        drawings.append(_drawing(nesting, list(views), codes or {}))
    return tuple(drawings)


def _drawing(nesting: Nesting, views: Sequence[_View], codes: Mapping[str, str]) -> str:
    drawn = [shape for view in views for shape in _drawn(nesting, view, codes)]
    foot = max((view.y(nesting.room.media.width_mm) for view in views), default=0.0) + _FOOT
    key = _key(nesting, foot + 8.0)
    height = foot + 30.0
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH:.0f} {height:.0f}" role="img" '
        f'font-family="{FONT}"><title>{escape(nesting_words(nesting))}</title>'
        f"{rect(0, 0, WIDTH, round(height), '#ffffff')}{''.join(drawn)}{''.join(key)}</svg>"
    )


def both_units(mm: float) -> str:
    """A length in mm and in inches."""
    return f"{length_words(mm, units='metric')} · {length_words(mm, units='inch')}"


def _parts(nesting: Nesting) -> list[_Part]:
    if isinstance(nesting.room.media, RollMedia):
        return _stretches(nesting)
    high = nesting.room.media.height_mm
    alike = groupby(range(nesting.sheets_used), key=lambda sheet: _pattern(nesting, sheet))
    found = []
    for _, group in alike:
        sheets = list(group)
        first, last = sheets[0] + 1, sheets[-1] + 1
        title = f"Sheet {first}" if first == last else f"Sheets {first} to {last}, alike"
        found.append(_Part(sheets[0], 0.0, high, title, first == last))
    return found or [_Part(0, 0.0, high, "Sheet 1: nothing on it", True)]


def _pattern(nesting: Nesting, sheet: int) -> tuple[tuple[str, float, float], ...]:
    return tuple((one.name, one.box.left_mm, one.box.top_mm) for one in nesting.pieces if one.sheet == sheet)


def _stretches(nesting: Nesting) -> list[_Part]:
    """The used length, broken behind rows wherever a line is full."""
    used = nesting.used_mm or nesting.room.lead_mm + nesting.room.tail_mm
    high = min(max(_SCALE * nesting.room.media.width_mm, _LOWEST), _HIGHEST)
    room = (WIDTH - _LEFT - _RIGHT) * nesting.room.media.width_mm / high
    breaks, first = [0.0], 0.0
    ends = [row.bottom_mm for row in nesting.rows[:-1]] + [used]
    for number, end in enumerate(ends):
        before = ends[number - 1] if number else 0.0
        if end - first > room and before > first:
            breaks.append(before)
            first = before
    breaks.append(used)
    stub = ""
    if nesting.left_mm is None:
        stub = "not stated"
    elif nesting.left_mm > 0.0:
        stub = both_units(nesting.left_mm)
    return [
        _Part(
            0,
            start,
            end,
            "Roll, from the leading edge" if not start else f"on from {both_units(start)}",
            True,
            stub if end == used else "",
        )
        for start, end in pairwise(breaks)
    ]


def _placed(parts: Sequence[_Part], scale: float, width_mm: float) -> Iterator[_View]:
    left, top = _LEFT, _HEAD
    for part in parts:
        long = (part.last_mm - part.first_mm) * scale
        if left > _LEFT and left + long > WIDTH - _RIGHT + 1.0:
            left, top = _LEFT, top + width_mm * scale + _FOOT + _HEAD
        yield _View(part, left, top, scale)
        left += long + _LEFT


def _drawn(nesting: Nesting, view: _View, codes: Mapping[str, str]) -> Iterator[str]:
    room, part = nesting.room, view.part
    wide = room.media.width_mm
    yield _words(view.left, view.top - 29.0, part.title, size=12, bold=True)
    yield _box(view, part.first_mm, 0.0, part.last_mm, wide, BARE)
    if isinstance(room.media, RollMedia):
        end = nesting.used_mm or 0.0
        yield from _lost(view, 0.0, room.lead_mm, wide, "lead")
        yield from _lost(view, end - room.tail_mm, end, wide, "tail")
    for one in nesting.pieces:
        if one.sheet == part.sheet and part.first_mm <= one.box.top_mm < part.last_mm:
            name = codes.get(one.label, one.label) if part.numbered else one.name
            yield from _piece(one, view, name=display_name(name))
    for number, row in enumerate(nesting.rows, start=1):
        if row.sheet == part.sheet and part.first_mm <= row.top_mm < part.last_mm:
            middle = view.x((row.top_mm + row.bottom_mm) / 2.0)
            words = f"row {number}" if part.numbered else ""
            yield _words(middle, view.top - 8.0, words, size=10, middle=True, fill=FAINT)
    here = [cut for cut in nesting.cuts if cut.sheet == part.sheet]
    yield from _cuts(here, view)
    yield from _measures(nesting, view)
    if part.stub:
        yield from _stub(view, wide)


def _lost(view: _View, start: float, stop: float, wide: float, name: str) -> Iterator[str]:
    """Roll that runs through without being printed."""
    first, last = max(start, view.part.first_mm), min(stop, view.part.last_mm)
    if last <= first:
        return
    yield _box(view, first, 0.0, last, wide, LOST)
    if (last - first) * view.scale > 16.0:
        words = f"{name} {both_units(stop - start)}"
        yield _words(view.x((first + last) / 2.0) + 4.0, view.y(wide / 2.0), words, middle=True, turned=True)


def _box(
    view: _View, first: float, left: float, last: float, right: float, fill: str, stroke: str = EDGE
) -> str:
    x, y = view.x(first), view.y(left)
    return rect(
        x, y, (last - first) * view.scale, (right - left) * view.scale, fill, stroke=stroke, stroke_width=0.8
    )


def _piece(one: PlacedPiece, view: _View, *, name: str) -> Iterator[str]:
    box = one.box
    yield _box(view, box.top_mm, box.left_mm, box.bottom_mm, box.right_mm, _FILLS[one.use], stroke=INK)
    long, high = box.height_mm * view.scale, box.width_mm * view.scale
    x, y = view.x((box.top_mm + box.bottom_mm) / 2.0), view.y((box.left_mm + box.right_mm) / 2.0)
    size = [f"{_plain(box.width_mm, 'metric')} x {length_words(box.height_mm, units='metric')}"]
    size.append(f"{_plain(box.width_mm, 'inch')} x {length_words(box.height_mm, units='inch')}")
    if one.turned:
        size.append("turned")
    turned = long < high and long < max(_wide(name, 13.0), _wide(size[0], 10.0) + 4.0)
    room, depth = (high, long) if turned else (long, high)
    lines = [(name, 13.0, True)] if _wide(name, 13.0) < room - 4.0 else [(name, 10.0, True)]
    lines += [(words, 10.0, False) for words in size if _wide(words, 10.0) < room - 4.0]
    while lines and sum(height + 4.0 for _, height, _ in lines) > depth:
        lines.pop()
    at = -sum(height + 4.0 for _, height, _ in lines) / 2.0
    for words, height, bold in lines:
        at += height + 4.0
        if _wide(words, height) < room - 2.0:
            dx, dy = (at - 4.0, 0.0) if turned else (0.0, at - 4.0)
            yield _words(x + dx, y + dy, words, size=height, bold=bold, middle=True, turned=turned)


def _plain(mm: float, units: Units) -> str:
    return length_words(mm, units=units).rsplit(" ", 1)[0]


def _cuts(cuts: Sequence[Cut], view: _View) -> Iterator[str]:
    part = view.part
    last_label, level = -1e9, 0
    for cut in sorted(cuts, key=lambda one: (one.row is not None, one.at_mm)):
        if cut.way == "along":
            if part.first_mm <= cut.from_mm < part.last_mm:
                yield _dashed(view.x(cut.from_mm), view.y(cut.at_mm), view.x(cut.to_mm), view.y(cut.at_mm))
            continue
        if not part.first_mm <= cut.at_mm <= part.last_mm:
            continue
        x = view.x(cut.at_mm)
        beyond = 6.0 if cut.row is None else 0.0
        yield _dashed(x, view.y(cut.from_mm) - beyond / 2.0, x, view.y(cut.to_mm) + beyond)
        if cut.row is None:
            level = 1 - level if x - last_label < 62.0 else 0
            last_label = x
            down = view.y(cut.to_mm) + 18.0 + 24.0 * level
            yield line(x, view.y(cut.to_mm) + beyond, x, down - 9.0, FAINT, 0.6)
            yield _words(x, down, length_words(cut.at_mm, units="metric"), size=10, middle=True)
            yield _words(
                x, down + 11.0, length_words(cut.at_mm, units="inch"), size=10, middle=True, fill=FAINT
            )


def _measures(nesting: Nesting, view: _View) -> Iterator[str]:
    """How wide the medium is, and which way it runs."""
    wide = nesting.room.media.width_mm
    x, top, bottom = view.left - 14.0, view.y(0.0), view.y(wide)
    yield line(x, top, x, bottom, FAINT, 0.8)
    yield line(x - 4.0, top, x + 4.0, top, FAINT, 0.8)
    yield line(x - 4.0, bottom, x + 4.0, bottom, FAINT, 0.8)
    yield _words(x - 8.0, (top + bottom) / 2.0, both_units(wide), size=11, middle=True, turned=True)
    start = view.left + _wide(view.part.title, 13.0) + 16.0
    yield arrow(start, view.top - 33.0, start + 34.0, view.top - 33.0, FAINT, 1.2)
    yield _words(start + 42.0, view.top - 29.0, "feed", size=11, fill=FAINT)


def _stub(view: _View, wide: float) -> Iterator[str]:
    """What is left on the roll: broken off, not to scale."""
    x, top, bottom = view.x(view.part.last_mm), view.y(0.0), view.y(wide)
    steps = 7
    ragged = [
        (x + 42.0 + (5.0 if number % 2 else 0.0), bottom + (top - bottom) * number / steps)
        for number in range(steps + 1)
    ]
    yield area([(x, top), (x, bottom), *ragged], LEFT_OVER, stroke=EDGE, stroke_width=0.8)
    yield _words(x + 26.0, (top + bottom) / 2.0, f"left: {view.part.stub}", size=10, middle=True, turned=True)


def _key(nesting: Nesting, top: float) -> Iterator[str]:
    x = _LEFT
    for use, words in _USES.items():
        if any(one.use == use for one in nesting.pieces):
            yield rect(x, top - 10.0, 14.0, 12.0, _FILLS[use], stroke=INK, stroke_width=0.8)
            yield _words(x + 20.0, top, words, size=11)
            x += 44.0 + _wide(words, 11.0)
    yield _dashed(x, top - 4.0, x + 26.0, top - 4.0)
    yield _words(x + 32.0, top, "cut; figures from the leading edge", size=11)


def _dashed(x1: float, y1: float, x2: float, y2: float) -> str:
    return line(x1, y1, x2, y2, INK, 1.0, stroke_dasharray="5 3", stroke_linecap="butt")


def _wide(words: str, size: float) -> float:
    return _CHARACTER * size * len(words)


def _words(
    x: float,
    y: float,
    words: str,
    *,
    size: float = 11.0,
    bold: bool = False,
    middle: bool = False,
    turned: bool = False,
    fill: str = INK,
) -> str:
    told = f' font-size="{size:g}" fill="{fill}"' + (' font-weight="bold"' if bold else "")
    told += ' text-anchor="middle"' if middle else ""
    told += f' transform="rotate(-90 {x:.1f} {y:.1f})"' if turned else ""
    return f'<text x="{x:.1f}" y="{y:.1f}"{told}>{escape(words)}</text>'
