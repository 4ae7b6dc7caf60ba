"""Paper white in the a*b* plane with UV (M1) and without (M2), an arrow between."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from laydown.kernel.errors import NotEnoughData
from laydown.report.figures.figure import Figure
from laydown.report.figures.plane import Plane, plane_about
from laydown.report.figures.style import (
    INK,
    MIDDLE,
    LineStyle,
    Spec,
    by_medium,
    key,
    line_styles,
    table_text,
    whole,
)
from laydown.report.wording import display_name, number, sheets_of
from laydown.usecases.comparison import Candidate, Comparison

_WIDEST = 400
_HEAD = 9.0  # length of an arrow head on the page


@dataclass(frozen=True, slots=True)
class _White:
    """A medium's white with UV and without; NaN where it was not read so."""

    medium: str
    with_uv: tuple[float, float]
    without: tuple[float, float]


def white_and_brightener(comparison: Comparison, *, width: int = 640) -> Figure:
    """Paper white in the a*b* plane with UV (M1) and without (M2), an arrow between.

    The arrow runs from M2 to M1: what UV adds to the white. A long arrow downwards is brightener, which
    fades and looks different under each lamp.

    Parameters
    ----------
    comparison
        The result to draw.
    width
        Width of the whole drawing.

    Returns
    -------
    Figure
        A mark per medium at M1 and an arrow from M2 where both were read.

    Raises
    ------
    NotEnoughData
        Where no medium has a white.
    """
    whites = [w for c in comparison.candidates if (w := _white(c)) is not None]
    if not whites:
        raise NotEnoughData("No medium has a white in a* and b*.", todo="Measure unprinted patches.")
    both = any(math.isfinite(w.with_uv[0]) and math.isfinite(w.without[0]) for w in whites)
    arrow = (
        "Mark: with UV (M1); arrow: from UV excluded (M2), so its length is what brightener adds."
        if both
        else "Only one measurement condition was read, so brightener cannot be seen."
    )
    return Figure(
        id="white-and-brightener",
        title="White, and what brightener adds",
        caption=f"Unprinted medium, mean of {sheets_of(comparison)}. {_conditions(comparison)} {arrow}",
        alt_text="Paper whites in the a*b* plane. " + " ".join(_words(w) for w in whites),
        spec=_spec(comparison, whites, width),
        csv=table_text(
            ("medium", "a*_M1", "b*_M1", "a*_M2", "b*_M2"),
            ((w.medium, *w.with_uv, *w.without) for w in whites),
        ),
    )


def _white(candidate: Candidate) -> _White | None:
    def at(state: str) -> tuple[float, float]:
        found = [
            next(
                (f.value for f in candidate.findings if f.id == i and f.condition.startswith(state)), math.nan
            )
            for i in ("white_a", "white_b")
        ]
        return found[0], found[1]

    white = _White(candidate.name, at("M1"), at("M2"))
    if not math.isfinite(white.with_uv[0]) and not math.isfinite(white.without[0]):
        return None
    return white


def _conditions(comparison: Comparison) -> str:
    """Every condition that the whites were read under."""
    found = dict.fromkeys(f.condition for c in comparison.candidates for f in c.findings if f.id == "white_a")
    return "; ".join(found) + "."


def _words(white: _White) -> str:
    parts = [
        f"{state} a* {number(a, 1)}, b* {number(b, 1)}"
        for state, (a, b) in (("M1", white.with_uv), ("M2", white.without))
        if math.isfinite(a)
    ]
    return f"{display_name(white.medium)}: {'; '.join(parts)}."


def _spec(comparison: Comparison, whites: list[_White], width: int) -> Spec:
    styles = {n: s for n, s in line_styles(comparison).items() if n in {w.medium for w in whites}}
    points = np.array([p for w in whites for p in (w.with_uv, w.without) if math.isfinite(p[0])])
    plane = plane_about(points, width=min(width - 62, _WIDEST), least=4.0, step=1.0)
    if plane.height > 1.3 * plane.width:
        plane = plane_about(points, width=plane.width, least=0.8 * (plane.b[1] - plane.b[0]), step=1.0)
    shown = [(w, w.with_uv if math.isfinite(w.with_uv[0]) else w.without) for w in whites]
    marks = [{"medium": w.medium, "label": styles[w.medium].label, "a": p[0], "b": p[1]} for w, p in shown]
    layers = [*plane.zero_lines(), *_arrows(whites, plane), *_marks(marks, plane, styles)]
    main = {"width": plane.width, "height": plane.height, "layer": layers}
    return whole({"vconcat": [main, key(styles, width=round(plane.width), points=True)], "spacing": 16})


def _arrows(whites: list[_White], plane: Plane) -> list[Spec]:
    """Shafts and heads; heads are short lines of a fixed length on the page."""
    per_point = (plane.a[1] - plane.a[0]) / plane.width
    lines: list[Spec] = []
    for w in whites:
        (a1, b1), (a0, b0) = w.with_uv, w.without
        length = math.hypot(a1 - a0, b1 - b0)
        if not math.isfinite(length) or length == 0:
            continue
        lines += [
            {"line": f"{w.medium}/shaft", "i": i, "a": a, "b": b}
            for i, (a, b) in enumerate(((a0, b0), (a1, b1)))
        ]
        stop = min(0.5 * length, 9 * per_point)  # short of the mark, which would hide the head
        ua, ub = (a1 - a0) / length, (b1 - b0) / length
        tip = (a1 - stop * ua, b1 - stop * ub)
        for side in (-1, 1):
            angle = math.atan2(ub, ua) + math.pi + side * 0.42
            reach = min(_HEAD * per_point, 0.4 * length)
            back = (tip[0] + reach * math.cos(angle), tip[1] + reach * math.sin(angle))
            lines += [
                {"line": f"{w.medium}/{side}", "i": i, "a": p[0], "b": p[1]}
                for i, p in enumerate((tip, back))
            ]
    return [
        {
            "data": {"values": lines},
            "mark": {"type": "line", "stroke": MIDDLE, "strokeWidth": 1.3, "strokeCap": "round"},
            "encoding": {
                "x": plane.x(),
                "y": plane.y(),
                "order": {"field": "i"},
                "detail": {"field": "line"},
            },
        }
    ]


def _marks(marks: list[Spec], plane: Plane, styles: dict[str, LineStyle]) -> list[Spec]:
    return [
        {
            "data": {"values": marks},
            "mark": {"type": "point", "filled": True, "size": 85, "opacity": 1, "color": INK},
            "encoding": {"x": plane.x(), "y": plane.y(), "shape": by_medium(styles, "shape")},
        }
    ]
