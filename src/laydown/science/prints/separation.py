"""From the RGB of the file to amounts of four inks: black generation, colour removal, ink limit."""

from __future__ import annotations

import numpy as np

from laydown.kernel.arrays import Floats
from laydown.science.prints.inks import InkSet


def separate(device_rgb: Floats, *, ink_set: InkSet, ink_limit: float) -> Floats:
    """Ink amounts an RGB driver asks for.

    Black stands in for most of the grey component (what the three colours have in common), and the colours
    that remain are spread again over their whole range: a dark red is full magenta and yellow under black,
    not a thin red. Where the sum of inks exceeds the limit the colours give way, not the black.
    A deterministic stand-in for a driver: a real one is tuned per medium and may use more inks.

    Parameters
    ----------
    device_rgb : array (..., 3), 0-1, 1 = full light
    ink_set : InkSet
    ink_limit : float
        Largest sum of the four amounts, 4 = no limit.

    Returns
    -------
    array (..., 4), amounts 0-1 of C, M, Y, K.

    Notes
    -----
    With x = 1 - RGB, g its smallest and h its largest: ``K = g (1 + b (h - g))`` and
    ``C = (x - u g) / (1 - u g)``; u is ``colour_removed``, b is ``black_in_colour``.

    Checked against
    ---------------
    Corners of the cube; dark saturated colours keep their strongest inks; the ink limit for random colours.
    """
    wanted = 1.0 - np.clip(np.asarray(device_rgb, dtype=np.float64), 0.0, 1.0)
    grey = wanted.min(axis=-1, keepdims=True)
    saturation = wanted.max(axis=-1, keepdims=True) - grey
    black = grey * (1.0 + ink_set.black_in_colour * saturation)
    removed = ink_set.colour_removed * grey
    colour = (wanted - removed) / (1.0 - removed)
    total = colour.sum(axis=-1, keepdims=True)
    room = np.maximum(ink_limit - black, 0.0)
    colour = colour * np.where(total > room, room / np.maximum(total, 1e-12), 1.0)
    return np.concatenate([colour, black], axis=-1)


def dot_areas(
    amounts: Floats,
    *,
    ink_set: InkSet,
    overdrive: float = 1.0,
    gain: Floats | float = 0.0,
) -> Floats:
    """Share of the paper each ink covers.

    Parameters
    ----------
    amounts : array (..., 4), 0-1, C, M, Y, K
    ink_set : InkSet
    overdrive : float
        Above 1 the dots are full before the file asks for full ink, and the last steps are lost.
    gain : float or array broadcasting to (..., 4)
        Extra dot area at half coverage; nothing at none and at full coverage.

    Returns
    -------
    array (..., 4), dot areas 0-1.

    Notes
    -----
    ``1 - (1 - x^p)^q`` with p ``tone_light`` and q ``tone_dark``: rises from 0 to 1 for any positive p and q;
    p shapes the light end, q the dark end. A pure power could not bend both.

    Checked against
    ---------------
    Hand values for overdrive and gain; the ends stay.
    """
    light, dark = np.asarray(ink_set.tone_light), np.asarray(ink_set.tone_dark)
    held = np.clip(amounts, 0.0, 1.0)  # rounding may leave a hair more than full
    area = np.minimum(overdrive * (1.0 - (1.0 - held**light) ** dark), 1.0)
    return np.asarray(np.clip(area + np.asarray(gain) * 4.0 * area * (1.0 - area), 0.0, 1.0))
