"""The colours of what fills its box with more than one: ramps, waves and pictures, at any resolution."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from laydown.kernel.arrays import Floats, Ints
from laydown.science.forms.page import Picture, Ramp, Wave, in_device_values

Field = Ramp | Wave | Picture
#: Rows and columns (as fractions of the box, at pixel centres) in, colours (rows, columns, channels) out; of
#: rows, columns or channels that are all alike one is enough.
Colouring = Callable[[Floats, Floats], Floats]


def colouring_of(paint: Field) -> Colouring:
    """What says the colours of a field at places in it.

    Parameters
    ----------
    paint : Ramp, Wave or Picture

    Returns
    -------
    Colouring; what it returns is fresh and may be overwritten

    Checked against
    ---------------
    Pixels of drawn fields.
    """
    match paint:
        case Ramp():
            return _ramp(paint)
        case Wave():
            return _wave(paint)
        case Picture():
            return _picture(paint)


def _ramp(paint: Ramp) -> Colouring:
    start, end = np.asarray(paint.start), np.asarray(paint.end)

    def at(down: Floats, across: Floats) -> Floats:
        way = across if paint.along == "across" else down
        if paint.steps is not None:
            way = np.floor(way * paint.steps) / max(paint.steps - 1, 1)
        colours = start + way[:, None] * (end - start)
        return np.asarray(colours[None] if paint.along == "across" else colours[:, None])

    return at


def _wave(paint: Wave) -> Colouring:
    dark, light = np.asarray(paint.dark), np.asarray(paint.light)
    if len(set(zip(paint.dark, paint.light, strict=True))) == 1:  # a grey of light
        dark, light = dark[:1], light[:1]
    length = paint.box.width_mm if paint.along == "across" else paint.box.height_mm
    growth = np.log(paint.fine / paint.coarse)

    def at(down: Floats, across: Floats) -> Floats:
        way, aside = (across, down) if paint.along == "across" else (down, across)
        # The phase is the integral of the frequency, so that there is no jump between one and the next.
        cycles = paint.coarse * length * (np.exp(growth * way) - 1.0) / growth
        sine = np.sin(2.0 * np.pi * cycles)
        contrast = paint.faintest**aside
        both = sine[None] * contrast[:, None] if paint.along == "across" else contrast[None] * sine[:, None]
        return np.asarray((dark + light) / 2.0 + both[..., None] * (light - dark) / 2.0)

    return at


def _picture(paint: Picture) -> Colouring:
    height, width = paint.pixels.shape[:2]

    def at(down: Floats, across: Floats) -> Floats:
        # Between the four nearest pixels, each counted by how near it is: along the few rows there are of the
        # picture first, then from one of them to the next.
        above, below, lower = _neighbours(down, height)
        before, after, further = _neighbours(across, width)
        first, last = int(above[0]), int(below[-1]) + 1
        rows = in_device_values(paint.pixels[first:last])
        stretched, ahead = rows.take(before, axis=1), rows.take(after, axis=1)
        ahead -= stretched
        ahead *= further[:, None]
        stretched += ahead
        colours = np.empty((len(down), len(across), rows.shape[2]))
        for row, (over, under, share) in enumerate(zip(above - first, below - first, lower, strict=True)):
            np.multiply(stretched[over], 1.0 - share, out=colours[row])
            colours[row] += stretched[under] * share
        return colours

    return at


def _neighbours(share: Floats, many: int) -> tuple[Ints, Ints, Floats]:
    """The pixels before and after each place along a side of a picture, and the share of the latter."""
    at = np.clip(share * many - 0.5, 0, many - 1)
    before = np.minimum(at.astype(np.int64), max(many - 2, 0))
    return before, np.minimum(before + 1, many - 1), at - before


def channels_of(paint: Field) -> int:
    """How many device values a field has at each place.

    Parameters
    ----------
    paint : Ramp, Wave or Picture

    Returns
    -------
    int

    Checked against
    ---------------
    Shapes of drawn fields.
    """
    match paint:
        case Ramp():
            return len(paint.start)
        case Wave():
            return len(paint.dark)
        case Picture():
            return int(paint.pixels.shape[-1])
