"""Keeps the figures of recent comparisons and their drawings, so that each is drawn once."""

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

_FONT = "system-ui, -apple-system, 'Segoe UI', Roboto, 'Liberation Sans', sans-serif"


_FACING = re.compile(r"facing-(\d{1,4})-(\d{1,4})")


class FigureShelf:
    """Figures by comparison and id, drawings by figure and kind; the oldest are forgotten."""

    def __init__(self, *, comparisons: int = 6, drawings: int = 200) -> None:
        self._comparisons = comparisons
        self._drawings = drawings
        self._figures: OrderedDict[int, tuple[Comparison, dict[str, Figure]]] = OrderedDict()
        self._drawn: OrderedDict[tuple[int, str, str], bytes] = OrderedDict()
        self._lock = threading.Lock()
        # The drawing engine is one interpreter per process: two drawings at once only queue inside it.
        self._pencil = threading.Lock()

    def all_of(self, comparison: Comparison) -> tuple[Figure, ...]:
        """Every figure of a comparison, in reading order."""
        return tuple(self._by_id(comparison).values())

    def get(self, comparison: Comparison, figure_id: str) -> Figure | None:
        """The figure of that id; ``facing-2-0`` holds the third candidate against the first."""
        facing = _FACING.fullmatch(figure_id)
        if facing:
            return self.facing(comparison, int(facing[1]), int(facing[2]))
        return self._by_id(comparison).get(figure_id)

    def facing(self, comparison: Comparison, candidate: int, against: int) -> Figure | None:
        """One candidate against any other in every judged finding, by their places."""
        from laydown.report.figures import house_differences

        names = [c.name for c in comparison.candidates]
        if not (candidate < len(names) and against < len(names)):
            return None
        try:
            drawn = house_differences(replace(comparison, house=names[against]), names[candidate])
        except NotEnoughData:
            return None
        return replace(drawn, id=f"facing-{candidate}-{against}")

    def patch_map(self, comparison: Comparison, medium: int, sheet: int) -> Figure | None:
        """The map of one sheet under one condition, by place among the media and among a medium's maps."""
        from laydown.report.figures import patch_map

        try:
            candidate = comparison.candidates[medium]
            wanted = candidate.patch_maps[sheet]
        except IndexError:
            return None
        drawn = patch_map(comparison, candidate.name, sheet=wanted.sheet, condition=wanted.condition)
        return replace(drawn, id=f"patches-{medium}-{sheet}")

    def svg(self, comparison: Comparison, figure: Figure) -> bytes:
        """The figure as SVG."""
        from laydown.report.figures import figure_svg

        return self._draw(comparison, figure, "svg", lambda: figure_svg(figure, font=_FONT).encode("utf-8"))

    def png(self, comparison: Comparison, figure: Figure) -> bytes:
        """The figure as PNG, three picture elements to a unit."""
        from laydown.report.figures import figure_png

        return self._draw(comparison, figure, "png", lambda: figure_png(figure, scale=3.0))

    def _by_id(self, comparison: Comparison) -> dict[str, Figure]:
        key = id(comparison)  # kept alive beside its figures, so the id is not used again
        with self._lock:
            held = self._figures.get(key)
            if held is not None:
                self._figures.move_to_end(key)
                return held[1]
        from laydown.report.figures import every_figure

        figures = {figure.id: figure for figure in every_figure(comparison)}
        with self._lock:
            self._figures[key] = (comparison, figures)
            while len(self._figures) > self._comparisons:
                gone, _ = self._figures.popitem(last=False)
                for drawing in [k for k in self._drawn if k[0] == gone]:
                    del self._drawn[drawing]
        return figures

    def _draw(self, comparison: Comparison, figure: Figure, kind: str, draw: Callable[[], bytes]) -> bytes:
        key = (id(comparison), figure.id, kind)
        with self._pencil:
            if key not in self._drawn:
                self._drawn[key] = draw()
                while len(self._drawn) > self._drawings:
                    self._drawn.popitem(last=False)
            return self._drawn[key]
