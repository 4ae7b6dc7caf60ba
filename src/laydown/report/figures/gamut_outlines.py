"""Greatest chroma at every hue, seen from above: one outline per candidate."""

from __future__ import annotations

import numpy as np

from laydown.kernel.arrays import Floats
from laydown.kernel.errors import NotEnoughData
from laydown.report.figures.figure import Figure
from laydown.report.figures.plane import plane_about
from laydown.report.figures.style import LineStyle, Spec, key, line_encoding, line_styles, table_text, whole
from laydown.report.wording import display_name, number
from laydown.usecases.comparison import Comparison, GamutBody

_HUES = 180
_MOST_REFERENCES = 2
_WIDEST = 470  # wider, and the drawing would not fit a screen or half a page


def gamut_outlines(
    comparison: Comparison, *, references: tuple[str, ...] | None = None, width: int = 640
) -> Figure:
    """Greatest chroma at every hue, seen from above: one outline per candidate.

    The outline is the shadow of the gamut on the a*b* plane. It says nothing about the lightness at which
    a colour can be had: for that, see `gamut_slices`.

    Parameters
    ----------
    comparison
        The result to draw.
    references
        Names of reference bodies to draw as thin grey lines; None: the first two there are.
    width
        Width of the whole drawing.

    Returns
    -------
    Figure
        Outlines in the a*b* plane, both axes to one scale.

    Raises
    ------
    NotEnoughData
        Where no candidate has a gamut.
    """
    rings = {c.name: hue_outline(c.gamut) for c in comparison.candidates if c.gamut is not None}
    if not rings:
        raise NotEnoughData("No medium has a gamut.", todo="Measure a chart that spans the device colours.")
    shown = tuple(comparison.references)[:_MOST_REFERENCES] if references is None else references
    others = {n: hue_outline(body) for n, body in comparison.references.items() if n in shown}
    hull = [c.name for c in comparison.candidates if c.gamut is not None and c.gamut.bound == "hull"]
    upper = f" Upper bounds (convex hulls) for {', '.join(display_name(n) for n in hull)}." if hull else ""
    grey = f" For comparison, thin and grey: {', '.join(others)}." if others else ""
    return Figure(
        id="gamut-outlines",
        title="Gamut seen from above",
        caption=(
            f"Greatest chroma at each hue, at whatever lightness it is found; {comparison.condition}."
            f"{grey}{upper}"
        ),
        alt_text=_alt(rings),
        spec=_spec(comparison, rings, others, width),
        csv=table_text(
            ("body", "a*", "b*"),
            ((n, float(p[0]), float(p[1])) for n, ring in (rings | others).items() for p in ring),
        ),
    )


def hue_outline(body: GamutBody, *, hues: int = _HUES) -> Floats:
    """Farthest crossing of the mesh with a ray at each hue: (hues + 1, 2), closed.

    Parameters
    ----------
    body
        A closed mesh that holds the neutral axis.
    hues
        How many rays.

    Returns
    -------
    ndarray
        a*, b*; hues that the mesh does not reach are left out.
    """
    faces = body.triangles
    edges = np.unique(
        np.sort(np.concatenate([faces[:, [0, 1]], faces[:, [1, 2]], faces[:, [2, 0]]]), axis=1), axis=0
    )
    p, q = body.vertices[edges[:, 0], 1:], body.vertices[edges[:, 1], 1:]
    ring = []
    for angle in np.linspace(0, 2 * np.pi, hues, endpoint=False):
        along, across = np.array([np.cos(angle), np.sin(angle)]), np.array([-np.sin(angle), np.cos(angle)])
        sp, sq = p @ across, q @ across
        hit = (sp * sq <= 0) & (sp != sq)
        t = sp[hit] / (sp[hit] - sq[hit])
        reach = ((p[hit] + t[:, None] * (q[hit] - p[hit])) @ along).max(initial=0.0)
        if reach > 0:
            ring.append(reach * along)
    return np.array([*ring, ring[0]]) if ring else np.empty((0, 2))


def _spec(comparison: Comparison, rings: dict[str, Floats], others: dict[str, Floats], width: int) -> Spec:
    styles = {n: s for n, s in line_styles(comparison).items() if n in rings}
    everything = np.concatenate([*rings.values(), *others.values()])
    plane = plane_about(everything, width=min(width - 62, _WIDEST))
    at = {"x": plane.x(), "y": plane.y(), "order": {"field": "i"}, "detail": {"field": "medium"}}
    for name, dash in zip(others, ((1.0, 0.0), (1.5, 2.0), (5.0, 2.5)), strict=False):
        styles[name] = LineStyle(name, dash, "circle", "#a6a6a6", 1.1)
    layers = plane.zero_lines()
    layers.append(
        {
            "data": {"values": _rows({n: (rings | others)[n] for n in (*others, *rings)})},
            "mark": {"type": "line", "strokeJoin": "round"},
            "encoding": {**at, **line_encoding(styles)},
        }
    )
    main = {"width": plane.width, "height": plane.height, "layer": layers}
    return whole({"vconcat": [main, key(styles, width=round(plane.width))], "spacing": 16})


def _rows(rings: dict[str, Floats]) -> list[Spec]:
    return [
        {"medium": name, "i": i, "a": round(float(a), 3), "b": round(float(b), 3)}
        for name, ring in rings.items()
        for i, (a, b) in enumerate(ring)
    ]


def _alt(rings: dict[str, Floats]) -> str:
    reach = {n: float(np.hypot(r[:, 0], r[:, 1]).mean()) for n, r in rings.items() if len(r)}
    order = sorted(reach, key=lambda n: -reach[n])
    listed = "; ".join(f"{display_name(n)} {number(reach[n], 0)}" for n in order)
    return (
        f"Gamut outlines in the a*b* plane, one inside another. Mean greatest chroma over all hues: {listed}."
    )
