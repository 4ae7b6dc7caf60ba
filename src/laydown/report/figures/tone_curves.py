"""Lightness down a ramp from paper to full ink, one line per candidate."""

from __future__ import annotations

from laydown.kernel.errors import NotEnoughData
from laydown.report.figures.direct_labels import Frame, end_labels
from laydown.report.figures.figure import Figure
from laydown.report.figures.style import (
    INK,
    NARROW,
    Spec,
    key,
    label_width,
    line_encoding,
    line_styles,
    table_text,
    whole,
)
from laydown.report.wording import display_name, number, sheets_of
from laydown.usecases.comparison import Candidate, Comparison, ToneCurve

_NAMES = {"C": "cyan", "M": "magenta", "Y": "yellow", "K": "black", "R": "red", "G": "green", "B": "blue"}


def tone_curves(comparison: Comparison, *, name: str = "neutral", width: int = 640) -> Figure:
    """Lightness down a ramp from paper to full ink, one line per candidate.

    A flat end of a line is where steps run together; steps that cannot be told apart are crossed.

    Parameters
    ----------
    comparison
        The result to draw.
    name
        Which ramp: ``neutral`` or a primary.
    width
        Width of the whole drawing; below 480 the labels go into a key underneath.

    Returns
    -------
    Figure
        Steps 0 to 100 % of full ink against L*.

    Raises
    ------
    NotEnoughData
        Where no candidate has that ramp.
    """
    curves = [(c, t) for c in comparison.candidates for t in c.tones if t.name == name]
    if not curves:
        raise NotEnoughData(
            f"No medium has a {ramp_words(name)} ramp.",
            todo="Measure a chart with a ramp from paper to full ink.",
        )
    rows = [_row(c, t, i) for c, t in curves for i in range(len(t.steps))]
    heading = ("medium", "ramp", "step", "L*", "a*", "b*", "sd_L*", "told_from_next")
    table = table_text(
        heading,
        (
            (
                c.name,
                t.name,
                *(float(v) for v in (t.steps[i], *t.lab[i], t.spread[i])),
                "no" if i < len(t.lost) and t.lost[i] else "yes",
            )
            for c, t in curves
            for i in range(len(t.steps))
        ),
    )
    lost = [c.name for c, t in curves if any(t.lost)]
    crossed = " A cross marks a step too close to the next to be told from it." if lost else ""
    return Figure(
        id=f"tone-{name}",
        title=f"Tone, {ramp_words(name)} ramp",
        caption=f"L* of each step, mean of {sheets_of(comparison)}; {comparison.condition}.{crossed}",
        alt_text=_alt(curves, name),
        spec=_spec(comparison, curves, rows, width),
        csv=table,
    )


def ramp_words(name: str) -> str:
    """A ramp's name in full: ``cyan`` for ``C``; names that are no known letter stay as they are."""
    return _NAMES.get(name, name)


def _row(candidate: Candidate, curve: ToneCurve, i: int) -> Spec:
    return {
        "medium": candidate.name,
        "ink": 100 * float(curve.steps[i]),
        "light": float(curve.lab[i, 0]),
        "lost": bool(i < len(curve.lost) and curve.lost[i]),
    }


def _spec(
    comparison: Comparison, curves: list[tuple[Candidate, ToneCurve]], rows: list[Spec], width: int
) -> Spec:
    narrow = width < NARROW
    styles = line_styles(comparison, characters=26)
    styles = {c.name: styles[c.name] for c, _ in curves}
    side = 0 if narrow else label_width(styles) + 8
    inner, height = width - 56 - side, 300 if narrow else 340
    x: Spec = {
        "field": "ink",
        "type": "quantitative",
        "title": "Ink, % of full",
        "scale": {"domain": [0, 100], "nice": False},
        "axis": {"values": [0, 25, 50, 75, 100], "grid": False},
    }
    y: Spec = {
        "field": "light",
        "type": "quantitative",
        "title": "Lightness L*",
        "scale": {"domain": [0, 100]},
        "axis": {"tickCount": 5},
    }
    main: Spec = {
        "width": inner,
        "height": height,
        "layer": [
            {
                "data": {"values": rows},
                "mark": {"type": "line", "interpolate": "monotone"},
                "encoding": {"x": x, "y": y, "detail": {"field": "medium"}, **line_encoding(styles)},
            },
            {
                "data": {"values": [r for r in rows if r["lost"]]},
                "mark": {"type": "point", "shape": "M-.5,-.5L.5,.5M-.5,.5L.5,-.5", "size": 60, "stroke": INK},
                "encoding": {"x": x, "y": y},
            },
        ],
    }
    if narrow:
        return whole({"vconcat": [main, key(styles, width=inner)], "spacing": 20})
    ends = [(c.name, float(t.lab[-1, 0])) for c, t in curves]
    frame = Frame(x=(0, 100), y=(0, 100), width=inner, height=height)
    main["layer"] += end_labels(ends, styles, frame=frame, x=x, y=y)
    return whole(main)


def _alt(curves: list[tuple[Candidate, ToneCurve]], name: str) -> str:
    parts = [
        f"{display_name(c.name)} from L* {number(float(t.lab[0, 0]), 1)} to {number(float(t.lab[-1, 0]), 1)}"
        for c, t in curves
    ]
    return f"Line chart of L* down the {ramp_words(name)} ramp. " + "; ".join(parts) + "."
