"""The a*b* plane: both axes to one scale, the two zero lines, nothing else."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from laydown.kernel.arrays import Floats
from laydown.report.figures.style import RULE, Spec


@dataclass(frozen=True, slots=True)
class Plane:
    """Part of the a*b* plane and its size on the page."""

    a: tuple[float, float]
    b: tuple[float, float]
    width: float
    height: float

    def x(self, field: str = "a", *, title: str | None = "a*", labels: bool = True) -> Spec:
        """The encoding of a*."""
        return _axis(field, title, self.a, labels, self.width)

    def y(self, field: str = "b", *, title: str | None = "b*", labels: bool = True) -> Spec:
        """The encoding of b*."""
        return _axis(field, title, self.b, labels, self.height)

    def zero_lines(self) -> list[Spec]:
        """Thin lines where a* or b* is 0, where they are in sight."""
        lines: list[Spec] = []
        rule = {"type": "rule", "color": RULE, "strokeWidth": 1}
        if self.a[0] < 0 < self.a[1]:
            lines.append({"data": {"values": [{}]}, "mark": rule, "encoding": {"x": {"datum": 0}}})
        if self.b[0] < 0 < self.b[1]:
            lines.append({"data": {"values": [{}]}, "mark": rule, "encoding": {"y": {"datum": 0}}})
        return lines


def plane_about(points: Floats, *, width: float, least: float = 0.0, step: float = 20.0) -> Plane:
    """The part of the plane that holds every point, its edges on whole steps, both axes to one scale.

    Parameters
    ----------
    points
        (p, 2) a*, b*.
    width
        Width on the page.
    least
        The least span of either axis.
    step
        Edges are put on multiples of this.
    """
    low = np.floor(points.min(axis=0) / step - 0.15) * step
    high = np.ceil(points.max(axis=0) / step + 0.15) * step
    for k in range(2):
        short = least - (high[k] - low[k])
        if short > 0:
            low[k] -= math.ceil(short / 2 / step) * step
            high[k] += math.ceil(short / 2 / step) * step
    a = (float(low[0]), float(high[0]))
    b = (float(low[1]), float(high[1]))
    return Plane(a, b, width, round(width * (b[1] - b[0]) / (a[1] - a[0]), 1))


def _axis(field: str, title: str | None, span: tuple[float, float], labels: bool, length: float) -> Spec:
    return {
        "field": field,
        "type": "quantitative",
        "title": title,
        "scale": {"domain": list(span), "nice": False, "zero": False},
        "axis": {
            "grid": False,
            "labels": labels,
            "tickCount": max(2, round(length / 70)),
            "ticks": labels,
            "tickColor": RULE,
            "tickSize": 4,
            "domain": True,
            "domainColor": RULE,
        },
    }
