"""How figures look: greys only, media told apart by dash, shape and weight; colour is measured colour."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from laydown.report.wording import display_name, short_names
from laydown.usecases.comparison import Comparison

Spec = dict[str, Any]

SCHEMA = "https://vega.github.io/schema/vega-lite/v6.json"
FONT = "Liberation Sans, Arial, Helvetica, sans-serif"
INK = "#111111"
MIDDLE = "#5a5a5a"
FAINT = "#767676"
RULE = "#cfcfcf"
BAND = "#e9e9e9"
NARROW = 480
LABEL_SIZE = 12
_CHARACTER = 6.1  # mean width of a character at LABEL_SIZE, measured on this font

_DASHES: tuple[tuple[float, ...], ...] = ((1, 0), (7, 3), (2, 2.5), (10, 3, 2, 3), (4, 2))
_SHAPES = ("circle", "triangle-up", "diamond", "cross", "triangle-down")
_INKS = (("#3a3a3a", 1.5), ("#8a8a8a", 1.5), ("#3a3a3a", 2.4))  # the next once every dash is used up


@dataclass(frozen=True, slots=True)
class LineStyle:
    """How one medium is drawn."""

    label: str
    dash: tuple[float, ...]
    shape: str
    grey: str
    weight: float


def line_styles(comparison: Comparison, *, characters: int = 30) -> dict[str, LineStyle]:
    """A style per candidate, by full name: the house medium heavy and solid, others by dash and shape."""
    labels = short_names([c.name for c in comparison.candidates], characters)
    styles: dict[str, LineStyle] = {}
    others = 0
    for candidate in comparison.candidates:
        label = labels[candidate.name]
        if candidate.house:
            styles[candidate.name] = LineStyle(label, (1.0, 0.0), "square", INK, 3.2)
            continue
        turn, place = divmod(others, len(_DASHES))
        grey, weight = _INKS[turn % len(_INKS)]
        shape = _SHAPES[(place + turn) % len(_SHAPES)]
        styles[candidate.name] = LineStyle(label, _DASHES[place], shape, grey, weight)
        others += 1
    return styles


def by_medium(styles: Mapping[str, LineStyle], part: str) -> Spec:
    """An encoding of ``medium`` by one part of its style (``dash``, ``shape``, ``grey`` or ``weight``)."""
    values = [getattr(style, part) for style in styles.values()]
    return {
        "field": "medium",
        "type": "nominal",
        "scale": {
            "type": "ordinal",  # else weights are spread evenly from first to last
            "domain": list(styles),
            "range": [list(v) if isinstance(v, tuple) else v for v in values],
        },
        "legend": None,
    }


def line_encoding(styles: Mapping[str, LineStyle]) -> Spec:
    """Dash, weight and grey by medium, for a line."""
    return {
        "strokeDash": by_medium(styles, "dash"),
        "strokeWidth": by_medium(styles, "weight"),
        "stroke": by_medium(styles, "grey"),
    }


def config() -> Spec:
    """The look shared by every figure."""
    return {
        "font": FONT,
        "view": {"stroke": None},
        "axis": {
            "domain": False,
            "grid": True,
            "gridColor": "#ececec",
            "ticks": False,
            "labelColor": MIDDLE,
            "labelFontSize": 11,
            "labelPadding": 6,
            "titleColor": INK,
            "titleFontSize": 12,
            "titleFontWeight": "normal",
            "titlePadding": 8,
        },
        "text": {"fontSize": LABEL_SIZE, "color": INK},
        "header": {"labelColor": INK, "labelFontSize": 12},
        "title": {"color": INK, "fontSize": 12, "fontWeight": "normal", "anchor": "start", "frame": "group"},
        "concat": {"spacing": 14},
    }


def whole(parts: Spec) -> Spec:
    """A complete specification: the schema, the look and a white ground around ``parts``."""
    return {
        "$schema": SCHEMA,
        "background": "white",
        "padding": 6,
        "config": config(),
        **parts,
    }


def label_width(styles: Mapping[str, LineStyle]) -> int:
    """Room that the longest label needs beside a drawing."""
    return round(max((len(s.label) for s in styles.values()), default=0) * _CHARACTER) + 34


def key(styles: Mapping[str, LineStyle], *, width: int, points: bool = False) -> Spec:
    """The key below a drawing: a piece of each medium's line, or its shape with ``points``; then its name."""
    wanted = label_width(styles) + 24
    columns = max(1, min(len(styles), width // wanted))
    step = width / columns
    rows: list[Spec] = []
    for i, (name, style) in enumerate(styles.items()):
        row, column = divmod(i, columns)
        rows.append({"medium": name, "label": style.label, "x": column * step, "y": row * 19 + 9})
    y = {"field": "y", "type": "quantitative", "axis": None, "scale": None}
    x = {"field": "x", "type": "quantitative", "axis": None, "scale": None}
    names = [{**row, "x": row["x"] + (20 if points else 38)} for row in rows]
    if points:
        layers: list[Spec] = [
            {
                "data": {"values": [{**row, "x": row["x"] + 7} for row in rows]},
                "mark": {"type": "point", "filled": True, "size": 70, "opacity": 1, "color": INK},
                "encoding": {"x": x, "y": y, "shape": by_medium(styles, "shape")},
            }
        ]
    else:
        layers = [
            {
                "data": {"values": [{**row, "x": row["x"] + dx} for row in rows for dx in (0, 30)]},
                "mark": {"type": "line"},
                "encoding": {"x": x, "y": y, "detail": {"field": "medium"}, **line_encoding(styles)},
            }
        ]
    layers.append(
        {
            "data": {"values": names},
            "mark": {"type": "text", "align": "left", "baseline": "middle"},
            "encoding": {"x": x, "y": y, "text": {"field": "label"}},
        }
    )
    height = 19 * (-(-len(styles) // columns))
    return {"width": width, "height": height, "layer": layers}


def table_text(heading: Sequence[str], rows: Iterable[Sequence[object]]) -> str:
    """Comma-separated text with one heading line; numbers at full precision."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(heading)
    writer.writerows([_cell(v) for v in row] for row in rows)
    return out.getvalue()


def _cell(value: object) -> object:
    """Text that a spreadsheet would run as a formula is given a leading apostrophe."""
    if isinstance(value, str):
        shown = display_name(value)
        return f"'{shown}" if shown[:1] in "=+-@" and shown else shown
    return value
