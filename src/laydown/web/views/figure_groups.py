"""Figures in sections: what is shown where on the page of a comparison, and with which words."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from laydown.web.figure_shelf import DRAWN_LATER, HALF, FigureShelf

if TYPE_CHECKING:
    from laydown.report.figures import Figure


@dataclass(frozen=True, slots=True)
class FigureView:
    """A figure: where its drawing and its numbers are, and the words that go with it."""

    id: str
    title: str
    caption: str
    alt: str
    base: str
    size: tuple[int, int] | None


@dataclass(frozen=True, slots=True)
class FigureGroup:
    """Figures under one heading."""

    id: str
    title: str
    figures: tuple[FigureView, ...]


# Sections of figures: id, heading, and the beginnings of the ids of their figures in the order shown.
_GROUPS = (
    ("differences", "Differences and their intervals", ("facing",)),
    ("tone", "White, tone and greys", ("white", "tone-neutral", "grey", "tone")),
    ("gamut", "Colour range", ("gamut",)),
    ("further", "Further figures", ("",)),
)


def figure_groups(
    comparison_id: str, shelf: FigureShelf, figures: Sequence[Figure]
) -> tuple[FigureGroup, ...]:
    """The figures the page shows at once, in sections, each with the size of its drawing."""
    gathered: dict[str, list[tuple[int, Figure]]] = {}
    for figure in figures:
        if figure.id.startswith(DRAWN_LATER):
            continue
        group, starts = next((g, s) for g, _, s in _GROUPS if figure.id.startswith(s))
        place = next(i for i, start in enumerate(starts) if figure.id.startswith(start))
        gathered.setdefault(group, []).append((place, figure))
    return tuple(
        FigureGroup(
            group,
            title,
            tuple(
                figure_view(comparison_id, figure, shelf.size(figure, width=HALF))
                for _, figure in sorted(gathered[group], key=lambda placed: placed[0])
            ),
        )
        for group, title, _ in _GROUPS
        if group in gathered
    )


def figure_view(comparison_id: str, figure: Figure, size: tuple[int, int] | None = None) -> FigureView:
    """A figure and where its drawing and numbers are; ``size`` where it is known."""
    base = f"/comparisons/{comparison_id}/figures/{figure.id}"
    return FigureView(figure.id, figure.title, figure.caption, figure.alt_text, base, size)
