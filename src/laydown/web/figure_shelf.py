"""Keeps the figures of one comparison and their drawings, so that each is drawn once."""

from __future__ import annotations

import re
import threading
from collections import OrderedDict
from collections.abc import Callable
from dataclasses import replace
from typing import TYPE_CHECKING

from laydown.kernel.errors import NotEnoughData
from laydown.usecases.comparison import Comparison

if TYPE_CHECKING:
    from laydown.report.figures import Figure

# Widths a figure is laid out for: a telephone, half a page, a download, a whole page.
NARROW, HALF, ALONE, WHOLE = 340, 520, 640, 1040
WIDTHS = (NARROW, HALF, ALONE, WHOLE)
_FONT = "-apple-system, BlinkMacSystemFont, 'Segoe UI', Roboto, 'Liberation Sans', Arial, sans-serif"
_FACING = re.compile(r"facing-(\d{1,4})-(\d{1,4})")
_SIZE = re.compile(r'width="([\d.]+)" height="([\d.]+)"')
# Shown only in details a reader opens, on a page of their own, or made anew for the chosen candidate.
DRAWN_LATER = ("patches-", "intervals-", "differences-", "against-house-")
_MAP = re.compile(r"map-(\d{1,4})-(\d{1,4})")
# The drawing engine is one interpreter per process: two drawings at once only queue inside it.
_PENCIL = threading.Lock()


class FigureShelf:
    """Figures by id and width, drawings by figure and kind; the oldest drawings are forgotten."""

    def __init__(self, comparison: Comparison, *, drawings: int = 200) -> None:
        self.comparison = comparison
        self._drawings = drawings
        self._figures: dict[int, dict[str, Figure]] = {}
        self._drawn: OrderedDict[tuple[str, int, str], bytes] = OrderedDict()

    def all(self, *, width: int = ALONE) -> tuple[Figure, ...]:
        """Every figure, in reading order."""
        return tuple(self._by_id(width).values())

    def get(self, figure_id: str, *, width: int = ALONE) -> Figure | None:
        """The figure of that id; ``facing-2-0`` and ``map-2-0`` are what those methods make."""
        if facing := _FACING.fullmatch(figure_id):
            return self.facing(int(facing[1]), int(facing[2]), width=width)
        if patches := _MAP.fullmatch(figure_id):
            return self.patch_map(int(patches[1]), int(patches[2]), width=width)
        return self._by_id(width).get(figure_id)

    def facing(self, candidate: int, against: int, *, width: int = ALONE) -> Figure | None:
        """One candidate against any other in every judged finding, by their places."""
        from laydown.report.figures import house_differences

        names = [c.name for c in self.comparison.candidates]
        if not (candidate < len(names) and against < len(names)):
            return None
        seen_from = replace(self.comparison, house=names[against])
        try:
            drawn = house_differences(seen_from, names[candidate], width=width)
        except NotEnoughData:
            return None
        return replace(drawn, id=f"facing-{candidate}-{against}")

    def patch_map(self, medium: int, sheet: int, *, width: int = ALONE) -> Figure | None:
        """The map of one sheet under one condition, by place among the media and among a medium's maps."""
        from laydown.report.figures import patch_map

        media = self.comparison.candidates
        if not (medium < len(media) and sheet < len(media[medium].patch_maps)):
            return None
        wanted = media[medium].patch_maps[sheet]
        drawn = patch_map(
            self.comparison, media[medium].name, sheet=wanted.sheet, condition=wanted.condition, width=width
        )
        return replace(drawn, id=f"map-{medium}-{sheet}")

    def svg(self, figure: Figure, *, width: int = ALONE) -> bytes:
        """The figure as SVG."""
        from laydown.report.figures import figure_svg

        def draw() -> bytes:
            return figure_svg(figure, font=_FONT).encode("utf-8")

        return self._draw((figure.id, width, "svg"), draw)

    def size(self, figure: Figure, *, width: int) -> tuple[int, int]:
        """Width and height of the drawing, so that a page can keep its place before it arrives."""
        head = self.svg(figure, width=width)[:600].decode("utf-8", "replace")
        found = _SIZE.search(head)
        return (round(float(found[1])), round(float(found[2]))) if found else (width, width)

    def draw_for_page(self, against: str) -> None:
        """Draw what the page shows at once, so that it is there when the page is."""
        for figure in page_figures(self, against):
            if not figure.id.startswith(DRAWN_LATER):
                self.svg(figure, width=HALF)

    def png(self, figure: Figure, *, width: int = ALONE) -> bytes:
        """The figure as PNG, three picture elements to a unit."""
        from laydown.report.figures import figure_png

        return self._draw((figure.id, width, "png"), lambda: figure_png(figure, scale=3.0))

    def _by_id(self, width: int) -> dict[str, Figure]:
        from laydown.report.figures import every_figure

        if width not in self._figures:
            self._figures[width] = {f.id: f for f in every_figure(self.comparison, width=width)}
        return self._figures[width]

    def _draw(self, key: tuple[str, int, str], draw: Callable[[], bytes]) -> bytes:
        with _PENCIL:
            if key not in self._drawn:
                self._drawn[key] = draw()
                while len(self._drawn) > self._drawings:
                    self._drawn.popitem(last=False)
            return self._drawn[key]


def page_figures(shelf: FigureShelf, against: str) -> tuple[Figure, ...]:
    """Every figure the page of a comparison may show: all others against the chosen one, then the rest."""
    names = [candidate.name for candidate in shelf.comparison.candidates]
    chosen = names.index(against) if against in names else len(names)
    facing = (shelf.facing(i, chosen, width=HALF) for i in range(len(names)) if i != chosen)
    return (*(figure for figure in facing if figure is not None), *shelf.all(width=HALF))
