"""Colour cast of the neutral ramp: a* and b* against the step, one line per candidate."""

from __future__ import annotations

import numpy as np

from laydown.kernel.errors import NotEnoughData
from laydown.report.figures.figure import Figure
from laydown.report.figures.style import (
    NARROW,
    RULE,
    Spec,
    key,
    line_encoding,
    line_styles,
    table_text,
    whole,
)
from laydown.report.wording import display_name, number, sheets_of
from laydown.usecases.comparison import Comparison, ToneCurve


def grey_balance(comparison: Comparison, *, width: int = 640) -> Figure:
    """Colour cast of the neutral ramp: a* and b* against the step, one line per candidate.

    A perfect grey would run straight from the paper's own tint to the tint of its black; a bulge between is
    a cast that a viewer sees.

    Parameters
    ----------
    comparison
        The result to draw.
    width
        Width of the whole drawing; below 480 the two panels stand one above the other.

    Returns
    -------
    Figure
        Two panels, a* and b*, to one scale.

    Raises
    ------
    NotEnoughData
        Where no candidate has a neutral ramp.
    """
    curves = {c.name: t for c in comparison.candidates for t in c.tones if t.name == "neutral"}
    if not curves:
        raise NotEnoughData("No medium has a neutral ramp.", todo="Measure a chart with a ramp of greys.")
    worst = {n: float(np.nanmax(np.hypot(t.lab[:, 1], t.lab[:, 2]))) for n, t in curves.items()}
    return Figure(
        id="grey-balance",
        title="Grey balance",
        caption=f"a* and b* of the neutral ramp from paper to full ink, mean of {sheets_of(comparison)}; "
        f"{comparison.condition}. At 0 a grey has no cast.",
        alt_text="Two line charts, a* and b* of the greys. Largest distance from neutral: "
        + "; ".join(f"{display_name(n)} {number(v, 1)}" for n, v in worst.items())
        + ".",
        spec=_spec(comparison, curves, width),
        csv=table_text(
            ("medium", "step", "L*", "a*", "b*"),
            (
                (n, float(t.steps[i]), *map(float, t.lab[i]))
                for n, t in curves.items()
                for i in range(len(t.steps))
            ),
        ),
    )


def _spec(comparison: Comparison, curves: dict[str, ToneCurve], width: int) -> Spec:
    narrow = width < NARROW
    styles = {n: s for n, s in line_styles(comparison).items() if n in curves}
    every = np.concatenate([t.lab[:, 1:].ravel() for t in curves.values()])
    low, high = float(np.floor(np.nanmin(every) - 0.5)), float(np.ceil(np.nanmax(every) + 0.5))
    inner = width - 62 if narrow else (width - 118) // 2
    rows = [
        {"medium": n, "ink": 100 * float(t.steps[i]), "a": float(t.lab[i, 1]), "b": float(t.lab[i, 2])}
        for n, t in curves.items()
        for i in range(len(t.steps))
    ]
    panels = [_panel(rows, field, (min(low, -1.0), max(high, 1.0)), inner, styles) for field in ("a", "b")]
    total = inner if narrow else 2 * inner + 60
    both = {"vconcat" if narrow else "hconcat": panels}
    return whole({"vconcat": [both, key(styles, width=total)], "spacing": 16})


def _panel(rows: list[Spec], field: str, span: tuple[float, float], inner: int, styles: Spec) -> Spec:
    x = {
        "field": "ink",
        "type": "quantitative",
        "title": "Ink, % of full",
        "scale": {"domain": [0, 100]},
        "axis": {"values": [0, 25, 50, 75, 100], "grid": False},
    }
    y = {
        "field": field,
        "type": "quantitative",
        "title": f"{field}*",
        "scale": {"domain": list(span), "nice": False},
        "axis": {"tickCount": 6},
    }
    return {
        "width": inner,
        "height": 210,
        "layer": [
            {
                "data": {"values": [{}]},
                "mark": {"type": "rule", "color": RULE, "strokeWidth": 1.6},
                "encoding": {"y": {"datum": 0}},
            },
            {
                "data": {"values": rows},
                "mark": {"type": "line", "interpolate": "monotone"},
                "encoding": {"x": x, "y": y, "detail": {"field": "medium"}, **line_encoding(styles)},
            },
        ],
    }
