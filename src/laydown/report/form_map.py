"""A page of a form as a map in greys: where each element lies, and what a scan showed of it."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from xml.sax.saxutils import escape

from laydown.report.symptom_drawings.strokes import line, rect
from laydown.science.forms.geometry import PageGeometry, Placed

WIDTH = 480.0
_EDGE = 6.0
INK, PLAIN, LOST = "#1b1b1b", "#dcdcdc", "#ffffff"
_FOLDED = ("spacer", "row label", "column label", "row mark", "words", "arrow")


def form_map_svg(
    geometry: PageGeometry, *, doubted: Collection[tuple[str, str]] = (), lost_marks: Collection[str] = ()
) -> str:
    """A map of a page; elements in ``doubted`` (kind and name) are crossed out, marks not used stay hollow.

    An SVG document without style, script or id.
    """
    scale = (WIDTH - 2.0 * _EDGE) / geometry.width_mm
    height = geometry.height_mm * scale + 2.0 * _EDGE
    title = f"Map of form {geometry.form}, page {geometry.page}: {len(geometry.elements)} elements"
    shapes = [rect(_EDGE, _EDGE, WIDTH - 2.0 * _EDGE, height - 2.0 * _EDGE, "#ffffff", stroke=INK)]
    for one in geometry.elements:
        if one.kind not in _FOLDED:
            shapes += _element(one, scale, (one.kind, one.name) in doubted, one.name in lost_marks)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH:.0f} {height:.0f}" role="img">'
        f"<title>{escape(title)}</title>{''.join(shapes)}</svg>"
    )


def _element(one: Placed, scale: float, doubted: bool, lost: bool) -> Iterator[str]:
    x, y = _EDGE + one.box.left_mm * scale, _EDGE + one.box.top_mm * scale
    wide, high = one.box.width_mm * scale, one.box.height_mm * scale
    if one.kind == "mark":
        yield rect(x, y, wide, high, LOST if lost else INK, stroke=INK, stroke_width=1.2)
        return
    yield rect(x, y, wide, high, LOST if doubted else PLAIN, stroke="#8f8f8f", stroke_width=0.5)
    if doubted:
        yield line(x, y, x + wide, y + high, INK, 0.8)
        yield line(x, y + high, x + wide, y, INK, 0.8)
