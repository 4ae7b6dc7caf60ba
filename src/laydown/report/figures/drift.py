"""How one sheet changed in the hours after printing, against what readings of a print at rest would show."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from laydown.kernel.errors import NotEnoughData
from laydown.report.figures.figure import Figure
from laydown.report.figures.style import (
    BAND,
    INK,
    MIDDLE,
    LineStyle,
    Spec,
    key,
    line_encoding,
    table_text,
    whole,
)
from laydown.report.wording import display_name
from laydown.science.settling import DriftCurve

_STYLES = {
    "mean": LineStyle("mean of all patches", (1, 0), "circle", INK, 2.4),
    "p95": LineStyle("95 % of patches lie below", (4, 2), "circle", MIDDLE, 1.3),
}
_TICKS = (0.1, 0.25, 0.5, 1, 2, 4, 8, 16, 24, 48, 96, 168, 336, 720, 2160)
_APART = 34  # least distance of two ticks on the page


def drift(
    curve: DriftCurve, *, sheet: str, condition: str, names: Sequence[str] = (), width: int = 640
) -> Figure:
    """Colour and density of one sheet against its age, each as its distance from the last reading.

    Parameters
    ----------
    curve
        What was found.
    sheet, condition
        What was read, and under which condition, for title and caption.
    names
        Of the patches; counted from 1 where empty.
    width
        Width of the whole drawing.

    Returns
    -------
    Figure
        Two panels over one axis of hours: mean and 95th percentile of dE00 with the band of repeatability,
        and density with its own.

    Raises
    ------
    NotEnoughData
        Where the sheet was read at one time only.
    """
    if curve.hours.size < 2:
        raise NotEnoughData(
            f"{display_name(sheet)} was read at one time only.", todo="Read it again some hours later."
        )
    used = curve.repeatability
    source = f"{used.source}, {used.patch:.2f} dE00 a patch"
    return Figure(
        id="drift",
        title=f"{display_name(sheet)} after printing",
        caption=(
            f"Distance from the last reading, over {curve.patches.size} patches; {condition}. Grey bands: a "
            f"print at rest stays within them (repeatability: {source}; density {curve.density_limit:g} D). "
            f"Density of {_followed(curve, names)} ({curve.density_from}). {curve.settling.sentence}"
        ),
        alt_text=_alt(curve, sheet),
        spec=_spec(curve, width),
        csv=_table(curve, names),
    )


def _name(patch: int, names: Sequence[str]) -> str:
    return names[patch] if names else str(patch + 1)


def _followed(curve: DriftCurve, names: Sequence[str]) -> str:
    shown = [_name(patch, names) for patch in curve.followed]
    if len(shown) > 6:
        return f"{len(shown)} patches, mean"
    return f"patch {shown[0]}" if len(shown) == 1 else f"patches {', '.join(shown)}, mean"


def _alt(curve: DriftCurve, sheet: str) -> str:
    first, last = float(curve.hours[0]), float(curve.hours[-1])
    side = "below" if curve.density_change[0] < 0 else "above"
    return (
        f"Lines over hours since printing, {first:g} to {last:g}, for {display_name(sheet)}. The mean dE00 "
        f"from the last reading begins at {curve.from_last.mean[0]:.2f} and the density "
        f"{abs(curve.density_change[0]):.3f} D {side} its last. {curve.settling.sentence}"
    )


def _table(curve: DriftCurve, names: Sequence[str]) -> str:
    heading = (
        "hours", "readings", "mean_dE00_from_last", "median", "p95", "largest", "worst_patch",
        "agrees_within", "mean_dE00_from_first", "mean_dE00_per_hour", "density", "density_minus_last",
    )  # fmt: skip
    last = curve.from_last
    columns = (curve.hours, curve.readings, last.mean, last.median, last.p95, last.largest)
    return table_text(
        heading,
        (
            (
                *(column[i].item() for column in columns),
                _name(int(last.worst[i]), names),
                float(curve.limit[i]),
                float(curve.from_first.mean[i]),
                "" if np.isnan(curve.rate[i]) else float(curve.rate[i]),
                *(
                    "" if np.isnan(value) else float(value)
                    for value in (curve.density[i], curve.density_change[i])
                ),
            )
            for i in range(curve.hours.size)
        ),
    )


def _spec(curve: DriftCurve, width: int) -> Spec:
    inner = width - 64
    panels = [_colour_panel(curve, inner), _density_panel(curve, inner), key(_STYLES, width=inner)]
    return whole({"vconcat": panels, "spacing": 22})


def _hours_axis(curve: DriftCurve, inner: int, *, title: bool) -> Spec:
    """Hours on a scale of equal ratios, because drying slows down as it goes."""
    low, high = float(curve.hours[0]), float(curve.hours[-1])
    scale: Spec = {"domain": [low, high], "nice": False}
    scale |= {"type": "log"} if low > 0 else {"type": "symlog", "constant": 0.25}
    return {
        "field": "hours",
        "type": "quantitative",
        "title": "Hours since printing" if title else None,
        "scale": scale,
        "axis": {"values": _ticks(low, high, inner), "grid": False, "labels": title, "format": "~g"},
    }


def _ticks(low: float, high: float, inner: int) -> list[float]:
    """Usual hours that have room beside one another, from the end backwards."""

    def place(hours: float) -> float:
        shift = 0.25 if low == 0 else 0.0
        return inner * math.log((hours + shift) / (low + shift)) / math.log((high + shift) / (low + shift))

    kept: list[float] = []
    for tick in reversed([0.0, *_TICKS]):
        if low <= tick <= high and (not kept or place(kept[-1]) - place(tick) >= _APART):
            kept.append(tick)
    return kept[::-1]


def _rest(curve: DriftCurve, x: Spec, *, words: bool) -> list[Spec]:
    """A rule at the reading from which on all agree, where there is one."""
    at = curve.settled_at_hours
    if at is None:
        return []
    data = {"values": [{"hours": at, "text": f"settled by {at:.3g} h"}]}
    rule: Spec = {
        "data": data,
        "mark": {"type": "rule", "color": MIDDLE, "strokeDash": [2, 2]},
        "encoding": {"x": x},
    }
    label: Spec = {
        "data": data,
        "mark": {"type": "text", "align": "right" if _late(curve, at) else "left", "baseline": "top",
                 "dx": -5 if _late(curve, at) else 5},
        "encoding": {"x": x, "y": {"value": 0}, "text": {"field": "text"}},
    }  # fmt: skip
    return [rule, label] if words else [rule]


def _late(curve: DriftCurve, at: float) -> bool:
    """Whether an hour lies in the right half of the axis, so that its label has to stand on the left."""
    low, high = max(float(curve.hours[0]), 0.1), float(curve.hours[-1])
    return at > math.sqrt(low * high)


def _colour_panel(curve: DriftCurve, inner: int) -> Spec:
    x = _hours_axis(curve, inner, title=False)
    y: Spec = {
        "field": "value",
        "type": "quantitative",
        "title": "dE00 from the last",
        "scale": {"zero": True},
        "axis": {"tickCount": 5},
    }
    rows = [
        {"medium": which, "hours": float(hours), "value": float(value)}
        for which, values in (("mean", curve.from_last.mean), ("p95", curve.from_last.p95))
        for hours, value in zip(curve.hours, values, strict=True)
    ]
    band = [
        {"hours": float(hours), "value": float(limit), "low": 0.0}
        for hours, limit in zip(curve.hours, curve.limit, strict=True)
    ]
    layers: list[Spec] = [
        {
            "data": {"values": band},
            "mark": {"type": "area", "color": BAND, "opacity": 1},
            "encoding": {"x": x, "y": y, "y2": {"field": "low"}},
        },
        *_rest(curve, x, words=True),
        {
            "data": {"values": rows},
            "mark": {"type": "line"},
            "encoding": {"x": x, "y": y, "detail": {"field": "medium"}, **line_encoding(_STYLES)},
        },
        {
            "data": {"values": [row for row in rows if row["medium"] == "mean"]},
            "mark": {"type": "point", "filled": True, "size": 45, "opacity": 1, "color": INK},
            "encoding": {"x": x, "y": y},
        },
    ]
    return {"width": inner, "height": 220, "layer": layers}


def _density_panel(curve: DriftCurve, inner: int) -> Spec:
    x = _hours_axis(curve, inner, title=True)
    y: Spec = {
        "field": "value",
        "type": "quantitative",
        "title": "Density above the last, D",
        "scale": {"zero": True},
        "axis": {"tickCount": 4, "labelExpr": "datum.value == 0 ? '0' : format(datum.value, '+.2f')"},
    }
    rows = [
        {"hours": float(hours), "value": float(value)}
        for hours, value in zip(curve.hours, curve.density_change, strict=True)
        if np.isfinite(value)
    ]
    ends = (float(curve.hours[0]), float(curve.hours[-1]))
    band = [{"hours": hours, "value": curve.density_limit, "low": -curve.density_limit} for hours in ends]
    layers: list[Spec] = [
        {
            "data": {"values": band},
            "mark": {"type": "area", "color": BAND, "opacity": 1},
            "encoding": {"x": x, "y": y, "y2": {"field": "low"}},
        },
        *_rest(curve, x, words=False),
        {
            "data": {"values": rows},
            "mark": {"type": "line", "stroke": INK, "strokeWidth": 2.4},
            "encoding": {"x": x, "y": y},
        },
        {
            "data": {"values": rows},
            "mark": {"type": "point", "filled": True, "size": 45, "opacity": 1, "color": INK},
            "encoding": {"x": x, "y": y},
        },
    ]
    return {"width": inner, "height": 130, "layer": layers}
