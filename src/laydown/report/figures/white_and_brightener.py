"""Paper white in the a*b* plane with UV (M1, else M0) and without (M2), an arrow between."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TypeAlias

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
_WITH_UV, _WITHOUT_UV = ("M1", "M0"), "M2"
_Whites: TypeAlias = Mapping[str, Mapping[str, tuple[float, float]]]


@dataclass(frozen=True, slots=True)
class _White:
    """A medium's white under ``state``, and without UV (M2) on the same sheets; NaN where not read so."""

    medium: str
    state: str
    at: tuple[float, float]
    without: tuple[float, float] = (math.nan, math.nan)

    @property
    def both(self) -> bool:
        """Whether what brightener adds can be seen."""
        return math.isfinite(self.without[0])


def white_and_brightener(comparison: Comparison, *, width: int = 640) -> Figure:
    """Paper white in the a*b* plane with UV (M1, else M0) and without (M2), an arrow between.

    The arrow runs from M2 to the reading with UV: what UV adds to the white. A long arrow downwards is
    brightener, which fades and looks different under each lamp.

    Parameters
    ----------
    comparison
        The result to draw.
    width
        Width of the whole drawing.

    Returns
    -------
    Figure
        A mark per medium and an arrow to it from M2 where the same sheets were read both ways.

    Raises
    ------
    NotEnoughData
        Where no medium has a white.
    """
    whites = [w for c in comparison.candidates if (w := _white(c)) is not None]
    if not whites:
        raise NotEnoughData("No medium has a white in a* and b*.", todo="Measure unprinted patches.")
    return Figure(
        id="white-and-brightener",
        title="White, and what brightener adds" if any(w.both for w in whites) else "White",
        caption=f"Unprinted medium, mean of {sheets_of(comparison)}. {_conditions(comparison)} "
        + _what_is_drawn(whites),
        alt_text="Paper whites in the a*b* plane. " + " ".join(_words(w) for w in whites),
        spec=_spec(comparison, whites, width),
        csv=table_text(
            ("medium", "condition", "a*", "b*", "a*_M2", "b*_M2"),
            ((w.medium, w.state, *w.at, *w.without) for w in whites),
        ),
    )


def _white(candidate: Candidate) -> _White | None:
    """The white with UV and without, of sheets read both ways if there are any; else the first there is."""
    found = {
        condition: whites
        for condition in dict.fromkeys(f.condition for f in candidate.findings if f.id == "white_a")
        if (whites := _by_sheet(candidate, condition))
    }
    for condition, lit in _with_uv(found):
        # The rest of the words (backing, colorimetry) must agree, or the arrow would show that instead.
        dark = found.get(_WITHOUT_UV + condition[2:], {})
        shared = [sheet for sheet in lit if sheet in dark]
        if shared:
            return _White(candidate.name, condition[:2], _mean(lit, shared), without=_mean(dark, shared))
    for condition, seen in (*_with_uv(found), *found.items()):
        return _White(candidate.name, condition.partition(",")[0], _mean(seen, list(seen)))
    return None


def _with_uv(found: _Whites) -> list[tuple[str, Mapping[str, tuple[float, float]]]]:
    return [item for state in _WITH_UV for item in found.items() if item[0].startswith(state)]


def _by_sheet(candidate: Candidate, condition: str) -> dict[str, tuple[float, float]]:
    """a* and b* of each sheet's white under one condition, where both are known."""
    a, b = (
        next((dict(f.per_sheet) for f in candidate.findings if (f.id, f.condition) == (i, condition)), {})
        for i in ("white_a", "white_b")
    )
    return {s: (a[s], b[s]) for s in a if s in b and math.isfinite(a[s]) and math.isfinite(b[s])}


def _mean(whites: Mapping[str, tuple[float, float]], sheets: Sequence[str]) -> tuple[float, float]:
    a, b = np.mean([whites[sheet] for sheet in sheets], axis=0)
    return float(a), float(b)


def _conditions(comparison: Comparison) -> str:
    """Every condition that the whites were read under."""
    found = dict.fromkeys(f.condition for c in comparison.candidates for f in c.findings if f.id == "white_a")
    return "; ".join(found) + "."


def _what_is_drawn(whites: Sequence[_White]) -> str:
    """What mark and arrow mean, and which media show nothing of their brightener."""
    both = [w for w in whites if w.both]
    if not both:
        said = (
            "No sheet was read both with UV (M1 or M0) and without (M2), so what brightener adds "
            "cannot be seen."
        )
    else:
        lit = " or ".join(sorted({w.state for w in both}, reverse=True))
        said = f"Mark: with UV ({lit}); arrow: from UV excluded (M2), so its length is what brightener adds."
        if len(both) < len(whites):
            others = ", ".join(display_name(w.medium) for w in whites if not w.both)
            said += f" No arrow for {others}: not read both ways on one sheet."
    if len({w.state for w in whites}) > 1:
        marks = "; ".join(f"{display_name(w.medium)} {w.state}" for w in whites)
        said += f" Marks read under different conditions cannot be compared: {marks}."
    return said


def _words(white: _White) -> str:
    read = [(white.state, white.at), *([(_WITHOUT_UV, white.without)] if white.both else [])]
    parts = [f"{state} a* {number(a, 1)}, b* {number(b, 1)}" for state, (a, b) in read]
    return f"{display_name(white.medium)}: {'; '.join(parts)}."


def _spec(comparison: Comparison, whites: list[_White], width: int) -> Spec:
    styles = {n: s for n, s in line_styles(comparison).items() if n in {w.medium for w in whites}}
    points = np.array([p for w in whites for p in (w.at, w.without) if math.isfinite(p[0])])
    plane = plane_about(points, width=min(width - 62, _WIDEST), least=4.0, step=1.0)
    if plane.height > 1.3 * plane.width:
        plane = plane_about(points, width=plane.width, least=0.8 * (plane.b[1] - plane.b[0]), step=1.0)
    marks = [
        {"medium": w.medium, "label": styles[w.medium].label, "a": w.at[0], "b": w.at[1]} for w in whites
    ]
    layers = [*plane.zero_lines(), *_arrows(whites, plane), *_marks(marks, plane, styles)]
    main = {"width": plane.width, "height": plane.height, "layer": layers}
    return whole({"vconcat": [main, key(styles, width=round(plane.width), points=True)], "spacing": 16})


def _arrows(whites: list[_White], plane: Plane) -> list[Spec]:
    """Shafts and heads; heads are short lines of a fixed length on the page."""
    per_point = (plane.a[1] - plane.a[0]) / plane.width
    lines: list[Spec] = []
    for w in whites:
        (a1, b1), (a0, b0) = w.at, w.without
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
