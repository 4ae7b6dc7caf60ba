"""What a figure is, and how it becomes SVG, PNG or a table of numbers; drawn offline."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

VEGA_LITE = "6.1"


@dataclass(frozen=True, slots=True, eq=False)
class Figure:
    """A figure with the words that must travel with it.

    ``title`` and ``caption`` are set beside the drawing, never inside it; ``caption`` names the condition
    and the number of sheets. ``alt_text`` says what there is to see. ``spec`` is a Vega-Lite specification
    with its numbers inside; ``csv`` holds the same numbers as a table with a heading line.
    """

    id: str
    title: str
    caption: str
    alt_text: str
    spec: Mapping[str, Any]
    csv: str


def figure_svg(figure: Figure, *, font: str = "") -> str:
    """The figure as an SVG document, its text kept as text.

    Parameters
    ----------
    figure
        What to draw.
    font
        A font family to name in place of the figure's own, for a page set in another face.

    Returns
    -------
    str
        An SVG document.
    """
    import vl_convert

    spec = dict(figure.spec)
    if font:
        spec["config"] = {**spec.get("config", {}), "font": font}
    return str(vl_convert.vegalite_to_svg(spec, vl_version=VEGA_LITE))


def figure_png(figure: Figure, *, scale: float = 2.0) -> bytes:
    """The figure as a PNG file; ``scale`` 2 gives two picture elements for each unit of width.

    Parameters
    ----------
    figure
        What to draw.
    scale
        Picture elements per unit of the figure's width and height; above 0.

    Returns
    -------
    bytes
        A PNG file.
    """
    import vl_convert

    return bytes(vl_convert.vegalite_to_png(dict(figure.spec), vl_version=VEGA_LITE, scale=scale))


def figure_csv(figure: Figure) -> str:
    """The numbers of the figure as comma-separated text with one heading line."""
    return figure.csv
