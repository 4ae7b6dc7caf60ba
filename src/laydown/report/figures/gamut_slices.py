"""Cuts through the gamuts at chosen lightnesses, side by side."""

from __future__ import annotations

import numpy as np

from laydown.kernel.errors import NotEnoughData
from laydown.report.figures.figure import Figure
from laydown.report.figures.plane import Plane, plane_about
from laydown.report.figures.style import (
    NARROW,
    LineStyle,
    Spec,
    key,
    line_encoding,
    line_styles,
    table_text,
    whole,
)
from laydown.report.wording import display_name, number
from laydown.usecases.comparison import Comparison

_MOST = 6


def gamut_slices(comparison: Comparison, *, levels: tuple[float, ...] = (), width: int = 640) -> Figure:
    """Cuts through the gamuts at chosen lightnesses, side by side, all to one scale.

    Parameters
    ----------
    comparison
        The result to draw.
    levels
        L* to show; empty: at most six of those that were cut, evenly chosen.
    width
        Width of the whole drawing; below 480 two to a row, else three.

    Returns
    -------
    Figure
        One small a*b* plane for each level.

    Raises
    ------
    NotEnoughData
        Where no gamut was cut at any of the levels.
    """
    found = sorted({level for c in comparison.candidates if c.gamut for level in c.gamut.slices})
    wanted = [level for level in found if level in levels] if levels else _evenly(found)
    if not wanted:
        raise NotEnoughData("No gamut was cut at these lightnesses.", todo=f"Cut at: {found or 'none'}.")
    rows = [
        {
            "medium": c.name,
            "level": level,
            "ring": f"{c.name}/{k}",
            "i": i,
            "a": round(float(a), 3),
            "b": round(float(b), 3),
        }
        for c in comparison.candidates
        if c.gamut
        for level in wanted
        for k, ring in enumerate(c.gamut.slices.get(level, ()))
        for i, (a, b) in enumerate(_closed(ring))
    ]
    absent = _absent(comparison, wanted)
    return Figure(
        id="gamut-slices",
        title="Cuts through the gamut",
        caption=f"a*b* outlines at the L* over each panel, all to one scale; {comparison.condition}.{absent}",
        alt_text=f"Small a*b* planes at L* {', '.join(number(v, 0) for v in wanted)}, one outline per medium."
        + absent,
        spec=_spec(comparison, rows, wanted, width),
        csv=table_text(
            ("medium", "L*", "outline", "a*", "b*"),
            ((r["medium"], r["level"], str(r["ring"]).rsplit("/", 1)[1], r["a"], r["b"]) for r in rows),
        ),
    )


def _evenly(found: list[float]) -> list[float]:
    if len(found) <= _MOST:
        return found
    return [found[round(k)] for k in np.linspace(0, len(found) - 1, _MOST)]


def _closed(ring: np.ndarray) -> np.ndarray:
    if len(ring) and not np.array_equal(ring[0], ring[-1]):
        return np.concatenate([ring, ring[:1]])
    return ring


def _absent(comparison: Comparison, wanted: list[float]) -> str:
    """Which media cannot reach which lightness at all."""
    parts = []
    for c in comparison.candidates:
        if c.gamut is None:
            continue
        missing = [number(v, 0) for v in wanted if not c.gamut.slices.get(v)]
        if missing:
            parts.append(f"{display_name(c.name)} has no colour at L* {', '.join(missing)}")
    return f" {'; '.join(parts)}." if parts else ""


def _spec(comparison: Comparison, rows: list[Spec], wanted: list[float], width: int) -> Spec:
    across = min(2 if width < NARROW else 3, len(wanted))
    styles = line_styles(comparison)
    present = {str(r["medium"]) for r in rows}
    styles = {n: s for n, s in styles.items() if n in present}
    points = np.array([(r["a"], r["b"]) for r in rows], dtype=float)
    plane = plane_about(points, width=(width - 60 - 14 * (across - 1)) // across)
    panels = [_panel(rows, level, plane, styles, i, across, len(wanted)) for i, level in enumerate(wanted)]
    lines = [{"hconcat": panels[k : k + across], "spacing": 14} for k in range(0, len(panels), across)]
    total = round(plane.width * across + 14 * (across - 1))
    return whole({"vconcat": [*lines, key(styles, width=total)], "spacing": 14})


def _panel(
    rows: list[Spec],
    level: float,
    plane: Plane,
    styles: dict[str, LineStyle],
    place: int,
    across: int,
    count: int,
) -> Spec:
    left, bottom = place % across == 0, place // across == (count - 1) // across
    return {
        "title": f"L* {number(level, 0)}",
        "width": plane.width,
        "height": plane.height,
        "layer": [
            *plane.zero_lines(),
            {
                "data": {"values": [r for r in rows if r["level"] == level]},
                "mark": {"type": "line", "strokeJoin": "round"},
                "encoding": {
                    "x": plane.x(title="a*" if bottom else None, labels=bottom),
                    "y": plane.y(title="b*" if left else None, labels=left),
                    "order": {"field": "i"},
                    "detail": {"field": "ring"},
                    **line_encoding(styles),
                },
            },
        ],
    }
