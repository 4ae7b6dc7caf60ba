"""Every patch of one sheet in its measured colour; suspicious patches carry a mark."""

from __future__ import annotations

from laydown.kernel.errors import NotEnoughData
from laydown.report.figures.figure import Figure
from laydown.report.figures.style import INK, Spec, table_text, whole
from laydown.report.wording import display_name
from laydown.usecases.comparison import Comparison, PatchCell, PatchMap

_LONGEST = 180  # characters a caption gives to what is wrong
_MOST_NAMED = 12
_TALLEST = 1.1  # height over width, above which cells are made less tall


def patch_map(
    comparison: Comparison, candidate: str, *, sheet: str = "", condition: str = "", width: int = 640
) -> Figure:
    """Every patch of one sheet in its measured colour; suspicious patches carry a mark.

    Parameters
    ----------
    comparison
        The result to draw.
    candidate
        Which medium.
    sheet
        Which of its sheets; empty: the first with a suspicious patch, or the first.
    condition
        Under which condition; empty: any.
    width
        Width of the whole drawing.

    Returns
    -------
    Figure
        The chart as it was measured. A ring marks a suspicious patch, its name beside it.

    Raises
    ------
    NotEnoughData
        Where there is no such sheet.
    """
    maps = [
        m
        for m in comparison.candidate(candidate).patch_maps
        if sheet in ("", m.sheet) and condition in ("", m.condition)
    ]
    if not maps:
        raise NotEnoughData(
            f"{display_name(candidate)} has no such sheet to show.", todo="Choose one of its sheets."
        )
    chosen = min(maps, key=lambda m: not any(c.suspicion for c in m.cells))
    place = [c.name for c in comparison.candidates].index(candidate) + 1
    which = comparison.candidate(candidate).patch_maps.index(chosen) + 1
    odd = [cell for cell in chosen.cells if cell.suspicion]
    return Figure(
        id=f"patches-{place}-{which}",
        title=f"Patches: {display_name(candidate)}, {display_name(chosen.sheet)}",
        caption=_caption(chosen, odd),
        alt_text=f"Grid of {len(chosen.cells)} measured colours in {chosen.rows} rows. "
        + (f"{len(odd)} marked as suspicious: {', '.join(c.id for c in odd)}." if odd else "None is marked."),
        spec=_spec(chosen, odd, width),
        csv=table_text(
            ("patch", "row", "column", "L*", "a*", "b*", "sRGB", "suspicion"),
            ((c.id, c.row, c.column, *c.lab, c.hex, c.suspicion) for c in chosen.cells),
        ),
    )


def _caption(chosen: PatchMap, odd: list[PatchCell]) -> str:
    layout = "" if chosen.measured_layout else " The file gives no layout: rows were made up, in file order."
    if not odd:
        return f"Measured colours as sRGB; {chosen.condition}. No patch looks wrong.{layout}"
    ringed = "; ".join(f"{display_name(c.id)}: {c.suspicion.rstrip('.')}" for c in odd)
    if len(ringed) > _LONGEST:
        ringed = ", ".join(display_name(c.id) for c in odd[:_MOST_NAMED])
        ringed += f" and {len(odd) - _MOST_NAMED} more" if len(odd) > _MOST_NAMED else ""
        ringed += "; the problems say why"
    return f"Measured colours as sRGB; {chosen.condition}. Ringed: {ringed}.{layout}"


def _spec(chosen: PatchMap, odd: list[PatchCell], width: int) -> Spec:
    inner = width - 14
    step = inner / max(chosen.columns, 1)
    tall = min(step, _TALLEST * inner / max(chosen.rows, 1))
    first_row = min((c.row for c in chosen.cells), default=0)
    first_column = min((c.column for c in chosen.cells), default=0)

    def at(cell: PatchCell) -> Spec:
        left, top = (cell.column - first_column) * step, (cell.row - first_row) * tall
        return {
            "id": display_name(cell.id),
            "x": left,
            "x2": left + step,
            "y": top,
            "y2": top + tall,
            "cx": left + step / 2,
            "cy": top + tall / 2,
            "hex": cell.hex,
        }

    side = min(step, tall)
    marked = [at(cell) for cell in odd]
    middle = {"x": _placed("cx"), "y": _placed("cy")}
    layers: list[Spec] = [
        {
            "data": {"values": [at(cell) for cell in chosen.cells]},
            "mark": {"type": "rect", "stroke": "white", "strokeWidth": 0.75 if side > 8 else 0},
            "encoding": {
                "x": _placed("x"),
                "x2": {"field": "x2"},
                "y": _placed("y"),
                "y2": {"field": "y2"},
                "fill": {"field": "hex", "type": "nominal", "scale": None},
            },
        }
    ]
    for colour, weight in (("white", 4.5), (INK, 1.8)):
        layers.append(
            {
                "data": {"values": marked},
                "mark": {
                    "type": "point",
                    "shape": "circle",
                    "fill": None,
                    "stroke": colour,
                    "strokeWidth": weight,
                    "opacity": 1,
                    "size": max(260.0, (side * 1.25) ** 2),
                },
                "encoding": middle,
            }
        )
    return whole(
        {
            "width": inner,
            "height": round(tall * chosen.rows, 1),
            "layer": [*layers, *_names(marked, side, inner)],
        }
    )


def _names(marked: list[Spec], side: float, width: float) -> list[Spec]:
    """Patch names beside their rings, in ink on a white edge; to the left of a ring near the right edge."""
    offset = max(11.0, side * 0.75)
    layers: list[Spec] = []
    looks: tuple[Spec, ...] = ({"stroke": "white", "strokeWidth": 3.5, "color": "white"}, {"color": INK})
    for align, dx, near_edge in (("left", offset, False), ("right", -offset, True)):
        rows = [m for m in marked if (m["cx"] > width - 70) is near_edge]
        base = {"type": "text", "align": align, "baseline": "middle", "dx": dx, "fontWeight": "bold"}
        place = {"x": _placed("cx"), "y": _placed("cy"), "text": {"field": "id"}}
        layers += [{"data": {"values": rows}, "mark": {**base, **look}, "encoding": place} for look in looks]
    return layers


def _placed(field: str) -> Spec:
    """A place on the page, in its own units."""
    return {"field": field, "type": "quantitative", "scale": None, "axis": None}
