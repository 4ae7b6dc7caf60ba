"""Two gamut bodies for a page that can turn them: plain numbers, no drawing library."""

from __future__ import annotations

from typing import Any

import numpy as np

from laydown.kernel.arrays import Floats, Ints
from laydown.kernel.errors import NotEnoughData
from laydown.report.wording import display_name
from laydown.science.colour import srgb_from_lab
from laydown.usecases.comparison import Comparison, GamutBody


def gamut_3d(comparison: Comparison, candidate: str, *, other: str = "") -> dict[str, Any]:
    """Two gamut bodies: ``candidate`` in its own colours, ``other`` as a grey wire net.

    Parameters
    ----------
    comparison
        The result to draw.
    candidate
        The medium shown as a coloured body.
    other
        A medium or a reference body shown as a wire net; empty: none.

    Returns
    -------
    dict
        ``{"data": [...], "layout": {...}, "alt_text": ...}``; the first two go to ``Plotly.newPlot``.
        Axes are a*, b* and L*.

    Raises
    ------
    NotEnoughData
        Where either has no gamut.
    """
    body = _body(comparison, candidate)
    traces = [_solid(display_name(candidate), body)]
    if other:
        traces.append(_net(display_name(other), _body(comparison, other)))
    beside = f", with {display_name(other)} as a grey net" if other else ""
    return {
        "data": traces,
        "layout": _layout(),
        "alt_text": f"Gamut of {display_name(candidate)} as a body in Lab{beside}; {comparison.condition}.",
    }


def _body(comparison: Comparison, name: str) -> GamutBody:
    for candidate in comparison.candidates:
        if candidate.name == name and candidate.gamut is not None:
            return candidate.gamut
    if name in comparison.references:
        return comparison.references[name]
    raise NotEnoughData(
        f"{display_name(name)} has no gamut.", todo="Choose a medium or reference that has one."
    )


def _solid(name: str, body: GamutBody) -> dict[str, Any]:
    points, faces = body.vertices, body.triangles
    return {
        "type": "mesh3d",
        "name": name,
        "x": _rounded(points[:, 1]),
        "y": _rounded(points[:, 2]),
        "z": _rounded(points[:, 0]),
        "i": faces[:, 0].tolist(),
        "j": faces[:, 1].tolist(),
        "k": faces[:, 2].tolist(),
        "vertexcolor": _colours(points),
        "flatshading": False,
        "lighting": {"ambient": 0.95, "diffuse": 0.15, "specular": 0.0},
        "hovertemplate": "L* %{z:.1f}<br>a* %{x:.1f}<br>b* %{y:.1f}<extra></extra>",
    }


def _net(name: str, body: GamutBody) -> dict[str, Any]:
    ends = _edges(body.triangles)
    lines: Floats = np.full((len(ends) * 3, 3), np.nan)
    lines[0::3], lines[1::3] = body.vertices[ends[:, 0]], body.vertices[ends[:, 1]]
    return {
        "type": "scatter3d",
        "mode": "lines",
        "name": name,
        "x": _rounded(lines[:, 1]),
        "y": _rounded(lines[:, 2]),
        "z": _rounded(lines[:, 0]),
        "line": {"color": "#6f6f6f", "width": 1.5},
        "hoverinfo": "skip",
    }


def _edges(faces: Ints) -> Ints:
    """Every edge of the mesh once."""
    pairs = np.concatenate([faces[:, [0, 1]], faces[:, [1, 2]], faces[:, [2, 0]]])
    return np.unique(np.sort(pairs, axis=1), axis=0)


def _colours(lab: Floats) -> list[str]:
    """The nearest screen colour of each point, as ``#rrggbb``."""
    channels = np.rint(255 * np.clip(srgb_from_lab(lab)[0], 0, 1)).astype(int)
    return [f"#{r:02x}{g:02x}{b:02x}" for r, g, b in channels]


def _rounded(values: Floats) -> list[float | None]:
    """Two decimals, for a small page; a gap is null."""
    return [None if np.isnan(v) else round(float(v), 2) for v in values]


def _layout() -> dict[str, Any]:
    look = {"gridcolor": "#dddddd", "zerolinecolor": "#bbbbbb", "showbackground": False}
    return {
        "scene": {
            "xaxis": {"title": {"text": "a*"}, **look},
            "yaxis": {"title": {"text": "b*"}, **look},
            "zaxis": {"title": {"text": "L*"}, "range": [0, 100], **look},
            "aspectmode": "data",
            "camera": {"eye": {"x": 1.4, "y": -1.4, "z": 0.7}},
        },
        "margin": {"l": 0, "r": 0, "t": 0, "b": 0},
        "showlegend": False,
        "paper_bgcolor": "white",
    }
