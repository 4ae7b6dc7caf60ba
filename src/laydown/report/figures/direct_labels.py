"""Names set beside the ends of lines, moved apart so that none covers another."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from laydown.report.figures.style import FAINT, INK, LineStyle, Spec, by_medium

_GAP = 15  # between the middles of neighbouring names, in the units of width and height


@dataclass(frozen=True, slots=True)
class Frame:
    """A drawing's two scales: what they run from and to, and their lengths on the page."""

    x: tuple[float, float]
    y: tuple[float, float]
    width: float
    height: float

    def x_at(self, points: float) -> float:
        """The x value ``points`` to the right of the frame."""
        return self.x[1] + points * (self.x[1] - self.x[0]) / self.width

    def per_point(self) -> float:
        """How much y one point of height is worth."""
        return (self.y[1] - self.y[0]) / self.height


def dodge(values: Sequence[float], gap: float) -> list[float]:
    """Move label positions apart until neighbours are ``gap`` apart, and no further than that needs.

    Labels that would overlap are gathered into a cluster centred on the mean of what they label.
    """
    order = sorted(range(len(values)), key=lambda i: values[i])
    clusters: list[tuple[float, list[int]]] = []
    for i in order:
        clusters.append((values[i], [i]))
        while len(clusters) > 1:
            (low, left), (high, right) = clusters[-2], clusters[-1]
            if high - low >= gap * (len(left) + len(right)) / 2:
                break
            members = left + right
            clusters[-2:] = [(sum(values[k] for k in members) / len(members), members)]
    placed = [0.0] * len(values)
    for centre, members in clusters:
        for rank, k in enumerate(members):
            placed[k] = centre + gap * (rank - (len(members) - 1) / 2)
    return placed


def end_labels(
    ends: Sequence[tuple[str, float]], styles: Mapping[str, LineStyle], *, frame: Frame, x: Spec, y: Spec
) -> list[Spec]:
    """Layers that put each medium's shape and name to the right of where its line ends.

    Parameters
    ----------
    ends
        (medium, y where its line ends at the right edge).
    styles
        Style per medium.
    frame
        The scales of the drawing the labels belong to.
    x, y
        Encodings of that drawing; their ``field`` is replaced.

    Returns
    -------
    list
        Layers to add after the lines.
    """
    placed = dodge([value for _, value in ends], _GAP * frame.per_point())
    lowest = frame.y[0] + 0.3 * _GAP * frame.per_point()
    lift = max(0.0, lowest - min(placed, default=lowest))
    rows = [
        {"medium": name, "label": styles[name].label, "end": value, "y": place + lift}
        for (name, value), place in zip(ends, placed, strict=True)
    ]
    lines = [
        {"medium": r["medium"], "x": frame.x_at(points), "y": r[which]}
        for r in rows
        for points, which in ((3, "end"), (13, "y"), (17, "y"))
    ]
    at = {"x": {**x, "field": "x"}, "y": {**y, "field": "y"}}
    return [
        {
            "data": {"values": lines},
            "mark": {"type": "line", "stroke": FAINT, "strokeWidth": 0.7},
            "encoding": {**at, "detail": {"field": "medium"}},
        },
        {
            "data": {"values": [{**r, "x": frame.x_at(23)} for r in rows]},
            "mark": {"type": "point", "filled": True, "size": 45, "opacity": 1, "color": INK},
            "encoding": {**at, "shape": by_medium(styles, "shape")},
        },
        {
            "data": {"values": [{**r, "x": frame.x_at(31)} for r in rows]},
            "mark": {"type": "text", "align": "left", "baseline": "middle"},
            "encoding": {**at, "text": {"field": "label"}},
        },
    ]
