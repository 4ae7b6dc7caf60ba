"""The patch maps: every sheet that has one, and the patches that look wrong."""

from __future__ import annotations

from dataclasses import dataclass

from laydown.report.wording import display_name, number
from laydown.usecases.comparison import Comparison, PatchMap


@dataclass(frozen=True, slots=True)
class SuspectView:
    """A patch that looks wrong: where it is, why it was marked, with what was measured and what was done."""

    candidate: str
    sheet: str
    condition: str
    patch: str
    place: str
    why: str


@dataclass(frozen=True, slots=True)
class MapChoice:
    """A link to one patch map."""

    label: str
    href: str
    chosen: bool
    marked: int


@dataclass(frozen=True, slots=True)
class PatchesView:
    """One patch map, large, with links to all others."""

    id: str
    title: str
    invented: bool
    media: tuple[MapChoice, ...]
    sheets: tuple[MapChoice, ...]
    heading: str
    caption: str
    alt: str
    base: str
    suspects: tuple[SuspectView, ...]


def patches_view(
    comparison_id: str, comparison: Comparison, *, medium: int, sheet: int | None
) -> PatchesView | None:
    """The view of one map, by place among the media and among a medium's maps; None where there is none.

    Without a ``sheet``, the map with most marks.
    """
    here = f"/comparisons/{comparison_id}/patches"
    if not (0 <= medium < len(comparison.candidates)):
        return None
    candidate = comparison.candidates[medium]
    if sheet is None:
        most = max(candidate.patch_maps, key=marked, default=None)
        sheet = next((i for i, m in enumerate(candidate.patch_maps) if m is most), 0)
    if not (0 <= sheet < len(candidate.patch_maps)):
        return None
    shown = candidate.patch_maps[sheet]
    media = tuple(
        MapChoice(display_name(c.name), f"{here}?medium={i}", i == medium, sum(map(marked, c.patch_maps)))
        for i, c in enumerate(comparison.candidates)
        if c.patch_maps
    )
    sheets = tuple(
        MapChoice(
            f"{display_name(m.sheet)}, {m.condition}",
            f"{here}?medium={medium}&sheet={i}",
            m is shown,
            marked(m),
        )
        for i, m in enumerate(candidate.patch_maps)
    )
    name = display_name(candidate.name)
    return PatchesView(
        id=comparison_id,
        title=display_name(comparison.title) or "Comparison",
        invented=comparison.invented,
        media=media,
        sheets=sheets,
        heading=f"{name}, {display_name(shown.sheet)}",
        caption=_caption(shown),
        alt=f"Patch map of {name}, {display_name(shown.sheet)}. {_caption(shown)}",
        base=f"/comparisons/{comparison_id}/figures/map-{medium}-{sheet}",
        suspects=suspects_of(comparison, candidate=candidate.name, only=shown),
    )


def _caption(shown: PatchMap) -> str:
    layout = (
        "in the places they have on the sheet"
        if shown.measured_layout
        else "in the order of the file, which does not say where they lie on the sheet"
    )
    return f"{number(len(shown.cells), 0)} patches {layout}; {shown.condition}; {_marked_words(shown)}."


def _marked_words(shown: PatchMap) -> str:
    count = marked(shown)
    return {0: "no patch looks wrong", 1: "1 patch looks wrong"}.get(count, f"{count} patches look wrong")


def suspects_of(
    comparison: Comparison, *, candidate: str = "", only: PatchMap | None = None
) -> tuple[SuspectView, ...]:
    """Every marked patch, or those of one candidate or one map."""
    return tuple(
        SuspectView(
            display_name(c.name), display_name(m.sheet), m.condition, cell.id,
            f"row {cell.row + 1}, column {cell.column + 1}" if m.measured_layout else "",
            cell.suspicion,
        )
        for c in comparison.candidates if candidate in ("", c.name)
        for m in c.patch_maps if only is None or only is m
        for cell in m.cells if cell.suspicion
    )  # fmt: skip


def marked(patch_map: PatchMap) -> int:
    """How many patches of a map look wrong."""
    return sum(bool(cell.suspicion) for cell in patch_map.cells)
