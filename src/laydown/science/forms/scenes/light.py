"""What all pictures are made with: places in mm, soft steps, and linear light to device values and back."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import ArrayLike

from laydown.kernel.arrays import Floats
from laydown.kernel.constants import Constant
from laydown.kernel.errors import BadSetting

MOST_PIXELS = Constant(15e6, "pixels", "chosen here: a finished picture of 360 MB", "computed")
_PLACES_AT_ONCE = (
    60_000  # half a MB for each value of a place: more leaves the processor's cache and takes thrice as long
)
_TOE, _SLOPE, _OFFSET, _POWER = 0.0031308, 12.92, 0.055, 2.4  # IEC 61966-2-1


def painted(
    colouring: Callable[[Floats, Floats], Floats],
    *,
    width_mm: float,
    height_mm: float,
    ppi: float,
    finer: int = 1,
) -> Floats:
    """A picture from what its light is at each place, made some rows at a time to keep memory small.

    Parameters
    ----------
    colouring : takes x and y, mm, both (rows, columns); gives linear light (rows, columns, 3)
    width_mm, height_mm : size of the picture
    ppi : pixels per inch
    finer : how many places each way are averaged, in linear light, for each pixel

    Returns
    -------
    (rows, columns, 3) device values 0 to 1 on the curve of sRGB

    Raises
    ------
    BadSetting
        if the picture has no size, or is too large.

    Checked against
    ---------------
    Sizes in pixels; a ramp whose pixels are known; the same picture from bands of any height.
    """
    if min(width_mm, height_mm, ppi) <= 0.0:
        raise BadSetting("a picture has a width, a height and a resolution.", todo="Give all three above 0.")
    rows, columns = round(height_mm * ppi / 25.4), round(width_mm * ppi / 25.4)
    if min(rows, columns) < 1:
        raise BadSetting("a picture without pixels cannot be made.", todo="Ask for more mm or more ppi.")
    if rows * columns > MOST_PIXELS.value:
        raise BadSetting(
            f"a picture of {columns} x {rows} pixels is too large to be made in one piece.",
            todo="Ask for fewer pixels per inch: pictures are stretched to the printer's when drawn.",
        )
    picture = np.empty((rows, columns, 3))
    x = (np.arange(columns * finer) + 0.5) * (width_mm / (columns * finer))
    high = max(_PLACES_AT_ONCE // (columns * finer * finer), 1)
    for first in range(0, rows, high):
        last = min(first + high, rows)
        y = (np.arange(first * finer, last * finer) + 0.5) * (height_mm / (rows * finer))
        across, down = np.meshgrid(x, y)
        light = shouldered(colouring(across, down))
        picture[first:last] = encoded(averaged(light, finer=finer))
    return picture


def averaged(picture: Floats, *, finer: int) -> Floats:
    """A picture made ``finer`` than wanted, averaged pixel by pixel; in linear light, as the eye does.

    Parameters
    ----------
    picture : (rows * finer, columns * finer, channels)
    finer : how many times

    Returns
    -------
    (rows, columns, channels)

    Checked against
    ---------------
    Means of known blocks.
    """
    rows, columns = picture.shape[0] // finer, picture.shape[1] // finer
    blocks = picture.reshape(rows, finer, columns, finer, picture.shape[2])
    return np.asarray(blocks.mean(axis=(1, 3)))


def encoded(linear: Floats) -> Floats:
    """Linear light to device values on the curve of sRGB, clipped to 0 to 1.

    Parameters
    ----------
    linear : any shape, 1 is white

    Returns
    -------
    same shape, 0 to 1

    References
    ----------
    IEC 61966-2-1.

    Checked against
    ---------------
    0.18 is 0.4614 (computed by hand from the standard's formula).
    """
    kept = np.clip(linear, 0.0, 1.0)
    curve = (1.0 + _OFFSET) * np.maximum(kept, _TOE) ** (1.0 / _POWER) - _OFFSET
    return np.where(kept <= _TOE, _SLOPE * kept, curve)


def linear(values: ArrayLike) -> Floats:
    """Device values on the curve of sRGB to linear light.

    Parameters
    ----------
    values : any shape, 0 to 1

    Returns
    -------
    same shape

    Checked against
    ---------------
    There and back again.
    """
    kept = np.asarray(values, dtype=np.float64)
    curve = ((np.maximum(kept, 0.0) + _OFFSET) / (1.0 + _OFFSET)) ** _POWER
    return np.where(kept <= _SLOPE * _TOE, kept / _SLOPE, curve)


def shouldered(light: Floats, *, knee: float = 0.75) -> Floats:
    """Light above ``knee`` bent, so that the brightest comes near 1 without a border.

    Parameters
    ----------
    light : any shape, linear, 0 and more
    knee : where it begins to bend

    Returns
    -------
    same shape, below 1

    Checked against
    ---------------
    It rises everywhere, and changes nothing below the knee.
    """
    over = np.maximum(light - knee, 0.0) / (1.0 - knee)
    return np.where(light <= knee, light, knee + (1.0 - knee) * (1.0 - np.exp(-over)))


def step(at: Floats, low: Floats | float, high: Floats | float) -> Floats:
    """From 0 below ``low`` to 1 above ``high`` without a corner; the other way where low is the higher.

    Parameters
    ----------
    at : any shape
    low, high : where it starts and ends, one place or as many as ``at`` has

    Returns
    -------
    same shape, 0 to 1

    Checked against
    ---------------
    Its ends and its middle.
    """
    share = np.clip((at - low) / (high - low), 0.0, 1.0)
    return np.asarray(share * share * (3.0 - 2.0 * share))


def blend(under: Floats, over: Floats, share: Floats) -> Floats:
    """``share`` of one colour over another; a share (rows, columns) counts for all channels.

    Parameters
    ----------
    under, over : (..., 3), one colour or a picture
    share : (...), 0 to 1

    Returns
    -------
    (..., 3)

    Checked against
    ---------------
    Shares of none, half and all.
    """
    part = share[..., None]
    return np.asarray(under * (1.0 - part) + over * part)
