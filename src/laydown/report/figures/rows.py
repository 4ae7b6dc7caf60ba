"""Drawings made of rows: a line of words above, a dot and its interval below."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from laydown.report.figures.style import BAND, FAINT, INK, MIDDLE, RULE, Spec

ROW = 42  # height of a row
_WORDS, _MARK = 10, 29  # where in a row its words and its mark are


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
    y: Spec = {"field": "y", "type": "quantitative", "scale": None, "axis": None}
    values = [_value(row, i) for i, row in enumerate(rows)]
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
    layers += _marks(values, rows, x, y)
    return {"width": width, "height": ROW * len(rows), "layer": layers}


def _value(row: Row, i: int) -> Spec:
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
        "y": ROW * i + _MARK,
        "words_y": ROW * i + _WORDS,
        "rule_y": ROW * i,
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


def _marks(values: list[Spec], rows: Sequence[Row], x: Spec, y: Spec) -> list[Spec]:
    ticks = [{"value": tick, "y": ROW * i + _MARK + 9} for i, row in enumerate(rows) for tick in row.ticks]
    shapes = sorted({row.shape for row in rows})
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
