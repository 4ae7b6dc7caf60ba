"""Drawings made of rows: words, and a dot with its interval beside them or, where it is narrow, below."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from laydown.report.figures.style import BAND, FAINT, INK, MIDDLE, NARROW, RULE, Spec

_CHARACTER = 6.3  # room for a character of the words beside a mark
_SCARCE = 0.36  # the least part of the width that is left to the marks


@dataclass(frozen=True, slots=True)
class Row:
    """One row: words at the left, words at the right, where its dot and interval are, and the dot's shape.

    ``value``, ``low`` and ``high`` are None where they are not known; ``ticks`` are single sheets.
    """

    left: str
    right: str
    value: float | None
    low: float | None
    high: float | None
    shape: str = "circle"
    filled: bool = True
    heavy: bool = False
    ticks: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True)
class _Layout:
    """Height of a row, where in it its words and its mark are, and from where to where marks run."""

    row: int
    words: int
    mark: int
    left: float
    right: float


def _layout(rows: Sequence[Row], width: int) -> _Layout:
    """Words beside the marks where that leaves the marks room, else above them."""
    left = _CHARACTER * max((len(row.left) for row in rows), default=0) + 14
    right = _CHARACTER * max((len(row.right) for row in rows), default=0) + 14
    if width < NARROW or width - left - right < _SCARCE * width:
        return _Layout(row=39, words=10, mark=27, left=0, right=width)
    return _Layout(row=23, words=11, mark=11, left=left, right=width - right)


def row_chart(
    rows: Sequence[Row],
    *,
    width: int,
    x: Spec,
    band: tuple[float, float] | None = None,
    line: float | None = None,
) -> Spec:
    """A chart of rows above one x axis, with a grey band and a line where they are wanted.

    Parameters
    ----------
    rows
        From top to bottom.
    width
        Width of the drawing.
    x
        The x encoding without its ``field``.
    band
        Where a grey band runs down all rows.
    line
        Where a line runs down all rows.

    Returns
    -------
    dict
        A layered view.
    """
    layout = _layout(rows, width)
    x = {**x, "scale": {**x.get("scale", {}), "range": [layout.left, layout.right]}}
    y: Spec = {"field": "y", "type": "quantitative", "scale": None, "axis": None}
    values = [_value(row, i, layout) for i, row in enumerate(rows)]
    layers: list[Spec] = []
    if band is not None:
        layers.append(
            {
                "data": {"values": [{"from": band[0], "to": band[1]}]},
                "mark": {"type": "rect", "color": BAND},
                "encoding": {"x": {**x, "field": "from"}, "x2": {"field": "to"}},
            }
        )
    if line is not None:
        layers.append(
            {
                "data": {"values": [{"at": line}]},
                "mark": {"type": "rule", "color": MIDDLE, "strokeWidth": 1},
                "encoding": {"x": {**x, "field": "at"}},
            }
        )
    layers += _words(values, rows, y)
    layers += _marks(values, _ticks(rows, layout), x, y)
    return {"width": width, "height": layout.row * len(rows), "layer": layers}


def _value(row: Row, i: int, layout: _Layout) -> Spec:
    return {
        "left": row.left,
        "right": row.right,
        "value": row.value,
        "low": row.low,
        "high": row.high,
        "shape": row.shape,
        "fill": INK if row.filled else "white",
        "weight": 3.0 if row.heavy else 1.4,
        "size": 90 if row.heavy else 60,
        "y": layout.row * i + layout.mark,
        "words_y": layout.row * i + layout.words,
        "rule_y": layout.row * i,
    }


def _words(values: list[Spec], rows: Sequence[Row], y: Spec) -> list[Spec]:
    heavy = {i for i, row in enumerate(rows) if row.heavy}
    words_y = {**y, "field": "words_y"}
    layers: list[Spec] = [
        {
            "data": {"values": values[1:]},
            "mark": {"type": "rule", "color": RULE, "strokeWidth": 0.6},
            "encoding": {"y": {**y, "field": "rule_y"}},
        }
    ]
    for weight, chosen in (
        ("bold", [v for i, v in enumerate(values) if i in heavy]),
        ("normal", [v for i, v in enumerate(values) if i not in heavy]),
    ):
        for side, place in (("left", 0), ("right", "width")):
            layers.append(
                {
                    "data": {"values": chosen},
                    "mark": {"type": "text", "align": side, "baseline": "middle", "fontWeight": weight},
                    "encoding": {"x": {"value": place}, "y": words_y, "text": {"field": side}},
                }
            )
    return layers


def _ticks(rows: Sequence[Row], layout: _Layout) -> list[Spec]:
    """Single sheets, just below the mark of their row."""
    return [
        {"value": tick, "y": layout.row * i + layout.mark + 7.5}
        for i, row in enumerate(rows)
        for tick in row.ticks
    ]


def _marks(values: list[Spec], ticks: list[Spec], x: Spec, y: Spec) -> list[Spec]:
    shapes = sorted({value["shape"] for value in values})
    return [
        {
            "data": {"values": ticks},
            "mark": {"type": "tick", "orient": "vertical", "size": 5, "thickness": 1.2, "color": FAINT},
            "encoding": {"x": {**x, "field": "value"}, "y": y},
        },
        {
            "data": {"values": [v for v in values if v["low"] is not None]},
            "mark": {"type": "rule", "color": INK},
            "encoding": {
                "x": {**x, "field": "low"},
                "x2": {"field": "high"},
                "y": y,
                "strokeWidth": {"field": "weight", "type": "quantitative", "scale": None},
            },
        },
        {
            "data": {"values": [v for v in values if v["value"] is not None]},
            "mark": {"type": "point", "opacity": 1, "stroke": INK, "strokeWidth": 1.3},
            "encoding": {
                "x": {**x, "field": "value"},
                "y": y,
                "shape": {"field": "shape", "scale": {"domain": shapes, "range": shapes}, "legend": None},
                "fill": {"field": "fill", "type": "nominal", "scale": None},
                "size": {"field": "size", "type": "quantitative", "scale": None},
            },
        },
    ]
